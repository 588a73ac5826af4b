"""Headroom: how far up a wall's corner its lattice may reach below the undersides of a roof.

A lattice is square-ended and stands farther out, or farther in, than the walls beside it, so that a top lowered for
the thickness of a straight board is not low enough for it.
"""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import Polygon

from ..solid.facets import Edge, Facets
from ..tolerance import LENGTH
from .corner import Bend
from .eaves import Eaves

__all__ = ["bend_plan", "span_under_roof"]

#: Chords by which the plan of a bend is drawn.
_SECTORS = 6


def span_under_roof(
    facets: Facets, edge: Edge, bend: Bend, thickness: float, eaves: Eaves, span: tuple[float, float]
) -> tuple[float, float]:
    """Return the span of a lattice, mm from the start of its edge, cut off where it would meet a roof.

    Spans of edges that do not stand between two upright facets come back as they are.
    """
    if not eaves.slopes or not all(facet.upright for facet in facets.pair(edge)):
        return span
    heights = facets.ends(edge)[:, 2]
    top = float(heights.max())
    ceiling = eaves.ceiling(bend_plan(facets, edge, bend, thickness), top) + LENGTH
    low, high = span
    if heights[1] >= heights[0]:
        return low, min(high, max(ceiling - float(heights[0]), low))
    return max(low, min(float(heights[0]) - ceiling, high)), high


def bend_plan(facets: Facets, edge: Edge, bend: Bend, thickness: float) -> Polygon:
    """Return the plan of an upright bend: between chords of its inner arc and tangents of its outer one.

    The tangents begin and end at the tangent lines, so that the plan reaches no farther than the walls beside it.
    """
    one, other = (facet.frame.n[:2] for facet in facets.pair(edge))
    corner, sign = facets.points[edge.start, :2], math.copysign(1.0, edge.angle)
    middle = (one + other) / np.hypot(*(one + other))
    centre = corner - sign * middle * bend.reference_radius / math.cos(edge.angle / 2)
    start = math.atan2(sign * one[1], sign * one[0])
    sweep = (math.atan2(sign * other[1], sign * other[0]) - start + math.pi) % (2 * math.pi) - math.pi
    near, far = sorted((bend.reference_radius, bend.reference_radius + sign * thickness))
    step = sweep / _SECTORS
    inner = start + step * np.arange(_SECTORS + 1)
    outer = np.concatenate([[start], start + step * (np.arange(_SECTORS) + 0.5), [start + sweep]])
    reach = np.full(len(outer), far / math.cos(step / 2))
    reach[[0, -1]] = far
    rim = centre + reach[:, None] * np.column_stack([np.cos(outer), np.sin(outer)])
    hub = centre + max(near, 0.0) * np.column_stack([np.cos(inner), np.sin(inner)])
    return Polygon(np.concatenate([rim, hub[::-1]]))
