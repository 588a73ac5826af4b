"""The underside of a roof as a surface: planar faces that share their points, and its height over any wall."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import shapely
from shapely.geometry import LineString, Polygon

from ..errors import BadSettingError
from ..tolerance import LENGTH, SNAP
from .loops import Directed, border_of, trace_loops
from .outline import Corner

__all__ = ["Patch", "Plane", "RoofSurface", "highest_of", "highest_roof_of", "join", "lowest_of"]

#: a, b, c of the height a x + b y + c.
Plane = tuple[float, float, float]
Point = tuple[float, float, float]


def height_on(plane: Plane, x: float, y: float) -> float:
    """Return the height of a plane over a point of the plan, mm."""
    return plane[0] * x + plane[1] * y + plane[2]


@dataclass(frozen=True, slots=True)
class Patch:
    """A piece of a plane over a ring of the plan, corners in mm, counter-clockwise."""

    ring: tuple[Corner, ...]
    plane: Plane


@dataclass(frozen=True, slots=True)
class RoofSurface:
    """points: (x, y, z) mm. faces: rings of point numbers, counter-clockwise from above; planes: one for every face."""

    points: tuple[Point, ...]
    faces: tuple[tuple[int, ...], ...]
    planes: tuple[Plane, ...]

    def profile(self, start: Corner, end: Corner) -> tuple[tuple[float, float], ...]:
        """Return the underside over a wall as (along it, height) from start to end, mm, where it bends.

        Raises BadSettingError where there is no roof over some of it.
        """
        length = math.dist(start, end)
        stops = [0.0]
        for s in sorted(self._crossings(start, end)):
            if LENGTH < s < length - LENGTH and s - stops[-1] > LENGTH:
                stops.append(s)
        stops.append(length)

        def at(s: float) -> Corner:
            return start[0] + (end[0] - start[0]) * s / length, start[1] + (end[1] - start[1]) * s / length

        heights: list[tuple[float, float]] = []
        for low, high in pairwise(stops):
            plane = self._plane_over(at((low + high) / 2.0))
            ends = [(s, height_on(plane, *at(s))) for s in (low, high)]
            heights += ends if not heights else ends[1:]
        bends = [
            here
            for before, here, after in zip(heights, heights[1:], heights[2:], strict=False)
            if abs(_between(before, after, here[0]) - here[1]) > LENGTH
        ]
        return (heights[0], *bends, heights[-1])

    def _crossings(self, start: Corner, end: Corner) -> Iterable[float]:
        """Yield how far along a wall, mm, the lines of the roof cross it."""
        length = math.dist(start, end)
        u = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)

        def local(point: Point) -> Corner:
            x, y = point[0] - start[0], point[1] - start[1]
            return x * u[0] + y * u[1], y * u[0] - x * u[1]

        for face in self.faces:
            for a, b in zip(face, (*face[1:], face[0]), strict=True):
                (s, off), (t, away) = local(self.points[a]), local(self.points[b])
                if min(off, away) <= LENGTH and max(off, away) >= -LENGTH:
                    flat = abs(away - off) < LENGTH
                    yield from (s, t) if flat else (s + (t - s) * min(max(off / (off - away), 0.0), 1.0),)

    def _plane_over(self, spot: Corner) -> Plane:
        """Return the plane over a point of the plan."""
        for face, plane in zip(self.faces, self.planes, strict=True):
            if shapely.intersects_xy(Polygon([self.points[k][:2] for k in face]), *spot):
                return plane
        raise BadSettingError(f"The roof leaves the wall open at ({spot[0]:g}, {spot[1]:g}) mm; choose another roof")


def _between(before: tuple[float, float], after: tuple[float, float], s: float) -> float:
    """Return the height on the straight line between two points of a profile."""
    return before[1] + (after[1] - before[1]) * (s - before[0]) / (after[0] - before[0])


def join(patches: Sequence[Patch]) -> RoofSurface:
    """Return a surface from patches that touch along whole edges; those of one plane that touch become one face.

    Faces keep the order of the first patch of their plane, and start where it starts.
    """
    corners: list[Corner] = []
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)

    def number(corner: Corner) -> int:
        cell = (math.floor(corner[0]), math.floor(corner[1]))
        near = [(cell[0] + i, cell[1] + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
        known = next((k for c in near for k in cells.get(c, ()) if math.dist(corners[k], corner) < LENGTH), None)
        if known is None:
            known = len(corners)
            corners.append(corner)
            cells[cell].append(known)
        return known

    planes: list[Plane] = []
    edges: list[list[Directed]] = []
    for patch in patches:
        ring = [number(corner) for corner in patch.ring]
        same = next((k for k, plane in enumerate(planes) if _is_same(plane, patch.plane, patch.ring)), None)
        if same is None:
            same = len(planes)
            planes.append(patch.plane)
            edges.append([])
        edges[same] += [pair for pair in zip(ring, [*ring[1:], ring[0]], strict=True) if pair[0] != pair[1]]
    faces: list[tuple[list[int], Plane]] = []
    for plane, mine in zip(planes, edges, strict=True):
        left = border_of(mine)
        faces += [([left[k][0] for k in loop], plane) for loop in trace_loops(left, corners)]
    return _without_spares(corners, faces)


def _is_same(one: Plane, other: Plane, ring: Sequence[Corner]) -> bool:
    """Return whether two planes are the same over a ring."""
    return all(abs(height_on(one, *corner) - height_on(other, *corner)) < LENGTH for corner in ring)


def _without_spares(corners: Sequence[Corner], faces: Sequence[tuple[list[int], Plane]]) -> RoofSurface:
    """Return the surface without points at which no face has a corner.

    Raises BadSettingError where faces that share a point would lie one above the other there.
    """
    needed = set()
    heights: dict[int, float] = {}
    for ring, plane in faces:
        for k in range(len(ring)):
            a, b, c = (corners[ring[j % len(ring)]] for j in (k - 1, k, k + 1))
            away = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
            if abs(away) > LENGTH * math.dist(a, c):
                needed.add(ring[k])
            z = height_on(plane, *b)
            if abs(heights.setdefault(ring[k], z) - z) > SNAP:
                raise BadSettingError(f"Two slopes would part at ({b[0]:g}, {b[1]:g}) mm; choose another roof")
    order: dict[int, int] = {}
    points: list[Point] = []
    rings = []
    for ring, plane in faces:
        for k in ring:
            if k in needed and k not in order:
                order[k] = len(points)
                points.append((*corners[k], height_on(plane, *corners[k])))
        rings.append(tuple(order[k] for k in ring if k in needed))
    return RoofSurface(tuple(points), tuple(rings), tuple(plane for _, plane in faces))


# -- surfaces from planes that cross ---------------------------------------------------------------


def lowest_of(outline: Sequence[Corner], planes: Sequence[Plane]) -> RoofSurface:
    """Return the lowest of several planes over an outline, as the slopes of a roof over a convex plan are."""
    return highest_roof_of(outline, [planes])


def highest_roof_of(outline: Sequence[Corner], roofs: Sequence[Sequence[Plane]]) -> RoofSurface:
    """Return the highest of several roofs over an outline, each the lowest of its planes."""

    def highest(x: float, y: float) -> Plane:
        lowest = [min(planes, key=lambda plane: height_on(plane, x, y)) for planes in roofs]
        return max(lowest, key=lambda plane: height_on(plane, x, y))

    return join(_patches(outline, [], [plane for planes in roofs for plane in planes], highest))


def highest_of(outline: Sequence[Corner], patches: Sequence[Patch]) -> RoofSurface:
    """Return the highest of patches that overlap one another and together cover an outline."""
    areas = [Polygon(patch.ring) for patch in patches]

    def highest(x: float, y: float) -> Plane:
        over = [patch.plane for patch, area in zip(patches, areas, strict=True) if shapely.intersects_xy(area, x, y)]
        return max(over, key=lambda plane: height_on(plane, x, y))

    return join(_patches(outline, [patch.ring for patch in patches], [patch.plane for patch in patches], highest))


def _patches(
    outline: Sequence[Corner],
    rings: Sequence[Sequence[Corner]],
    planes: Sequence[Plane],
    choose: Callable[[float, float], Plane],
) -> list[Patch]:
    """Part an outline along the rings and where planes cross, and give every part the plane that is chosen for it."""
    area = Polygon(outline)
    x0, y0, x1, y1 = area.bounds
    reach = math.hypot(x1 - x0, y1 - y0)
    middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    lines = [area.exterior, *(Polygon(ring).exterior for ring in rings)]
    for one, other in combinations(planes, 2):
        a, b, c = (p - q for p, q in zip(one, other, strict=True))
        size = math.hypot(a, b)
        if size > LENGTH:
            off = (a * middle[0] + b * middle[1] + c) / size
            foot = (middle[0] - a / size * off, middle[1] - b / size * off)
            way = (-b / size * reach, a / size * reach)
            lines.append(LineString([(foot[0] - way[0], foot[1] - way[1]), (foot[0] + way[0], foot[1] + way[1])]))
    patches = []
    for cell in shapely.polygonize([shapely.unary_union(lines)]).geoms:
        spot = cell.representative_point()
        if cell.area > LENGTH * reach and shapely.contains_xy(area, spot.x, spot.y):
            ring = tuple(shapely.geometry.polygon.orient(cell).exterior.coords)[:-1]
            patches.append(Patch(ring, choose(spot.x, spot.y)))
    return sorted(patches, key=lambda patch: planes.index(patch.plane))
