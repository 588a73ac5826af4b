"""Motifs of an inlaid floor: a border of one piece a square along the walls, and a star of eight points.

They are areas without gaps; ``inlay`` takes the play off them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

__all__ = ["LAND", "SMALLEST_STAR", "Motif", "border", "inside_border", "star", "star_spot"]

#: Board that stays between two openings, or between one and an edge, mm: narrower strips break (common practice, no
#: source).
LAND = 3.0

#: A border begins and ends so far off the walls, in squares.
_BORDER = (0.25, 0.5)

#: A border is not narrower than this, mm: on small squares it reaches further into the room.
_NARROWEST_BORDER = 4.0

#: Halves of the eight points of a star.
_HALVES = 16

#: Every other point reaches less far, and the valleys between points lie so far out, over the reach of the long points.
_SHORT, _VALLEY = 0.7, 0.4

#: The disc in the middle of a star, over its reach, and its least radius, mm: halves are 3 mm wide where they meet it.
_HUB, _LEAST_HUB = 0.25, 8.0

#: Half the width of a point at its tip, mm: sharper tips burn away (common practice, no source).
_TIP = 1.0

#: The smallest star whose halves are longer than wide, and the largest one, in squares: reach of its long points.
SMALLEST_STAR = 24.0
_LARGEST_STAR = 2.0

#: Distances come out shorter by rounding, in halves of a square.
_ROUNDING = 1e-6

#: Halves are joined to a star on a grid as fine as this, mm: they share their corners but for rounding.
_GRID = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Motif:
    """One opening of the top layer, mm in plan. pieces: what fills it without gaps, and whether it is dark."""

    opening: Polygon
    pieces: tuple[tuple[Polygon, bool], ...]

    @classmethod
    def of_one(cls, area: Polygon) -> Motif:
        """Return the motif of a single dark piece."""
        return cls(area, ((area, True),))


def border(room: shapely.Geometry, origin: np.ndarray, square: float, land: float) -> shapely.Geometry:
    """Return the band along the walls, parted by ``land`` on the lines of the squares. room: in plan, mm."""
    begin, _ = _border_reach(square)
    band = _smooth(room, square).buffer(-begin, join_style="mitre").difference(inside_border(room, square))
    if band.is_empty:
        return band
    x0, y0, x1, y1 = band.bounds
    lines = [LineString([(x, y0 - 1.0), (x, y1 + 1.0)]) for x in _steps(origin[0], square, x0, x1)]
    lines += [LineString([(x0 - 1.0, y), (x1 + 1.0, y)]) for y in _steps(origin[1], square, y0, y1)]
    return band.difference(shapely.union_all(shapely.buffer(lines, land / 2.0, cap_style="flat")))


def inside_border(room: shapely.Geometry, square: float) -> shapely.Geometry:
    """Return what of a room lies within its border, mm in plan."""
    return _smooth(room, square).buffer(-_border_reach(square)[1], join_style="mitre")


def _border_reach(square: float) -> tuple[float, float]:
    """Return how far off the walls a border begins and ends, mm."""
    begin, end = _BORDER
    return begin * square, max(end * square, begin * square + _NARROWEST_BORDER)


def _smooth(room: shapely.Geometry, square: float) -> shapely.Geometry:
    """Return a room without niches narrower than two squares, such as those beside a joiner's cheek."""
    return room.buffer(square, join_style="mitre").buffer(-square, join_style="mitre")


def _steps(origin: float, step: float, low: float, high: float) -> Iterator[float]:
    """Yield the multiples of a step from an origin that lie between two places."""
    for k in range(math.ceil((low - origin) / step), math.floor((high - origin) / step) + 1):
        yield float(origin + k * step)


def star_spot(area: shapely.Geometry, origin: np.ndarray, square: float) -> tuple[tuple[float, float], float] | None:
    """Return middle and reach of the largest star within an area, None where there is room for none.

    Its middle lies on the half squares, and it reaches a whole number of half squares.
    """
    if area.is_empty:
        return None
    x0, y0, x1, y1 = area.bounds
    half = square / 2.0
    spots = np.array([(x, y) for x in _steps(origin[0], half, x0, x1) for y in _steps(origin[1], half, y0, y1)])
    if not len(spots):
        return None
    points = shapely.points(spots)
    room = np.where(shapely.covers(area, points), shapely.distance(area.boundary, points), 0.0)
    reach = np.minimum(np.floor(room / half + _ROUNDING) * half, _LARGEST_STAR * square)
    off = shapely.distance(points, shapely.box(x0, y0, x1, y1).centroid)
    best = int(np.lexsort((spots[:, 1], spots[:, 0], np.round(off, 3), -reach))[0])
    if reach[best] < SMALLEST_STAR:
        return None
    x, y = spots[best].tolist()
    return (x, y), float(reach[best])


def star(middle: tuple[float, float], reach: float) -> Motif:
    """Return a star of eight points, each of a dark and a light half, round a dark disc. reach: of long points, mm."""
    hub = max(_HUB * reach, _LEAST_HUB)
    halves = [_half(k, reach, hub) for k in range(_HALVES)]
    turns = 2.0 * math.pi * np.arange(_HALVES) / _HALVES
    disc = Polygon(hub * np.column_stack([np.cos(turns), np.sin(turns)]))
    pieces = [(disc, True), *((half, k % 2 == 0) for k, half in enumerate(halves))]
    outline = shapely.union_all([piece for piece, _ in pieces], grid_size=_GRID)
    placed = [(shapely.transform(piece, lambda xy: xy + middle), dark) for piece, dark in pieces]
    return Motif(shapely.transform(outline, lambda xy: xy + middle), tuple(placed))


def _half(k: int, reach: float, hub: float) -> Polygon:
    """Return the half of a point between two of the 16 rays of a star, of which every other one bears a tip."""
    at, other = (k, k + 1) if k % 2 == 0 else (k + 1, k)
    tip, valley = (2.0 * math.pi * ray / _HALVES for ray in (at, other))
    long = reach if (at // 2) % 2 == 0 else _SHORT * reach
    toward, across = np.array([math.cos(tip), math.sin(tip)]), np.array([-math.sin(tip), math.cos(tip)])
    side = 1.0 if other > at else -1.0
    along = np.array([math.cos(valley), math.sin(valley)])
    corners = [hub * toward, long * toward, long * toward + side * _TIP * across, _VALLEY * reach * along, hub * along]
    return Polygon(corners)
