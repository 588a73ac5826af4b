"""Saddles: the cut of a dormer's or chimney's boards along the slopes that they stand on.

The modelled slope is the underside of the roof's board. A board that stands on it is cut square to its own face and
must end above the roof's upper face over its whole thickness.
"""

from __future__ import annotations

import numpy as np

from ..solid.facets import Edge, Facet, Facets
from ..tolerance import SNAP

__all__ = ["saddle_of", "saddle_setback"]

#: A board that leans so far along the slope is no longer held by it, sine of the angle between both (1.1 degrees).
_FLATTEST = 0.02


def saddle_of(facets: Facets, facet: Facet, edge: Edge) -> Facet | None:
    """Return the slope that a free edge of a dormer or chimney stands on; None for every other edge."""
    slopes = facets.shell_of(facet).stands_on
    if edge.right is not None or not slopes:
        return None
    ends = facets.ends(edge)
    inward = _inward(facets, facet, edge)
    for slope_id in slopes:
        slope = facets.facets[slope_id]
        off = np.abs((ends - slope.frame.origin) @ slope.frame.n)
        if off.max() <= SNAP and inward @ slope.frame.n > _FLATTEST:
            return slope
    return None


def saddle_setback(facets: Facets, facet: Facet, edge: Edge, *, slope: Facet, board: float, roof: float) -> float:
    """Return how far a board must end short of the modelled slope under one of its edges, mm.

    board, roof: thicknesses, mm. With n the side to which the board grows, N the roof's and m the direction from the
    edge into the board's facet, a point d along m and h along n lies d m.N + h n.N above the slope. It must be at
    least ``roof`` for h = 0 and h = board: a wall along the slope, square to it, ends ``roof`` short; one across a
    slope of pitch p ends roof / cos p short, and where it faces uphill board * tan p more.
    """
    inward = _inward(facets, facet, edge)
    lean = board * float(facet.frame.n @ slope.frame.n)
    return (roof - min(0.0, lean)) / float(inward @ slope.frame.n)


def _inward(facets: Facets, facet: Facet, edge: Edge) -> np.ndarray:
    """Return the direction from an edge into its facet, (3,) unit, in the facet's plane."""
    start, end = facets.ends(edge)
    along = (end - start) if edge.left == facet.id else (start - end)
    inward: np.ndarray = np.cross(facet.frame.n, along / np.linalg.norm(along))
    return inward
