"""Leaves over tiles: a floor of two boards is higher than the bare one, and a leaf that opens inward scrapes on it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from ..findings import Finding, Location, Severity, place
from ..finish.tiles import Tiling
from ..part import Part, PlacedLattice, standing_corners
from ..tolerance import SNAP
from .swings import opened

__all__ = ["check_over_tiles"]

#: A leaf that clears tiles by this passes them although they lie a little high, mm: glue, paint and a hair of warp
#: (common practice, no source).
_CLEAR = 0.5

#: Shares of a swing at which the leaf is looked at: 15 degrees apart where it opens by 90.
_SHARES = np.linspace(1.0 / 6.0, 1.0, 6)

#: A leaf that covers less of the tiles than this does not meet them, mm^2.
_LEAST = 1.0


def check_over_tiles(parts: Sequence[Part], tiling: Tiling) -> tuple[Finding, ...]:
    """Report every leaf that opens over tiles without clearing them, with how much it wants to be higher."""
    if not tiling.tiles:
        return ()
    paved = shapely.union_all([tile.outline for tile in tiling.tiles])
    top = max(float(standing_corners(part, part.panels[0])[:, 2].max()) for part in tiling.laid)
    findings = []
    for part in parts:
        for placed in part.lattices:
            if not placed.swing or not _passes_over(part, placed, paved):
                continue
            ring = part.panels[placed.child].ring
            low = min(float(opened(part, placed, share).apply(ring)[:, 2].min()) for share in (0.0, 1.0))
            gap = low - top
            if gap < _CLEAR:
                higher = math.ceil(10.0 * (_CLEAR - gap) - SNAP) / 10.0
                how = f"scrapes on them by {-gap:.1f} mm" if gap < 0.0 else f"clears them by {gap:.1f} mm only"
                findings.append(
                    Finding(
                        Severity.WARNING,
                        "leaf-in-the-way",
                        f"A leaf of {part.name} opens over tiles {tiling.thickness:.1f} mm high and {how}; "
                        f"raise its opening by {higher:.1f} mm, or let it open outward.",
                        Location(part=part.id, point=place((*opened(part, placed).apply(ring).mean(axis=0)[:2], top))),
                    )
                )
    return tuple(findings)


def _passes_over(part: Part, placed: PlacedLattice, paved: shapely.Geometry) -> bool:
    """Whether a leaf stands over tiles at any moment of its swing."""
    far = part.board_side * part.thickness
    ring = part.panels[placed.child].ring
    for share in _SHARES:
        pose = opened(part, placed, float(share))
        plan = shapely.MultiPoint(np.vstack([pose.apply(ring), pose.apply(ring, far)])[:, :2]).convex_hull
        if plan.intersection(paved).area > _LEAST:
            return True
    return False
