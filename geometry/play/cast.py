"""Casting: the shadows that blockers cast on a level plane for each eye, exact on the squares.

Seen from an eye at height e, a point at height z goes to the plane at h along the line of sight, which
scales its distance from the eye by (e - h) / (e - z). That maps the plane of a face onto the plane h with
straight edges kept straight, so the shadow of a polygon with holes is a polygon with holes; the hidden
region is the union of all shadows. Of a body the faces that look at the eye are enough, of a convex one the
convex hull of its corners.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ..tolerance import AREA, LENGTH
from .bodies import Bodies, Cut, corners

__all__ = ["Casts", "cast", "united"]

#: Overlays that fail in floating point are repeated on this grid, mm; shares then err by 4e-8 at most.
_GRID = 1e-6

#: Shadows are exact within this many times the distance from the eye to the farthest corner of the squares.
_REACH = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Casts:
    """Single shadows for one height: polygons, (k,), the eye and the blocker of each; none is off the squares."""

    shapes: np.ndarray
    eye: np.ndarray
    owner: np.ndarray

    def by_eye(self, eyes: int) -> np.ndarray:
        """Return the shadows in one row per eye, (eyes, m), filled with None."""
        return _rows(self.shapes, self.eye, eyes)

    def by_blocker(self, eyes: int, blockers: int) -> np.ndarray:
        """Return the union of the shadows per eye and blocker, (eyes, blockers)."""
        rows = _rows(self.shapes, self.eye * blockers + self.owner, eyes * blockers)
        return united(rows).reshape(eyes, blockers)


def cast(bodies: Bodies, eyes: np.ndarray, height: float, extent: tuple[float, float]) -> Casts:
    """Cast the shadows of all bodies for all eyes on the plane at ``height``.

    eyes: (s, 3) mm in the frame of the squares, all above the plane and outside the bodies. extent: (width,
    depth) of the squares, mm; shadows that reach none of them are left out, the others are right on all of them.
    """
    found: list[Casts] = []
    high = _ceilings(bodies, eyes, height, extent)
    tall = bodies.level[:, 1] > high
    of_tall = np.zeros(len(bodies.names), dtype=bool)
    of_tall[bodies.owner[tall.any(axis=0)]] = True
    hull = (bodies.convex & ~of_tall)[bodies.owner]
    everywhere = ~tall.any(axis=0)
    everyone = np.arange(len(eyes))
    below = bodies.cut(np.flatnonzero(everywhere & ~hull), height)
    found.append(_faces(bodies, below, eyes, everyone, height, extent))
    found.append(_hulls(bodies, bodies.cut(np.flatnonzero(hull), height), eyes, height, extent))
    ids = np.flatnonzero(~everywhere)
    for k in everyone.tolist() if len(ids) else ():
        cut = bodies.cut(ids, height, high[k, ids])
        found.append(_faces(bodies, cut, eyes[k : k + 1], everyone[k : k + 1], height, extent))
    return Casts(
        np.concatenate([each.shapes for each in found]),
        np.concatenate([each.eye for each in found]),
        np.concatenate([each.owner for each in found]),
    )


def _ceilings(bodies: Bodies, eyes: np.ndarray, height: float, extent: tuple[float, float]) -> np.ndarray:
    """Return below which height each face is to be cut for each eye, (s, f) mm, so that no shadow runs to infinity.

    What is cut away casts its shadow beyond the reach: at drop d under the eye a point at level distance a lands
    at a (e - h) / d.
    """
    edge = np.array([[0.0, 0.0], [extent[0], 0.0], [0.0, extent[1]], extent])
    reach = _REACH * np.linalg.norm(eyes[:, None, :2] - edge, axis=2).max(axis=1)
    drop = (eyes[:, 2] - height)[:, None]
    normal = bodies.normal
    level = np.hypot(normal[:, 0], normal[:, 1])
    # level distance from the eye to the line in which the face's plane lies as high as the eye
    to_plane = np.abs(eyes @ normal.T - np.einsum("ij,ij->i", bodies.origin, normal))
    steep = level > LENGTH
    away = np.where(steep, to_plane / np.where(steep, level, 1.0), np.inf)
    # a slanting face comes nearer below that line
    lean = np.where(steep, np.abs(normal[:, 2]) / np.where(steep, level, 1.0), 0.0)
    by_plane = np.where(steep, away * drop / (reach[:, None] + lean * drop), LENGTH)
    ceiling = eyes[:, 2:] - by_plane
    near = bodies.level[:, 1] > eyes[:, 2:] * (1.0 - 1e-3) - LENGTH
    near &= bodies.level[:, 0] < eyes[:, 2:]
    for k, face in zip(*np.nonzero(near), strict=True):
        distance = float(_plan_distance(bodies, int(face), eyes[k, :2]))
        ceiling[k, face] = min(ceiling[k, face], eyes[k, 2] - distance * drop[k, 0] / reach[k])
    return ceiling


def _plan_distance(bodies: Bodies, face: int, eye: np.ndarray) -> float:
    """Return the level distance from an eye to a face's plan, mm."""
    shape = bodies.shapes[face]
    flat = shapely.get_coordinates(shape.exterior)
    plan = bodies.origin[face, :2] + flat[:, :1] * bodies.across[face, :2] + flat[:, 1:] * bodies.up[face, :2]
    upright = abs(float(bodies.normal[face, 2])) < LENGTH
    hull = shapely.convex_hull(shapely.multipoints(plan)) if upright else shapely.Polygon(plan)
    return float(shapely.distance(hull, shapely.Point(eye)))


