"""Bodies: blockers made ready to cast shadows, and clipped to the heights at which they matter.

An eye looks down on a level plane. What of a flat face lies between that plane and the eye casts the
shadow; so every face is kept as a polygon in its own plane, where clipping at a height is exact and
needs doing once for all eyes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..tolerance import AREA, LENGTH, WELD
from .table_top import Blocker, Squares

__all__ = ["Bodies", "Cut", "corners", "grid_frame", "make_bodies"]

#: Wide enough to reach beyond any face, mm.
_FAR = 1e6


@dataclass(frozen=True, slots=True, eq=False)
class Bodies:
    """The faces of blockers in the frame of the squares: x along columns, y along rows, z above the floor, mm.

    names: of the blockers. shapes: (f,) polygons in the plane of each face; origin, across, up, normal: (f, 3)
    of that plane, ``up`` as steep as it can be, ``normal`` out of the body that a face bounds. level: (f, 2) least
    and greatest height. owner: (f,) index of the blocker. solid: (f,) whether the face bounds a body (then its
    outline is counter-clockwise seen from outside). convex: per blocker, whether it is one convex body.
    """

    names: tuple[str, ...]
    shapes: np.ndarray
    origin: np.ndarray
    across: np.ndarray
    up: np.ndarray
    normal: np.ndarray
    level: np.ndarray
    owner: np.ndarray
    solid: np.ndarray
    convex: np.ndarray

    def cut(self, faces: np.ndarray, low: np.ndarray | float, high: np.ndarray | float = np.inf) -> Cut:
        """Return what of the faces named by index, (k,), lies above ``low`` and below ``high`` of each, mm."""
        low, high = (np.broadcast_to(np.asarray(end, dtype=float), faces.shape) for end in (low, high))
        # a face in the plane itself would hide itself
        item = np.flatnonzero((self.level[faces, 1] > low + LENGTH) & (self.level[faces, 0] < high))
        kept = faces[item]
        shapes = self.shapes[kept]
        across = (self.level[kept, 0] < low[item]) | (self.level[kept, 1] > high[item])
        if across.any():
            rise, start = self.up[kept[across], 2], self.origin[kept[across], 2]
            bottom, top = (np.clip((end[item][across] - start) / rise, -_FAR, _FAR) for end in (low, high))
            shapes = shapes.copy()
            parted = shapely.intersection(shapes[across], shapely.box(-_FAR, bottom, _FAR, top))
            # overlays turn outlines as they like
            shapes[across] = shapely.orient_polygons(parted)
        parts, at = shapely.get_parts(shapes, return_index=True)
        flat = (shapely.get_type_id(parts) == 3) & (shapely.area(parts) > AREA)
        parts, item = parts[flat], item[at[flat]]
        if not len(parts):
            return Cut(np.zeros((0, 3)), np.zeros(1, dtype=int), np.zeros(1, dtype=int), item)
        _, plane, (rings, ends) = shapely.to_ragged_array(parts)
        face = np.repeat(np.repeat(faces[item], np.diff(ends)), np.diff(rings))
        points = self.origin[face] + plane[:, :1] * self.across[face] + plane[:, 1:] * self.up[face]
        return Cut(points, rings.astype(int), ends.astype(int), item)


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """Polygons in space, as ragged arrays. Rings are closed: the first point comes again at the end.

    points: (n, 3) mm. rings: (r + 1,) where each ring begins in ``points``; polygons: (p + 1,) where each
    polygon begins in ``rings``. item: (p,) place, among what was to be cut, of the face it comes from.
    """

    points: np.ndarray
    rings: np.ndarray
    polygons: np.ndarray
    item: np.ndarray

    def spread(self, values: np.ndarray) -> np.ndarray:
        """Return for every point the value of its polygon, from values, (p,)."""
        each: np.ndarray = np.repeat(np.repeat(values, np.diff(self.polygons)), np.diff(self.rings))
        return each


def grid_frame(squares: Squares) -> np.ndarray:
    """Return the (3, 3) matrix that turns model directions into those of the squares: columns, rows, up."""
    return np.vstack([squares.u, squares.v, [0.0, 0.0, 1.0]])


def make_bodies(blockers: Sequence[Blocker], squares: Squares) -> Bodies:
    """Bring blockers into the frame of the squares and their faces into their own planes."""
    turn = grid_frame(squares)
    # a left-handed grid mirrors the blockers, and with them the way round their outlines
    mirrored = bool(np.linalg.det(turn) < 0.0)
    rings: list[np.ndarray] = []
    first, owner = [], []
    for k, blocker in enumerate(blockers):
        for face in blocker.faces:
            owner.append(k)
            first.append(len(rings))
            rings += [np.asarray(ring, dtype=float)[:: -1 if mirrored else 1] for ring in face]
    if not rings:
        nothing = np.zeros((0, 3))
        names = tuple(blocker.name for blocker in blockers)
        no = np.zeros(0, dtype=int)
        polygons = np.zeros(0, dtype=object)
        convex = np.zeros(len(blockers), dtype=bool)
        return Bodies(
            names, polygons, nothing, nothing, nothing, nothing, np.zeros((0, 2)), no, no.astype(bool), convex
        )
    counts = np.array([len(ring) for ring in rings])
    starts = np.cumsum(counts) - counts
    points = (np.concatenate(rings) - squares.origin) @ turn.T
    faces = np.array([*first, len(rings)])
    outline = np.array([starts[k] for k in first])
    origin, across, up, normal = _planes(points, outline, counts[first])

    of_ring = np.repeat(np.arange(len(first)), np.diff(faces))
    of_point = np.repeat(of_ring, counts)
    away = points - origin[of_point]
    flat = np.column_stack([np.einsum("ij,ij->i", away, axis[of_point]) for axis in (across, up)])
    lows, highs = (np.minimum, np.maximum)
    level = np.column_stack([kind.reduceat(points[:, 2], starts[faces[:-1]]) for kind in (lows, highs)])
    shapes = _polygons(flat, counts, faces)
    own = np.array(owner)
    solid = np.array([blocker.solid for blocker in blockers])[own]
    convex = _convex(len(blockers), own, solid, points, of_point, origin, normal)
    shapes, at = _valid(shapes)
    return Bodies(
        names=tuple(blocker.name for blocker in blockers),
        shapes=shapes,
        origin=origin[at],
        across=across[at],
        up=up[at],
        normal=normal[at],
        level=level[at],
        owner=own[at],
        solid=solid[at],
        convex=convex,
    )


def _planes(points: np.ndarray, starts: np.ndarray, counts: np.ndarray) -> tuple[np.ndarray, ...]:
    """Return a point, the level and the steep direction and the normal (Newell's) of each outline's plane, (f, 3)."""
    of = np.repeat(np.arange(len(starts)), counts)
    place = np.arange(len(of)) - np.repeat(np.cumsum(counts) - counts, counts)
    here = points[starts[of] + place]
    there = points[starts[of] + (place + 1) % counts[of]]
    begins = np.cumsum(counts) - counts
    centre = np.add.reduceat(here, begins) / counts[:, None]
    turns = np.cross(here - centre[of], there - centre[of])
    normal = np.add.reduceat(turns, begins)
    size = np.linalg.norm(normal, axis=1, keepdims=True)
    normal = np.where(size > AREA, normal / np.where(size > 0.0, size, 1.0), [0.0, 0.0, 1.0])
    across = np.column_stack([-normal[:, 1], normal[:, 0], np.zeros(len(normal))])
    length = np.hypot(across[:, 0], across[:, 1])[:, None]
    across = np.where(length > LENGTH, across / np.where(length > 0.0, length, 1.0), [1.0, 0.0, 0.0])
    return centre, across, np.cross(normal, across), normal


def _polygons(flat: np.ndarray, counts: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Return polygons from rings one after another, (n, 2); ``faces`` tells where each polygon begins in the rings."""
    begins = np.cumsum(counts) - counts
    order = np.insert(np.arange(len(flat)), np.cumsum(counts), begins)
    offsets = np.concatenate([[0], np.cumsum(counts + 1)])
    made = shapely.from_ragged_array(shapely.GeometryType.POLYGON, flat[order], (offsets, faces))
    oriented: np.ndarray = shapely.orient_polygons(made)
    return oriented


def _valid(shapes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the polygons, those that touch or cross themselves parted, and the index each came from."""
    bad = ~shapely.is_valid(shapes)
    if not bad.any():
        return shapes, np.arange(len(shapes))
    shapes = shapes.copy()
    shapes[bad] = shapely.orient_polygons(shapely.make_valid(shapes[bad]))
    parts, at = shapely.get_parts(shapes, return_index=True)
    # made valid, a polygon may come with lines, which hide nothing, or as a collection within a collection
    flat = shapely.get_type_id(parts) == 3
    return parts[flat], at[flat]


def _convex(
    count: int,
    owner: np.ndarray,
    solid: np.ndarray,
    points: np.ndarray,
    of_point: np.ndarray,
    origin: np.ndarray,
    normal: np.ndarray,
) -> np.ndarray:
    """Return which blockers are one convex body: no corner lies in front of any of its faces, (count,) bool."""
    convex = np.zeros(count, dtype=bool)
    of_corner = owner[of_point]
    for k in np.unique(owner[solid]):
        faces, corners = owner == k, points[of_corner == k]
        ahead = corners @ normal[faces].T - np.einsum("ij,ij->i", origin[faces], normal[faces])
        convex[k] = bool(ahead.max() <= WELD)
    return convex


def corners(cut: Cut, body: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the corners, (n, 3) mm, of cut bodies one after another, where each begins, and the label of each.

    body: (p,) label of the body of each cut polygon.
    """
    label = cut.spread(body)
    order = np.argsort(label, kind="stable")
    labels, begins = np.unique(label[order], return_index=True)
    return cut.points[order], np.append(begins, len(order)), labels
