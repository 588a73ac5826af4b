"""Outlines cut into upright slices, and where exactly one outline may lie beside others.

Slice a part along its height at every corner, as one slices bread: each slice is a trapezoid, and
two parts meet only where slices meet. Move a part along one line, and every pair of slices forbids
one span of that line; what no pair forbids is free. So the place of a part is exact, however coarse
the map on which it was looked for.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..tolerance import ANGLE, LENGTH

__all__ = ["Box", "Shape", "free_spans", "joined", "slices", "turned_shapes"]

#: Two slices that share less than this along the line never meet, mm.
_GRAZE = LENGTH / 10

#: A rectangle: left, bottom, right, top, mm.
Box = tuple[float, float, float, float]


def slices(area: shapely.Geometry) -> np.ndarray:
    """Cut an area, holes left out, into upright slices: (k, 6) of left, right, low and high at left, at right, mm.

    Columns: x0, x1, low0, low1, high0, high1. At each station the slices are the sections of the area.
    """
    rings = [ring for part in shapely.get_parts(area) for ring in (part.exterior, *part.interiors)]
    edges = np.concatenate([_edges(shapely.get_coordinates(ring)) for ring in rings] or [np.empty((0, 4))])
    # corners that lie all but above one another are one station: so a ring crosses every strip an even number of times
    corners, place = np.unique(edges[:, [0, 2]], return_inverse=True)
    apart = np.concatenate([[True], np.diff(corners) > _GRAZE])
    place = (np.cumsum(apart) - 1)[place.reshape(-1, 2)]
    crosses = place[:, 1] > place[:, 0]
    edges, place, stations = edges[crosses], place[crosses], corners[apart]
    if len(edges) == 0:
        return np.empty((0, 6))
    slope = (edges[:, 3] - edges[:, 1]) / (edges[:, 2] - edges[:, 0])
    left, right = stations[:-1], stations[1:]
    strips = np.arange(len(left))[:, None]
    strip, edge = np.nonzero((place[:, 0] <= strips) & (place[:, 1] > strips))
    # an edge that is all but upright ends a hair beside its station: it must not run on beyond its own ends there
    lowest, highest = edges[edge][:, [1, 3]].min(axis=1), edges[edge][:, [1, 3]].max(axis=1)
    at_left, at_right = (
        np.clip(edges[edge, 1] + slope[edge] * (at[strip] - edges[edge, 0]), lowest, highest) for at in (left, right)
    )
    order = np.lexsort((at_left + at_right, strip))
    strip, edge, at_left, at_right = strip[order], edge[order], at_left[order], at_right[order]
    low, high = slice(0, None, 2), slice(1, None, 2)
    cut = np.column_stack(
        [left[strip[low]], right[strip[low]], at_left[low], at_right[low], at_left[high], at_right[high]]
    )
    return _merged(cut, edge[low], edge[high])


def _edges(ring: np.ndarray) -> np.ndarray:
    """Return the edges of a closed ring from left to right, (k, 4)."""
    edges = np.concatenate([ring[:-1], ring[1:]], axis=1)
    backward = edges[:, 0] > edges[:, 2]
    edges[backward] = edges[backward][:, [2, 3, 0, 1]]
    return edges


def _merged(cut: np.ndarray, low_edge: np.ndarray, high_edge: np.ndarray) -> np.ndarray:
    """Join slices that follow one another between the same two edges."""
    order = np.lexsort((cut[:, 0], high_edge, low_edge))
    cut, low_edge, high_edge = cut[order], low_edge[order], high_edge[order]
    follows = np.zeros(len(cut), dtype=bool)
    follows[1:] = (
        (low_edge[1:] == low_edge[:-1])
        & (high_edge[1:] == high_edge[:-1])
        & (np.abs(cut[1:, 0] - cut[:-1, 1]) <= _GRAZE)
    )
    first = np.flatnonzero(~follows)
    last = np.concatenate([first[1:], [len(cut)]]) - 1
    whole = cut[first]
    whole[:, [1, 3, 5]] = cut[last][:, [1, 3, 5]]
    return whole[np.lexsort((whole[:, 2], whole[:, 0]))]


def _turned_half(cut: np.ndarray) -> np.ndarray:
    """Return the slices of the area turned by half a turn about the origin."""
    return -cut[:, [1, 0, 5, 4, 3, 2]]


def _mirrored(cut: np.ndarray) -> np.ndarray:
    """Return slices with their stations counted backwards."""
    return np.column_stack([-cut[:, 1], -cut[:, 0], cut[:, 3], cut[:, 2], cut[:, 5], cut[:, 4]])


def _flipped(cut: np.ndarray) -> np.ndarray:
    """Return slices with low and high exchanged."""
    return np.column_stack([cut[:, 0], cut[:, 1], -cut[:, 4], -cut[:, 5], -cut[:, 2], -cut[:, 3]])


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """An area turned by ``quarter`` and shifted so that its box starts at the origin.

    upright: its slices over x; lying: its slices over y (stations are y, low and high are x).
    size: width and height of its box, mm. origin: (2,) where the frame of the unturned area comes to lie.
    holes: boxes round the holes of the area.
    """

    quarter: int
    upright: np.ndarray
    lying: np.ndarray
    size: tuple[float, float]
    origin: np.ndarray
    holes: tuple[Box, ...] = ()

    def transposed(self) -> Shape:
        """Return the shape with x and y exchanged: what the packer uses to fill a sheet the other way."""
        return replace(
            self,
            upright=self.lying,
            lying=self.upright,
            size=(self.size[1], self.size[0]),
            origin=self.origin[::-1],
            holes=tuple((y0, x0, y1, x1) for x0, y0, x1, y1 in self.holes),
        )


def turned_shapes(area: shapely.Geometry, quarters: tuple[int, ...]) -> tuple[Shape, ...]:
    """Return the shapes of an area for the quarter turns given, those left out that repeat an earlier one."""
    upright, lying = slices(area), slices(shapely.transform(area, lambda points: points[:, ::-1]))
    shapes: list[Shape] = []
    holes = [hole for part in shapely.get_parts(area) for hole in part.interiors]
    x0, y0, x1, y1 = area.bounds
    for quarter in quarters:
        if quarter % 4 == 0:
            u, v, corner = upright, lying, (x0, y0)
        elif quarter % 4 == 1:  # (x, y) -> (-y, x)
            u, v, corner = _mirrored(lying), _flipped(upright), (-y1, x0)
        elif quarter % 4 == 2:
            u, v, corner = _turned_half(upright), _turned_half(lying), (-x1, -y1)
        else:  # (x, y) -> (y, -x)
            u, v, corner = _flipped(lying), _mirrored(upright), (y0, -x1)
        size = (x1 - x0, y1 - y0) if quarter % 2 == 0 else (y1 - y0, x1 - x0)
        shape = Shape(
            quarter,
            _moved(u, -corner[0], -corner[1]),
            _moved(v, -corner[1], -corner[0]),
            size,
            -np.array(corner),
            tuple(_turned_box(hole.bounds, quarter, corner) for hole in holes),
        )
        if not any(_same(shape, other) for other in shapes):
            shapes.append(shape)
    return tuple(shapes)


def _turned_box(box: Box, quarter: int, corner: tuple[float, float]) -> Box:
    """Return a box turned by quarters about the origin, from a corner."""
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarter % 4]
    xs, ys = zip(*((c * x - s * y, s * x + c * y) for x, y in (box[:2], box[2:])), strict=True)
    return min(xs) - corner[0], min(ys) - corner[1], max(xs) - corner[0], max(ys) - corner[1]


def _same(one: Shape, other: Shape) -> bool:
    if len(one.upright) != len(other.upright):
        return False
    a, b = (np.round(outline.upright / (100 * LENGTH)) for outline in (one, other))
    a, b = (points[np.lexsort(points.T)] for points in (a, b))
    return bool(np.abs(a - b).max(initial=0.0) <= 1.0)


def _moved(cut: np.ndarray, x: float, y: float) -> np.ndarray:
    return cut + np.array([x, x, y, y, y, y])


def joined(cuts: list[np.ndarray]) -> np.ndarray:
    """Return several shapes' slices as one array."""
    return np.concatenate(cuts) if cuts else np.empty((0, 6))