def _faces(
    bodies: Bodies, cut: Cut, eyes: np.ndarray, numbers: np.ndarray, height: float, extent: tuple[float, float]
) -> Casts:
    """Cast cut faces one by one: of bodies those that look at the eye, of sheets all but those seen edge-on."""
    count = len(cut.face)
    if not count:
        return _nothing()
    plan = _projected(cut.points, eyes, height)
    turn = np.zeros(plan.shape[:2])
    turn[:, :-1] = plan[:, :-1, 0] * plan[:, 1:, 1] - plan[:, 1:, 0] * plan[:, :-1, 1]
    turn[:, cut.rings[1:] - 1] = 0.0
    starts = cut.rings[cut.polygons[:-1]]
    area = np.add.reduceat(turn, starts, axis=1) / 2.0
    solid = bodies.solid[cut.face]
    seen = np.where(solid, area, np.abs(area)) > AREA
    seen &= _on_squares(plan, starts, extent)
    which, polygon = np.nonzero(seen)
    if not len(which):
        return _nothing()
    # the arrays of the kept polygons, one after another
    rings_each = np.diff(cut.polygons)
    ring = _ranges(cut.polygons[:-1][polygon], rings_each[polygon])
    points_each = np.diff(cut.rings)[ring]
    point = _ranges(cut.rings[:-1][ring], points_each)
    eye_of_point = np.repeat(np.repeat(which, rings_each[polygon]), points_each)
    offsets = np.concatenate([[0], np.cumsum(points_each)]), np.concatenate([[0], np.cumsum(rings_each[polygon])])
    shapes = shapely.from_ragged_array(shapely.GeometryType.POLYGON, plan[eye_of_point, point], offsets)
    return Casts(shapes, numbers[which], bodies.owner[cut.face[polygon]])


def _hulls(bodies: Bodies, cut: Cut, eyes: np.ndarray, height: float, extent: tuple[float, float]) -> Casts:
    """Cast convex bodies: the hull of the shadows of their corners."""
    if not len(cut.face):
        return _nothing()
    points, starts, owners = corners(cut, bodies.owner)
    plan = _projected(points, eyes, height)
    which, body = np.nonzero(_on_squares(plan, starts[:-1], extent))
    if not len(which):
        return _nothing()
    many = np.diff(starts)[body]
    point = _ranges(starts[:-1][body], many)
    runs = np.repeat(np.arange(len(many)), many)
    shapes = shapely.convex_hull(shapely.linestrings(plan[np.repeat(which, many), point], indices=runs))
    flat = (shapely.get_type_id(shapes) == 3) & (shapely.area(shapes) > AREA)
    return Casts(shapes[flat], which[flat], owners[body[flat]])


def _nothing() -> Casts:
    no = np.zeros(0, dtype=int)
    return Casts(np.zeros(0, dtype=object), no, no)


def _projected(points: np.ndarray, eyes: np.ndarray, height: float) -> np.ndarray:
    """Return where points, (n, 3), land on the plane for each eye, (s, n, 2) mm."""
    stretch = (eyes[:, 2:] - height) / (eyes[:, 2:] - points[None, :, 2])
    plan: np.ndarray = eyes[:, None, :2] + (points[None, :, :2] - eyes[:, None, :2]) * stretch[:, :, None]
    return plan


def _on_squares(plan: np.ndarray, starts: np.ndarray, extent: tuple[float, float]) -> np.ndarray:
    """Return whether the box round each run of points meets the squares, (s, runs)."""
    low = np.minimum.reduceat(plan, starts, axis=1)
    high = np.maximum.reduceat(plan, starts, axis=1)
    near: np.ndarray = np.all((high > 0.0) & (low < np.array(extent)), axis=2)
    return near


def _ranges(starts: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """Return start, start + 1, ... of each run one after another."""
    return np.arange(int(counts.sum())) + np.repeat(starts - (np.cumsum(counts) - counts), counts)


def _rows(shapes: np.ndarray, label: np.ndarray, count: int) -> np.ndarray:
    """Return shapes sorted into rows by label, (count, m), filled with None."""
    order = np.argsort(label, kind="stable")
    label = label[order]
    many = np.bincount(label, minlength=count)
    rows = np.full((count, int(many.max(initial=0))), None, dtype=object)
    rows[label, _ranges(np.zeros(count, dtype=int), many)] = shapes[order]
    return rows


def united(rows: np.ndarray) -> np.ndarray:
    """Return the union of each row of polygons, (n, m) with None where there is none, as (n,)."""
    if not rows.shape[1]:
        return np.full(len(rows), shapely.Polygon(), dtype=object)
    try:
        joined: np.ndarray = shapely.union_all(rows, axis=1)
    except shapely.errors.GEOSException:
        # edges that nearly coincide may be more than floating point can order
        joined = np.array([_united(row) for row in rows], dtype=object)
    return joined


def _united(row: np.ndarray) -> object:
    try:
        return shapely.union_all(row)
    except shapely.errors.GEOSException:
        return shapely.union_all(shapely.make_valid(row), grid_size=_GRID)
