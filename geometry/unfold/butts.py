"""Butt joints: how the square-cut boards of a dormer or chimney meet, one over the end of the other.

They are too small to bend, so they are glued once. The board that lies flatter covers the one that stands; of two
walls, the one that faces down or up the slope covers the other.
"""

from __future__ import annotations

import math

from ..solid.facets import Edge, Facet, Facets

__all__ = ["butt_setback"]

#: A sharper or flatter corner than these has no useful face to glue, so both boards end at its line, radians.
_FLATTEST, _SHARPEST = math.radians(25.0), math.radians(91.0)

#: Walls that face the slope alike within this are told apart by their numbers, cosine.
_ALIKE = 1e-6


def butt_setback(facets: Facets, facet: Facet, edge: Edge, *, board: float) -> float | None:
    """Return the setback of one of two boards that meet at an edge and are glued, mm; None where they meet otherwise.

    board: thickness of both, mm. Where they meet at a right angle the covering one runs on over the other's end by
    its thickness. At a smaller angle the face that covers leans over the end by the rest of the right angle, a: the
    covering board runs on by board / cos a, and the other one ends board * tan a short.
    """
    if edge.right is None or not _FLATTEST <= edge.angle <= _SHARPEST:
        return None
    other = facets.beyond(edge, facet)
    if other is None:
        return None
    lean = max(0.0, math.pi / 2 - edge.angle)
    return -board / math.cos(lean) if _covers(facets, facet, other) else board * math.tan(lean)


def _covers(facets: Facets, one: Facet, other: Facet) -> bool:
    """Whether the board of one facet covers the end of the other's, which it never does the other way round too."""
    if one.upright != other.upright:
        return other.upright
    if not one.upright:
        return one.id < other.id
    slope = facets.facets[facets.shell_of(one).stands_on[0]].frame.n
    facing = abs(float(one.frame.n @ slope)) - abs(float(other.frame.n @ slope))
    return facing > 0.0 if abs(facing) > _ALIKE else one.id < other.id
