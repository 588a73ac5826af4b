"""Whole boards against each other: does one enter another where they should only touch?

Boards are prisms over triangles; two convex prisms are apart if and only if some axis separates
them (separating axis theorem), and their least overlap over all axes is how deep one enters the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..findings import place
from ..pose import Pose
from ..tolerance import AREA
from .shares import counted, in_shares

__all__ = [
    "Board",
    "Crossing",
    "Prisms",
    "depths_between",
    "depths_of",
    "edge_directions",
    "edges_crossed",
    "face_normals",
    "find_crossings",
    "greatest_depth",
    "prisms",
    "strip_prisms",
]

#: Unit edges whose cross product is shorter than this are parallel: far above rounding, far below any angle cut.
_PARALLEL = 1e-9

#: So many pairs of prisms are compared at once: their shadows still fit the processor's fast memory.
_PAIRS_AT_ONCE = 1000


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """A flat region of board as it stands.

    name: what it belongs to; group: boards of one group are never compared with each other.
    corners: (m, 6, 3) mm, prisms over triangles: three corners of one face, then of the other.
    """

    name: str
    group: str
    corners: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Prisms:
    """Prisms with the directions that may part them, worked out once for all pairs.

    corners: (..., 6, 3) mm; edges and normals of faces: (..., 4, 3) each, unit.
    """

    corners: np.ndarray
    edges: np.ndarray
    normals: np.ndarray

    @classmethod
    def of(cls, corners: np.ndarray) -> Prisms:
        """Return prisms from their corners, (k, 6, 3) mm."""
        edges = edge_directions(corners)
        return cls(corners, edges, face_normals(edges))

    @classmethod
    def joined(cls, several: Sequence[Prisms]) -> Prisms:
        """Return all prisms of several, in this order."""
        arrays = ([one.corners, one.edges, one.normals] for one in several)
        return cls(*(np.concatenate(group) for group in zip(*arrays, strict=True)))

    def placed(self, poses: np.ndarray) -> Prisms:
        """Return prisms, k of them, at n poses of their own each, (n, k, 3, 4): n times k prisms."""
        turned = poses[..., :3].swapaxes(-1, -2)
        return Prisms(self.corners @ turned + poses[..., None, :, 3], self.edges @ turned, self.normals @ turned)


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two boards that enter each other by ``depth`` mm near ``point``; places: theirs among the boards looked at."""

    names: tuple[str, str]
    depth: float
    point: tuple[float, float, float]
    places: tuple[int, int] = (0, 0)


def prisms(outline: Polygon, stands: Pose, low: float, high: float) -> np.ndarray:
    """Return an outline in z = low .. high of the frame ``stands`` as prisms, (m, 6, 3) mm in the model."""
    if not outline.is_valid:  # holes that cross one another or leave the outline; other checks report them
        outline = Polygon(outline.exterior).difference(shapely.union_all([Polygon(hole) for hole in outline.interiors]))
    return stands.apply(_raised(triangles_of(outline)[0], low, high))


def strip_prisms(strips: np.ndarray, poses: np.ndarray, low: float, high: float) -> np.ndarray:
    """Return flat strips, (n, 4, 2) mm, in z = low .. high of frames of their own, (n, 3, 4), as prisms, (m, 6, 3)."""
    triangles, strip = triangles_of(shapely.polygons(strips))
    poses = poses[strip]
    return _raised(triangles, low, high) @ poses[:, :, :3].swapaxes(1, 2) + poses[:, None, :, 3]


