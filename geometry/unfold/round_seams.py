"""Round seams: the one parted corner of a wall that bends all round, where no wall is wide enough for a flat joiner.

Two cheeks bent like the wall hold it (see ``joints.round_joiner``). They bend at the seam as well, so both ends of the
wall stop where a bend of the wall would begin.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from ..solid.facets import Edge, Facet, Facets, ShellKind
from ..solid.solid import Role
from ..tolerance import SNAP
from .corner import Bend

__all__ = ["ROUND", "bends_like", "next_corner", "seam_setback"]

#: Corners of a round wall bend by this at most, radians: those of twelve sides, and a little for noise.
ROUND = math.radians(31.0)

#: ... and alike, within this, radians (2 degrees): cheeks take the bends of their neighbours.
_ALIKE = math.radians(2.0)


def bends_like(facets: Facets, edge: Edge) -> Edge | None:
    """Return the bend beside a round seam that its cheeks take over; None for any other edge."""
    if edge.role is not Role.CLOSURE or edge.right is None or not 0.0 < edge.angle <= ROUND:
        return None
    if facets.shell_of(facets.left(edge)).kind is not ShellKind.WALLS:
        return None
    beside = [next_corner(facets, facet, edge) for facet in facets.pair(edge)]
    for corner in beside:
        if corner is None or corner.role is not Role.FLEX or abs(corner.angle - edge.angle) > _ALIKE:
            return None
    return beside[0]


def next_corner(facets: Facets, facet: Facet, edge: Edge) -> Edge | None:
    """Return the corner at the other end of a wall; None where the wall is no plain rectangle between two corners."""
    ring = facets.ring(facet)
    if not facet.upright or len(facet.rings) != 1 or len(ring) != 4:
        return None
    low, high = ring.min(axis=0), ring.max(axis=0)
    if np.minimum(np.abs(ring - low), np.abs(ring - high)).max() > SNAP:
        return None
    others = [
        other
        for other in facets.edges_of(facet)
        if other.id != edge.id and other.right is not None and all(wall.upright for wall in facets.pair(other))
    ]
    return others[0] if len(others) == 1 else None


def seam_setback(facets: Facets, edge: Edge, bends: Mapping[int, Bend]) -> float:
    """Return how far both ends of a wall stop short of a round seam, mm; 0 at any other edge."""
    like = bends_like(facets, edge)
    made = bends.get(like.id) if like is not None else None
    return made.reference_radius * math.tan(edge.angle / 2) if made is not None else 0.0
