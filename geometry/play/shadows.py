"""Shadows: what blockers hide on a level plane from each eye, exact on the squares.

Seen from an eye at height e, a point at height z goes to the plane at h along the line of sight, which
scales its distance from the eye by (e - h) / (e - z). That maps the plane of a face onto the plane h with
straight edges kept straight, so the shadow of a polygon with holes is a polygon with holes; the hidden
region is the union of all shadows. Of a body the faces that look at the eye are enough, of a convex one the
convex hull of its corners.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..tolerance import AREA, LENGTH
from .bodies import Bodies, Cut, corners

__all__ = ["Shadows", "cast_shadows", "united"]

#: Overlays that fail in floating point are repeated on this grid, mm; shares then err by 4e-8 at most.
_GRID = 1e-6

#: Shadows are exact within this many times the distance from the eye to the farthest corner of the squares.
_REACH = 2.0

#: Faces that reach this near to an eye's height, as a share of it, are measured from the eye one by one.
_NEAR = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class Shadows:
    """Single shadows: polygons, (k,), with the eye, the height and the blocker of each; none is off the squares.

    shape: numbers of eyes, heights and blockers.
    """

    polygons: np.ndarray
    eye: np.ndarray
    height: np.ndarray
    owner: np.ndarray
    shape: tuple[int, int, int]

    def union(self) -> np.ndarray:
        """Return the union of all shadows per eye and height, (eyes, heights)."""
        eyes, heights, _ = self.shape
        return united(_rows(self.polygons, self.eye * heights + self.height, eyes * heights)).reshape(eyes, heights)

    def by_blocker(self) -> np.ndarray:
        """Return the union of the shadows per eye, height and blocker, (eyes, heights, blockers)."""
        label = (self.eye * self.shape[1] + self.height) * self.shape[2] + self.owner
        return united(_rows(self.polygons, label, int(np.prod(self.shape)))).reshape(self.shape)


def cast_shadows(bodies: Bodies, eyes: np.ndarray, heights: Sequence[float], extent: tuple[float, float]) -> Shadows:
    """Cast the shadows of all bodies for all eyes on the planes at ``heights``.

    eyes: (s, 3) mm in the frame of the squares, all above the planes and outside the bodies. extent: (width,
    depth) of the squares, mm; shadows that reach none of them are left out, the others are right on all of them.
    """
    levels = np.asarray(heights, dtype=float)
    high = _ceilings(bodies, eyes, levels, extent)
    tall = (bodies.level[:, 1] > high).any(axis=(0, 1))
    of_tall = np.zeros(len(bodies.names), dtype=bool)
    of_tall[bodies.owner[tall]] = True
    hull = (bodies.convex & ~of_tall)[bodies.owner]
    caster = _Caster(bodies, levels, extent)
    everyone = np.arange(len(eyes))
    found = [
        caster.faces(np.flatnonzero(~tall & ~hull), eyes, everyone),
        caster.hulls(np.flatnonzero(hull), eyes, everyone),
    ]
    # what rises to an eye is cut lower or higher for each of them
    ids = np.flatnonzero(tall)
    for k in everyone.tolist() if len(ids) else ():
        found.append(caster.faces(ids, eyes[k : k + 1], everyone[k : k + 1], high[k][:, ids]))
    shadows, eye, height, owner = (np.concatenate(column) for column in zip(*found, strict=True))
    return Shadows(shadows, eye, height, owner, (len(eyes), len(levels), len(bodies.names)))


def _ceilings(bodies: Bodies, eyes: np.ndarray, levels: np.ndarray, extent: tuple[float, float]) -> np.ndarray:
    """Return below which height each face is to be cut so that no shadow runs to infinity, (eyes, heights, faces) mm.

    What is cut away casts its shadow beyond the reach: at drop d under the eye a point at level distance a lands
    at a (e - h) / d.
    """
    edge = np.array([[0.0, 0.0], [extent[0], 0.0], [0.0, extent[1]], extent])
    reach = _REACH * np.linalg.norm(eyes[:, None, :2] - edge, axis=2).max(axis=1)
    drop = eyes[:, 2:] - levels
    level = np.hypot(bodies.normal[:, 0], bodies.normal[:, 1])
    # level distance from the eye to the line in which the face's plane lies as high as the eye
    to_plane = np.abs(eyes @ bodies.normal.T - np.einsum("ij,ij->i", bodies.origin, bodies.normal))
    steep = level > LENGTH
    slant = np.where(steep, level, 1.0)
    # a slanting face comes nearer below that line
    lean = np.abs(bodies.normal[:, 2]) / slant
    lost = (to_plane / slant)[:, None] * drop[..., None] / (reach[:, None, None] + lean * drop[..., None])
    ceiling = eyes[:, 2, None, None] - np.where(steep, lost, LENGTH)
    near = (bodies.level[:, 1] > eyes[:, 2:] * (1.0 - _NEAR)) & (bodies.level[:, 0] < eyes[:, 2:])
    for k, face in zip(*np.nonzero(near), strict=True):
        distance = _plan_distance(bodies, int(face), eyes[k, :2])
        ceiling[k, :, face] = np.minimum(ceiling[k, :, face], eyes[k, 2] - distance * drop[k] / reach[k])
    return ceiling


def _plan_distance(bodies: Bodies, face: int, eye: np.ndarray) -> float:
    """Return the level distance from an eye to a face's plan, mm."""
    shape = bodies.shapes[face]
    flat = shapely.get_coordinates(shape.exterior)
    plan = bodies.origin[face, :2] + flat[:, :1] * bodies.across[face, :2] + flat[:, 1:] * bodies.up[face, :2]
    upright = abs(float(bodies.normal[face, 2])) < LENGTH
    hull = shapely.convex_hull(shapely.multipoints(plan)) if upright else shapely.Polygon(plan)
    return float(shapely.distance(hull, shapely.Point(eye)))