def triangles_of(outlines: Polygon | np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the triangles of one or n valid outlines, (m, 3, 2) mm, and from which outline each of them is, (m,)."""
    triangles, outline = shapely.get_parts(shapely.constrained_delaunay_triangles(outlines), return_index=True)
    large = shapely.area(triangles) > AREA
    return shapely.get_coordinates(triangles[large]).reshape(-1, 4, 2)[:, :3], outline[large]


def _raised(triangles: np.ndarray, low: float, high: float) -> np.ndarray:
    """Return prisms from z = low to high over triangles, (m, 3, 2) mm: (m, 6, 3) mm."""
    levels = np.broadcast_to(np.repeat([low, high], 3)[:, None], (len(triangles), 6, 1))
    return np.concatenate([np.tile(triangles, (1, 2, 1)), levels], axis=2)


def find_crossings(boards: Sequence[Board], *, deeper: float) -> tuple[float, tuple[Crossing, ...]]:
    """Return the greatest depth by which any two boards enter each other, and the pairs deeper than ``deeper``, mm."""
    place_of = [k for k, board in enumerate(boards) if len(board.corners)]
    filled = [boards[k] for k in place_of]
    if len(filled) < 2:
        return 0.0, ()
    corners = np.concatenate([board.corners for board in filled])
    owner = np.concatenate([np.full(len(board.corners), i) for i, board in enumerate(filled)])
    groups = {name: k for k, name in enumerate(dict.fromkeys(board.group for board in filled))}
    group = np.array([groups[board.group] for board in filled])[owner]

    low, high = corners.min(axis=1), corners.max(axis=1)
    first, second = _boxes_met(low + deeper / 2, high, group)
    if not len(first):
        return 0.0, ()
    depths = depths_of(Prisms.of(corners), (first,), (second,))
    pairs: dict[tuple[int, int], tuple[float, int]] = {}
    for k in np.flatnonzero(depths > deeper):
        key = (int(owner[first[k]]), int(owner[second[k]]))
        if depths[k] > pairs.get(key, (0.0, 0))[0]:
            pairs[key] = (float(depths[k]), int(k))
    crossings = []
    for (a, b), (depth, at) in sorted(pairs.items()):
        i, j = first[at], second[at]
        middle = (np.maximum(low[i], low[j]) + np.minimum(high[i], high[j])) / 2
        places = (place_of[a], place_of[b])
        crossings.append(Crossing((filled[a].name, filled[b].name), depth, place(middle), places))
    return float(max(0.0, depths.max())), tuple(crossings)


def _boxes_met(low: np.ndarray, high: np.ndarray, group: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the pairs of boxes of other groups that share a place, by their numbers, the lower first, in order.

    low, high: (n, 3) mm; group: (n,). Boxes are sorted by where they begin along an axis; those that begin before one
    of them ends are looked at. The axis is the one along which these are fewest.
    """
    after = np.arange(1, len(low) + 1)
    orders = [np.argsort(low[:, axis], kind="stable") for axis in range(3)]
    until = [np.searchsorted(low[order, axis], high[order, axis]) for axis, order in enumerate(orders)]
    sorted_by = int(np.argmin([int(np.maximum(ends - after, 0).sum()) for ends in until]))
    order, counts = orders[sorted_by], np.maximum(until[sorted_by] - after, 0)
    low_along, high_along = np.ascontiguousarray(low.T), np.ascontiguousarray(high.T)
    found = [np.zeros((0, 2), dtype=int)]
    for some in in_shares(np.arange(len(order)), counts):
        which, k = counted(counts[some])
        one, two = order[some[which]], order[after[some[which]] + k]
        near = group[one] != group[two]
        for begin, end in zip(low_along, high_along, strict=True):
            one, two = one[near], two[near]
            near = (begin[one] < end[two]) & (begin[two] < end[one])
        found.append(np.sort(np.column_stack([one[near], two[near]]), axis=1))
    pairs = np.concatenate(found)
    first, second = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))].T
    return first, second


def greatest_depth(one: np.ndarray, two: np.ndarray) -> float:
    """Return by how much any of some prisms, (k, 6, 3) mm, enters any of others, (m, 6, 3) mm; 0 where none does."""
    near = np.all(
        (one.min(axis=1)[:, None] < two.max(axis=1)) & (one.max(axis=1)[:, None] > two.min(axis=1)),
        axis=2,
    )
    first, second = np.nonzero(near)
    return float(depths_between(one[first], two[second]).max(initial=0.0)) if len(first) else 0.0


