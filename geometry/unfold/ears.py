"""Ears: a gable runs on over the bend at its side, flat, so that no hole stays open there under the roof.

A bend ends level at the eaves and leaves the plane of its gable at the tangent line; the gable rises from that line on.
What is missing between them and the roof is a triangle in the gable's own plane. An ear is that triangle, cut from the
piece over the lattice that would be waste: it hangs on the gable alone, a gap above the lattice lets the bend turn.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from ..part import Panel, Part, PartKind, PlacedLattice, frozen
from ..tolerance import SNAP
from .gable_corners import LOWEST

__all__ = ["raise_ears"]

#: Gap between lattice and ear, mm: room for a fillet on either side, and low enough for paint or filler.
_GAP = 2.9

#: An ear ends where it gets lower than this, and is no ear where it is narrower, mm: thinner tips break off.
_TIP, _NARROWEST = 1.5, 3.0

#: Radius of the fillet under an ear, mm, so that the other one beside the lattice finds as much room; its steps.
_RADIUS, _STEPS = 0.95, 7

#: An ear keeps this distance to the rest of its section in the flat, mm: two kerfs and a web between them.
_CLEAR = 2.0


def raise_ears(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts with ears on gables where a roof lies over them and the flat section leaves room."""
    if not any(part.kind is PartKind.ROOF for part in parts):
        return tuple(parts)
    return tuple(_with_ears(part) if part.kind is PartKind.WALL else part for part in parts)


def _with_ears(part: Part) -> Part:
    for placed in part.lattices:
        for panel, tangent, way in ((placed.parent, 0.0, 1.0), (placed.child, placed.lattice.flat_width, -1.0)):
            part = _with_ear(part, placed, panel, tangent, way)
    return part


@dataclass(frozen=True, slots=True, eq=False)
class _Top:
    """Where a panel's edge along a tangent line ends above the lattice.

    corner: (2,) in the part frame. across, along: of the lattice, away from the panel and upward. rise: how far above
    the lattice; slope: how fast the panel's next side would sink beyond the corner.
    """

    corner: np.ndarray
    across: np.ndarray
    along: np.ndarray
    rise: float
    slope: float


def _with_ear(part: Part, placed: PlacedLattice, index: int, tangent: float, way: float) -> Part:
    """Return a part with an ear on one panel beside a lattice, or as it was."""
    panel = part.panels[index]
    top = _top(panel, placed, tangent, way)
    wide = placed.lattice.inside_radius * math.tan(placed.lattice.angle / 2.0)
    if top is None or top.rise < LOWEST:
        return part
    if top.slope > SNAP:
        wide = min(wide, (top.rise - _GAP - _TIP) / top.slope)
    if wide < _NARROWEST:
        return part
    ear = _ear(top, wide)
    ring = _in_place_of(panel.ring, top.corner, ear)
    rim = _in_place_of(np.asarray(part.outline.exterior.coords)[:-1], top.corner, ear)
    if ring is None or rim is None:
        return part
    outline = Polygon(rim, [hole.coords for hole in part.outline.interiors])
    added = Polygon(ear)
    others = [Polygon(panel.ring) for k, panel in enumerate(part.panels) if k != index]
    clear = all(added.distance(other) > _CLEAR for other in others)
    if not (clear and outline.is_valid and outline.area > part.outline.area):
        return part
    panels = (*part.panels[:index], replace(panel, ring=frozen(ring)), *part.panels[index + 1 :])
    return replace(part, outline=outline, panels=panels)


def _top(panel: Panel, placed: PlacedLattice, tangent: float, way: float) -> _Top | None:
    """Return where a panel's edge ends above a lattice on the standing wall, None where it does not go on there."""
    local = panel.ring - placed.origin
    across, along = local @ placed.across, local @ placed.along
    up = 1.0 if float((panel.stands.turn @ np.append(placed.along, 0.0))[2]) > 0.0 else -1.0
    end = placed.lattice.axis_length if up > 0.0 else 0.0
    beside = np.flatnonzero(np.abs(across - tangent) < SNAP)
    if not len(beside):
        return None
    k = int(beside[np.argmax(up * along[beside])])
    rise = up * (float(along[k]) - end)
    count = len(panel.ring)
    # the side that goes on from the corner: the one that leaves the tangent line
    after = [(k + step) % count for step in (1, -1) if abs(across[(k + step) % count] - tangent) > SNAP]
    if rise <= SNAP or len(after) != 1:
        return None
    run = way * float(tangent - across[after[0]])
    if run <= SNAP:
        return None
    slope = up * float(along[after[0]] - along[k]) / run
    return _Top(panel.ring[k], way * placed.across, up * placed.along, rise, slope) if slope > -SNAP else None


def _ear(top: _Top, wide: float) -> np.ndarray:
    """Return the corners of an ear, (n, 2) mm, from the tangent line over its tip to the panel's next side."""
    under = _GAP - top.rise
    steps = np.linspace(0.0, math.pi / 2.0, _STEPS)
    fillet = [(_RADIUS * (1.0 - math.cos(a)), under - _RADIUS * (1.0 - math.sin(a))) for a in steps]
    local = np.array([*fillet, (wide, under), (wide, -top.slope * wide)])
    return top.corner + local[:, :1] * top.across + local[:, 1:] * top.along


def _in_place_of(ring: np.ndarray, corner: np.ndarray, ear: np.ndarray) -> np.ndarray | None:
    """Return a ring with an ear instead of a corner, None where it has no such corner."""
    away = np.hypot(*(ring - corner).T)
    k = int(np.argmin(away))
    if away[k] > SNAP:
        return None
    # an ear starts at the side of the corner that runs along the lattice
    before, after = ring[k - 1] - corner, ring[(k + 1) % len(ring)] - corner
    low = ear[0] - corner
    forward = abs(_cross(before, low)) < abs(_cross(after, low))
    return np.concatenate([ring[:k], ear if forward else ear[::-1], ring[k + 1 :]])


def _cross(one: np.ndarray, two: np.ndarray) -> float:
    """Return the sine between two directions of the plane."""
    return float(one[0] * two[1] - one[1] * two[0]) / float(np.hypot(*one) * np.hypot(*two))
