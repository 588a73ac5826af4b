"""Polygons that are left where shapes are cut, without the lines and points that come out beside them."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

__all__ = ["largest_polygon", "polygons_in"]


def polygons_in(shape: shapely.Geometry | np.ndarray, *, above: float = 0.0) -> list[Polygon]:
    """Return the polygons of a shape, or of an array of shapes, with more area than this, mm^2, in their order.

    >>> polygons_in(shapely.box(0, 0, 9, 9) & shapely.box(9, 0, 12, 9))
    []
    """
    return [piece for piece in shapely.get_parts(shape) if isinstance(piece, Polygon) and piece.area > above]


def largest_polygon(shape: shapely.Geometry, *, above: float = 0.0) -> Polygon:
    """Return the largest polygon of a shape, an empty one where none has more area than this, mm^2."""
    return max(polygons_in(shape, above=above), key=lambda piece: piece.area, default=Polygon())