#: Shadows as they are cast, with the eye, the height and the blocker of each.
_Found = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]


class _Caster:
    """Casts faces or whole convex bodies on all planes at once."""

    def __init__(self, bodies: Bodies, levels: np.ndarray, extent: tuple[float, float]) -> None:
        self.bodies = bodies
        self.levels = levels
        self.extent = extent

    def cut(self, ids: np.ndarray, high: np.ndarray | None) -> tuple[Cut, np.ndarray, np.ndarray]:
        """Return the faces named by index cut at every height, with the face and the height of each polygon."""
        count = len(self.levels)
        faces, height = np.tile(ids, count), np.repeat(np.arange(count), len(ids))
        cut = self.bodies.cut(faces, self.levels[height], np.inf if high is None else high.reshape(-1))
        return cut, faces[cut.item], height[cut.item]

    def faces(self, ids: np.ndarray, eyes: np.ndarray, numbers: np.ndarray, high: np.ndarray | None = None) -> _Found:
        """Cast faces one by one: of bodies those that look at the eye, of sheets all but those seen edge-on."""
        cut, face, height = self.cut(ids, high)
        if not len(face):
            return _nothing()
        plan = _projected(cut.points, eyes, self.levels[cut.spread(height)])
        turn = np.zeros(plan.shape[:2])
        turn[:, :-1] = plan[:, :-1, 0] * plan[:, 1:, 1] - plan[:, 1:, 0] * plan[:, :-1, 1]
        turn[:, cut.rings[1:] - 1] = 0.0
        starts = cut.rings[cut.polygons[:-1]]
        area = np.add.reduceat(turn, starts, axis=1) / 2.0
        seen = np.where(self.bodies.solid[face], area, np.abs(area)) > AREA
        seen &= _on_squares(plan, starts, self.extent)
        which, polygon = np.nonzero(seen)
        if not len(which):
            return _nothing()
        # the arrays of the kept polygons, one after another
        rings_each = np.diff(cut.polygons)[polygon]
        ring = _ranges(cut.polygons[:-1][polygon], rings_each)
        points_each = np.diff(cut.rings)[ring]
        point = _ranges(cut.rings[:-1][ring], points_each)
        eye = np.repeat(np.repeat(which, rings_each), points_each)
        offsets = tuple(np.concatenate([[0], np.cumsum(counts)]) for counts in (points_each, rings_each))
        shadows = shapely.from_ragged_array(shapely.GeometryType.POLYGON, plan[eye, point], offsets)
        return shadows, numbers[which], height[polygon], self.bodies.owner[face[polygon]]

    def hulls(self, ids: np.ndarray, eyes: np.ndarray, numbers: np.ndarray) -> _Found:
        """Cast convex bodies: the hull of the shadows of their corners."""
        cut, face, height = self.cut(ids, None)
        if not len(face):
            return _nothing()
        blockers = len(self.bodies.names)
        points, starts, label = corners(cut, height * blockers + self.bodies.owner[face])
        height, owner = label // blockers, label % blockers
        plan = _projected(points, eyes, np.repeat(self.levels[height], np.diff(starts)))
        which, body = np.nonzero(_on_squares(plan, starts[:-1], self.extent))
        if not len(which):
            return _nothing()
        many = np.diff(starts)[body]
        point = _ranges(starts[:-1][body], many)
        runs = np.repeat(np.arange(len(many)), many)
        shadows = shapely.convex_hull(shapely.linestrings(plan[np.repeat(which, many), point], indices=runs))
        flat = (shapely.get_type_id(shadows) == 3) & (shapely.area(shadows) > AREA)
        which, body = which[flat], body[flat]
        return shadows[flat], numbers[which], height[body], owner[body]


def _nothing() -> _Found:
    no = np.zeros(0, dtype=int)
    return np.zeros(0, dtype=object), no, no, no


def _projected(points: np.ndarray, eyes: np.ndarray, levels: np.ndarray) -> np.ndarray:
    """Return where points, (n, 3), land on the plane of each, (n,), for each eye, (s, n, 2) mm."""
    stretch = (eyes[:, 2:] - levels) / (eyes[:, 2:] - points[:, 2])
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
