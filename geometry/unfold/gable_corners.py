"""Corners of gables: a gable rises from its bend on, the bend itself ends level, and a hole stays open between."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..findings import Finding, Location, Severity
from ..part import Part, PartKind, PlacedLattice
from ..tolerance import SNAP

__all__ = ["LOWEST", "check_gable_corners"]

#: Lower holes are closed by paint or filler, mm (common practice, no source).
LOWEST = 3.0


def check_gable_corners(parts: Sequence[Part]) -> tuple[Finding, ...]:
    """Report holes between gables and their bends under a roof, once for a building. Code: hole-at-gable."""
    if not any(part.kind is PartKind.ROOF for part in parts):
        return ()
    holes = [
        (rise, placed, part)
        for part in parts
        if part.kind is PartKind.WALL
        for placed in part.lattices
        if (rise := _rise(part, placed)) >= LOWEST
    ]
    if not holes:
        return ()
    rise, placed, part = max(holes, key=lambda hole: round(hole[0], 6))
    wide = placed.lattice.inside_radius * math.tan(placed.lattice.angle / 2.0)
    where = "At one corner" if len(holes) == 1 else f"At {len(holes)} corners"
    message = (
        f"{where} a hole of {wide:.0f} x {rise:.0f} mm{' at most' if len(holes) > 1 else ''} stays open between gable, "
        "bend and roof; glue card over it from the room side."
    )
    return (Finding(Severity.NOTE, "hole-at-gable", message, Location(edges=placed.host_edges, part=part.id)),)


def _rise(part: Part, placed: PlacedLattice) -> float:
    """Return how far a panel's edge runs on beyond the end of its lattice, mm, at most."""
    made, most = placed.lattice, 0.0
    for panel, tangent in ((placed.parent, 0.0), (placed.child, made.flat_width)):
        local = part.panels[panel].ring - placed.origin
        across, along = local @ placed.across, local @ placed.along
        beside = along[np.abs(across - tangent) < SNAP]
        if len(beside):
            most = max(most, float(beside.max()) - made.axis_length, -float(beside.min()))
    return most