def depths_between(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Return the least overlap over all candidate axes for pairs of prisms, (k, 6, 3) each, not above 0 when apart."""
    every = np.arange(len(one))
    return depths_of(Prisms.of(np.concatenate([one, two])), (every,), (every + len(one),))


def depths_of(prisms: Prisms, first: tuple[np.ndarray, ...], second: tuple[np.ndarray, ...]) -> np.ndarray:
    """Return the least overlap over all candidate axes for pairs of prisms, (k,) mm, not above 0 when apart.

    first, second: their places among the prisms, (k,) along every axis of these.
    """
    depths = np.empty(len(first[0]))
    for start in range(0, len(depths), _PAIRS_AT_ONCE):
        these = slice(start, start + _PAIRS_AT_ONCE)
        depths[these] = _depths(prisms, tuple(at[these] for at in first), tuple(at[these] for at in second))
    return depths


def _depths(prisms: Prisms, first: tuple[np.ndarray, ...], second: tuple[np.ndarray, ...]) -> np.ndarray:
    """Return what ``depths_of`` does, for no more pairs than work well together.

    Most pairs lie apart along a normal of a face; for those the axes across edges, which are dear, are left out.
    """
    one, two = _last(prisms.corners[first]), _last(prisms.corners[second])
    normals = np.concatenate([_last(prisms.normals[first]), _last(prisms.normals[second])], axis=1)
    depths: np.ndarray = _overlaps(one, two, normals).min(axis=0)
    close = np.flatnonzero(depths > 0.0)
    if len(close):
        edges = (_last(prisms.edges[tuple(place[close] for place in side)]) for side in (first, second))
        crossed, usable = _crossed(*edges)
        across = np.where(usable, _overlaps(one[..., close], two[..., close], crossed), np.inf).min(axis=0)
        depths[close] = np.minimum(depths[close], across)
    return depths


def _last(vectors: np.ndarray) -> np.ndarray:
    """Return vectors of pairs, (k, n, 3), with the pairs last, (3, n, k): so numpy takes many of them in one step."""
    return np.ascontiguousarray(vectors.T)


def _overlaps(one: np.ndarray, two: np.ndarray, axes: np.ndarray) -> np.ndarray:
    """Return how far pairs of prisms, (3, 6, k), overlap along each of their axes, unit, (3, n, k): (n, k) mm."""
    low, high = _shadows(one, axes)
    low_two, high_two = _shadows(two, axes)
    overlaps: np.ndarray = np.minimum(high - low_two, high_two - low)
    return overlaps


def _shadows(corners: np.ndarray, axes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return from where to where prisms, (3, 6, k), reach along their axes, (3, n, k): (n, k) each."""
    along = corners[0, :, None] * axes[0]
    along += corners[2, :, None] * axes[2]
    along += corners[1, :, None] * axes[1]
    return along.min(axis=0), along.max(axis=0)


def edge_directions(prism: np.ndarray) -> np.ndarray:
    """Return the directions of edges of prisms, (k, 6, 3), unit, (k, 4, 3): three in a face and one across."""
    edges = prism[:, [1, 2, 0, 3]] - prism[:, [0, 1, 2, 0]]
    unit: np.ndarray = edges / _lengths(edges)[..., None]
    return unit


def face_normals(edges: np.ndarray) -> np.ndarray:
    """Return the normals of the faces of prisms with these edges, unit, (k, 4, 3) both: three sides, then a face."""
    along = _last(edges)
    normals = _cross(along[:, [0, 1, 2, 0]], along[:, [3, 3, 3, 1]])
    unit: np.ndarray = (normals / _lengths(normals.T).T).T
    return unit


def edges_crossed(one: np.ndarray, two: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the cross products of edges of pairs of prisms, (k, 4, 3) each: unit, (k, 16, 3), and which can be used.

    Where two edges are parallel their cross product is no axis; other axes do its work.
    """
    crossed, usable = _crossed(_last(one), _last(two))
    return np.ascontiguousarray(crossed.T), np.ascontiguousarray(usable.T)


def _crossed(one: np.ndarray, two: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return what ``edges_crossed`` does with the pairs last: of edges, (3, 4, k) each, (3, 16, k) and (16, k)."""
    crossed = _cross(one[:, :, None], two[:, None, :]).reshape(3, 16, -1)
    sizes = _lengths(crossed.T).T
    usable: np.ndarray = sizes > _PARALLEL
    unit: np.ndarray = crossed / np.where(usable, sizes, 1.0)
    return unit, usable


def _lengths(vectors: np.ndarray) -> np.ndarray:
    """Return the lengths of vectors, (..., 3); numpy's own takes several times as long."""
    x, y, z = vectors[..., 0], vectors[..., 1], vectors[..., 2]
    lengths: np.ndarray = np.sqrt(x * x + y * y + z * z)
    return lengths


def _cross(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Return cross products, (3, ...) each; numpy's own takes several times as long for few vectors."""
    (x, y, z), (u, v, w) = one, two
    return np.stack([y * w - z * v, z * u - x * w, x * v - y * u])
