"""Roofs as envelopes of sloping planes, made without any roof code of the product: faces and wall tops over a plan.

A hood is a convex domain under the lowest of some planes: a gable is two planes, a hip over a rectangle four, a
gambrel four, a spire one per side. A roof is the highest of its hoods; where two hoods meet there is a valley.
Over a right-angled plan, the roof with equal pitches rises with the distance to the nearest wall as a square grows,
and that distance is the greatest over the largest rectangles in the plan: one hood of four planes for each of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

__all__ = ["Hood", "Roof", "eave_plane", "gable_hood", "grown", "hip_hoods", "largest_rectangles", "plane_hood"]

Point = tuple[float, float, float]

#: Shapely lays corners on a grid of this, mm: far below single precision, far above the rounding of its overlays.
_GRID = 1e-7

#: Corners nearer than this are one corner, mm: above the grid, below what Blender stores.
SAME = 1e-5

#: Cells smaller than this are leavings of rounding, mm^2.
_SLIVER = 1e-2

#: Domains are cut to the box round the plan and this beside it, mm, so that overlays deal with sizes that are alike.
_BESIDE = 7.3

#: Half the side of a square that holds every building, mm.
_ALL = 5_000.0


@dataclass(frozen=True, eq=False)
class Hood:
    """The lowest of planes over a convex domain.

    domain: (k, 2) mm, counter-clockwise; planes: (m, 3) as z = ax + by + c.
    """

    domain: np.ndarray
    planes: np.ndarray


@dataclass(frozen=True, eq=False)
class Roof:
    """The highest of its hoods."""

    hoods: tuple[Hood, ...]

    def faces(self, ground: Polygon) -> list[tuple[Point, ...]]:
        """Return the roof's faces over a plan, counter-clockwise seen from above."""
        return [_raised(cell, plane) for plane, cell in self._cells(ground)]

    def tops(self, plan: np.ndarray) -> list[list[Point]]:
        """Return, per side of a plan (k, 2), the roof's line over it from corner to corner, bends included."""
        faces = self.faces(Polygon(plan))
        corners = np.array([corner for face in faces for corner in face])
        return [_line_over(corners, start, end) for start, end in zip(plan, np.roll(plan, -1, axis=0), strict=True)]

    def _cells(self, ground: Polygon) -> list[tuple[np.ndarray, Polygon]]:
        found: dict[tuple[float, ...], tuple[np.ndarray, list[Polygon]]] = {}
        around = _box_round(ground)
        hoods = [Hood(_clip(hood.domain, around), hood.planes) for hood in self.hoods]
        for hood in hoods:
            for plane in hood.planes:
                ring = _clip(hood.domain, (other - plane for other in hood.planes if other is not plane))
                if len(ring) < 3:
                    continue
                cell = shapely.intersection(Polygon(ring), ground, grid_size=_GRID)
                for other in hoods:
                    higher = _clip(other.domain, (rival - plane for rival in other.planes))
                    if other is not hood and len(higher) >= 3 and not _has(other, plane):
                        cell = shapely.difference(cell, Polygon(higher), grid_size=_GRID)
                key = tuple((np.round(plane, 6) + 0.0).tolist())
                found.setdefault(key, (plane, []))[1].append(cell)
        cells = []
        for plane, pieces in found.values():
            whole = shapely.union_all(pieces, grid_size=_GRID)
            parts = [part for part in shapely.get_parts(whole) if part.geom_type == "Polygon" and part.area > _SLIVER]
            cells += [(plane, orient(part)) for part in parts]
        missing = abs(sum(cell.area for _, cell in cells) - ground.area)
        if missing > _SLIVER:
            raise ArithmeticError(f"the faces of a drawn roof are off its plan by {missing:.3g} mm^2")
        return cells


def _box_round(ground: Polygon) -> list[np.ndarray]:
    """Return the four half-planes of the box round a plan, a little larger, as lines for ``_clip``."""
    x0, y0, x1, y1 = ground.buffer(_BESIDE).bounds
    return [np.array(line) for line in ((1.0, 0.0, -x0), (-1.0, 0.0, x1), (0.0, 1.0, -y0), (0.0, -1.0, y1))]


def _has(hood: Hood, plane: np.ndarray) -> bool:
    """Whether a plane is one of a hood's, so that the hood is nowhere higher than it."""
    return bool((np.abs(hood.planes - plane).max(axis=1) < _GRID).any())


def _clip(ring: np.ndarray, lines: Iterable[np.ndarray]) -> np.ndarray:
    """Return the part of a convex ring where all of ax + by + c >= 0, (k, 2); by Sutherland and Hodgman."""
    for a, b, c in lines:
        if len(ring) == 0:
            break
        above = ring @ (a, b) + c
        kept = []
        for k in range(len(ring)):
            here, there, now, then = ring[k - 1], ring[k], above[k - 1], above[k]
            if (now >= 0.0) != (then >= 0.0):
                kept.append(here + (there - here) * now / (now - then))
            if then >= 0.0:
                kept.append(there)
        ring = np.array(kept).reshape(-1, 2)
        ring = ring[np.abs(ring - np.roll(ring, 1, axis=0)).max(axis=1) > _GRID]
    if len(ring) < 3 or Polygon(ring).area < _SLIVER:
        return np.zeros((0, 2))
    return ring


