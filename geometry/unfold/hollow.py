"""Parted edges in a hollow, where two boards lie inside the bend and would cross: which of the two gives way.

As a rule both give way alike. A facet too narrow for that, as the bottom of a groove between two hollow edges, runs
on to the edge, and the board beside it gives way alone and stands on it.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from ..solid.facets import Edge, Facet, Facets
from .corner import SHARPEST_BEND, parted_setback
from .outline import move_sides, signed_area

__all__ = ["hollow_setback", "narrow_facets"]


def narrow_facets(facets: Facets, thickness_of: Callable[[Facet], float]) -> frozenset[int]:
    """Return the facets that lose a side if they give way at all their hollow edges.

    thickness_of: the thickness of a facet's board, mm.
    """
    hollow = {facet for edge in facets.edges if _is_hollow(edge) for facet in (edge.left, edge.right)}
    inner = (facets.facets[k] for k in hollow if k is not None)
    return frozenset(facet.id for facet in inner if _loses_a_side(facets, facet, thickness_of(facet)))


def hollow_setback(edge: Edge, facet: Facet, narrow: frozenset[int], *, thickness: float) -> float:
    """Return how far a facet stops short of a parted hollow edge, mm.

    narrow: the facets that run on where their neighbour does not. Such a board ends square at the edge or, where the
    boards stand closer than at right angles, where its outer face meets the other one's plane; the neighbour stops
    where it touches the board that runs on, at its outer face or, where they stand wider, at the corner of its end.
    """
    other = edge.beyond(facet.id)
    if (facet.id in narrow) == (other in narrow):
        return parted_setback(edge.angle, thickness=thickness)
    between = math.pi - abs(edge.angle)
    close = between <= math.pi / 2
    if facet.id in narrow:
        return thickness / math.tan(between) if close else 0.0
    return thickness / math.tan(between / 2) if close else thickness * math.sin(between)


def _is_hollow(edge: Edge) -> bool:
    return edge.right is not None and -SHARPEST_BEND <= edge.angle < 0.0


def _loses_a_side(facets: Facets, facet: Facet, thickness: float) -> bool:
    edges = facets.edges_of(facet)
    distances = [parted_setback(edge.angle, thickness=thickness) if _is_hollow(edge) else 0.0 for edge in edges]
    moved = move_sides(facets.ring(facet), np.array(distances))
    return bool(moved.vanished) or signed_area(moved.points) <= 0.0