def free_spans(cut: np.ndarray, station: float, others: np.ndarray, least: float, most: float) -> np.ndarray:
    """Return where slices may be moved along the line at ``station`` without meeting others.

    cut: slices of the moved shape, at the origin; they are shifted by ``station`` across the line. others:
    slices that stay. Result: (k, 2) closed spans of the shift along the line within least .. most, in order.
    Two trapezoids that share stations forbid one open span: at each station the sections must not meet,
    what each station forbids changes linearly, so its extremes lie at the ends of what they share.
    """
    x0, x1 = cut[:, 0] + station, cut[:, 1] + station
    near = others[(others[:, 0] < x1.max(initial=-np.inf) - _GRAZE) & (others[:, 1] > x0.min(initial=np.inf) + _GRAZE)]
    left = np.maximum(x0[:, None], near[:, 0])
    right = np.minimum(x1[:, None], near[:, 1])
    mine, theirs = np.nonzero(right - left > _GRAZE)
    if len(mine) == 0:
        return np.array([[least, most]])
    (a_low, a_low_rise), (a_high, a_high_rise) = _sides(cut)
    (b_low, b_low_rise), (b_high, b_high_rise) = _sides(near)
    begin = b_low[theirs] - a_high[mine]
    end = b_high[theirs] - a_low[mine]
    if a_low_rise.any() or a_high_rise.any() or b_low_rise.any() or b_high_rise.any():
        left, right = left[mine, theirs], right[mine, theirs]
        mine_rise, their_rise = (a_low_rise[mine], a_high_rise[mine]), (b_low_rise[theirs], b_high_rise[theirs])
        begins, ends = [], []
        for at in (left, right):
            in_mine, in_theirs = at - x0[mine], at - near[theirs, 0]
            begins.append(begin + their_rise[0] * in_theirs - mine_rise[1] * in_mine)
            ends.append(end + their_rise[1] * in_theirs - mine_rise[0] * in_mine)
        begin, end = np.minimum(*begins), np.maximum(*ends)
    order = np.argsort(begin, kind="stable")
    begin, end = begin[order], end[order]
    reached = np.maximum.accumulate(np.concatenate([[least], end]))
    opened = np.concatenate([begin, [np.inf]])
    spans = np.column_stack([np.maximum(reached, least), np.minimum(opened, most)])
    return spans[spans[:, 1] - spans[:, 0] >= -ANGLE]


def _sides(cut: np.ndarray) -> tuple[tuple[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]:
    """Return low and high at the left of each slice, each with how much it rises per mm."""
    wide = cut[:, 1] - cut[:, 0]
    return (cut[:, 2], (cut[:, 3] - cut[:, 2]) / wide), (cut[:, 4], (cut[:, 5] - cut[:, 4]) / wide)