def _raised(cell: Polygon, plane: np.ndarray) -> tuple[Point, ...]:
    ring = np.array(cell.exterior.coords)[:-1]
    ring = ring[np.abs(ring - np.roll(ring, 1, axis=0)).max(axis=1) > SAME]
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turns = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    # corners that an overlay left on a straight side are none; the mesh gets back those that it shares
    ring = ring[turns > SAME * np.maximum(np.hypot(*before.T), np.hypot(*after.T))]
    heights = ring @ plane[:2] + plane[2]
    return tuple((float(x), float(y), float(z)) for (x, y), z in zip(ring, heights, strict=True))


def _line_over(corners: np.ndarray, start: np.ndarray, end: np.ndarray) -> list[Point]:
    """Return the corners of faces that lie over a side of the plan, each once, from its start to its end."""
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    way = (corners[:, :2] - start) @ along
    off = np.abs((corners[:, :2] - start) @ (-along[1], along[0]))
    line: list[tuple[float, Point]] = []
    for k in np.argsort(way, kind="stable"):
        near = off[k] < SAME and -SAME < way[k] < length + SAME
        if near and (not line or way[k] - line[-1][0] > SAME):
            x, y, z = corners[k].tolist()
            line.append((float(way[k]), (x, y, z)))
    return _straightened([point for _, point in line])


def _straightened(line: list[Point]) -> list[Point]:
    """Leave out points that lie on the line between their neighbours."""
    kept = line[:1]
    for here, after in pairwise(line[1:]):
        before = np.array(kept[-1])
        one, two = np.array(here) - before, np.array(after) - before
        if np.linalg.norm(np.cross(one, two)) > SAME * np.linalg.norm(two):
            kept.append(here)
    return [*kept, *line[1:][-1:]]


# -- planes and hoods ------------------------------------------------------------------------------


def eave_plane(start: Sequence[float], end: Sequence[float], height: float, slope: float) -> np.ndarray:
    """Return the plane that rises by ``slope`` to the left of a line in plan at ``height``, (3,)."""
    (x, y), (u, v) = start, end
    length = float(np.hypot(u - x, v - y))
    inward = np.array([-(v - y), u - x]) / length
    return np.array([*(slope * inward), height - slope * float(inward @ (x, y))])


def plane_hood(planes: Sequence[np.ndarray], domain: np.ndarray | None = None) -> Hood:
    """Return a hood of planes, everywhere unless a domain is given."""
    everywhere = np.array([(-_ALL, -_ALL), (_ALL, -_ALL), (_ALL, _ALL), (-_ALL, _ALL)])
    return Hood(everywhere if domain is None else domain, np.array(planes))


def gable_hood(low: Sequence[float], high: Sequence[float], height: float, slope: float, *, upright: bool) -> Hood:
    """Return two planes over a rectangle from ``low`` to ``high`` in plan; ``upright``: the ridge runs along y.

    The domain is the rectangle; the planes rise from its long sides, or along y.
    """
    (x0, y0), (x1, y1) = low, high
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    sides = ((1, 2), (3, 0)) if upright else ((0, 1), (2, 3))
    return Hood(np.array(corners), np.array([eave_plane(corners[a], corners[b], height, slope) for a, b in sides]))


def largest_rectangles(plan: Polygon) -> list[tuple[float, float, float, float]]:
    """Return the rectangles in a right-angled plan that lie in no larger one, as (x0, y0, x1, y1)."""
    corners = np.array(plan.exterior.coords)[:-1]
    xs, ys = sorted(set(corners[:, 0].tolist())), sorted(set(corners[:, 1].tolist()))
    inside = [
        (x0, y0, x1, y1)
        for (x0, x1), (y0, y1) in product(combinations(xs, 2), combinations(ys, 2))
        if plan.covers(box(x0, y0, x1, y1))
    ]
    return [one for one in inside if not any(two != one and box(*two).covers(box(*one)) for two in inside)]


def hip_hoods(plan: Polygon, height: float, slope: float) -> tuple[Hood, ...]:
    """Return the hoods of the roof with one pitch that rises from every side of a right-angled plan at ``height``."""
    hoods = []
    for x0, y0, x1, y1 in largest_rectangles(plan):
        corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
        sides = zip(corners, [*corners[1:], corners[0]], strict=True)
        hoods.append(Hood(np.array(corners), np.array([eave_plane(a, b, height, slope) for a, b in sides])))
    return tuple(hoods)


def grown(plan: np.ndarray, overhang: float) -> Polygon:
    """Return a plan whose sides lie farther out by ``overhang``, mm, with sharp corners."""
    if overhang <= 0.0:
        return Polygon(plan)
    return orient(Polygon(plan).buffer(overhang, join_style="mitre", mitre_limit=10.0))
