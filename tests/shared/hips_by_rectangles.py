"""Hip roofs of one pitch over right-angled plans, without a skeleton: the highest of the hips over all rectangles.

A point of such a roof lies as high as its distance from the rim, measured by the larger of both coordinates. That
distance is the largest one inside any rectangle that fits into the plan, so the roof is the highest of their hips.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient
from stowfold.geometry.solid.solid import Solid, make_solid

Point = tuple[float, float, float]
Corner = tuple[float, float]

#: A slope: its height over the rim is (x, y) @ (first, second) - third, before the pitch.
Slope = tuple[float, float, float]

PLANS: dict[str, Sequence[Corner]] = {
    "rectangle": [(0, 0), (150, 0), (150, 100), (0, 100)],
    "L": [(0, 0), (200, 0), (200, 90), (110, 90), (110, 160), (0, 160)],
    "T": [(0, 0), (220, 0), (220, 80), (150, 80), (150, 170), (70, 170), (70, 80), (0, 80)],
    "U": [(0, 0), (240, 0), (240, 160), (160, 160), (160, 80), (80, 80), (80, 160), (0, 160)],
    "Z": [(0, 0), (130, 0), (130, 70), (220, 70), (220, 150), (80, 150), (80, 80), (0, 80)],
}


def house(plan: Sequence[Corner], *, height: float = 60.0, pitch: float = 0.75, overhang: float = 6.0) -> Solid:
    """Return walls under a hip roof with eaves, both unmarked, in mm; pitch: rise over run."""
    points: list[Point] = [(x, y, z) for x, y in plan for z in (0.0, height)]
    count = len(plan)
    faces = [(2 * k, 2 * ((k + 1) % count), 2 * ((k + 1) % count) + 1, 2 * k + 1) for k in range(count)]
    known: dict[tuple[int, int, int], int] = {}
    for slope in hip_faces(plan, height=height, pitch=pitch, overhang=overhang):
        face = []
        for point in slope:
            key = (round(point[0] * 100), round(point[1] * 100), round(point[2] * 100))
            if key not in known:
                known[key] = len(points)
                points.append(point)
            face.append(known[key])
        faces.append(tuple(face))
    return make_solid(points, faces, roles={})


def hip_faces(plan: Sequence[Corner], *, height: float, pitch: float, overhang: float) -> list[list[Point]]:
    """Return the slopes of the roof, counter-clockwise from above, in mm."""
    rim = orient(Polygon(plan).buffer(overhang, join_style="mitre"))
    hips = [_hips(rectangle) for rectangle in _largest_rectangles(rim)]
    shown: dict[Slope, list[Polygon]] = defaultdict(list)
    for own, hip in enumerate(hips):
        for slope, piece in hip:
            for other in (other for k, other in enumerate(hips) if k != own):
                for rival, where in other:
                    piece = piece.difference(_higher(piece.intersection(where), rival, slope))
            shown[slope].append(piece)
    base = height - pitch * overhang
    faces = []
    for slope, pieces in shown.items():
        for piece in shapely.get_parts(shapely.union_all(pieces, grid_size=1e-6).simplify(1e-5)):
            if piece.area > 1e-3:
                ring = np.array(orient(piece).exterior.coords)[:-1]
                faces.append([(float(x), float(y), float(base + pitch * _height(slope, x, y))) for x, y in ring])
    return faces


def _height(slope: Slope, x: float, y: float) -> float:
    return slope[0] * x + slope[1] * y - slope[2]


def _largest_rectangles(rim: Polygon) -> list[tuple[float, float, float, float]]:
    """Return the bounds of all rectangles in a plan that lie in no larger one."""
    xs, ys = (sorted({round(corner[axis], 6) for corner in rim.exterior.coords}) for axis in (0, 1))
    room = rim.buffer(1e-7)
    found = [
        (x0, y0, x1, y1)
        for x0, x1 in itertools.combinations(xs, 2)
        for y0, y1 in itertools.combinations(ys, 2)
        if room.contains(box(x0, y0, x1, y1))
    ]
    return [one for one in found if not any(one != two and box(*two).contains(box(*one)) for two in found)]


def _hips(bounds: tuple[float, float, float, float]) -> list[tuple[Slope, Polygon]]:
    """Return the four slopes over a rectangle with the plan of each."""
    x0, y0, x1, y1 = bounds
    half = min(x1 - x0, y1 - y0) / 2
    a, b, c, d = (x0 + half, y0 + half), (x1 - half, y0 + half), (x1 - half, y1 - half), (x0 + half, y1 - half)
    rings: list[tuple[Slope, list[Corner]]] = [
        ((0.0, 1.0, y0), [(x0, y0), (x1, y0), b, a]),
        ((0.0, -1.0, -y1), [(x1, y1), (x0, y1), d, c]),
        ((1.0, 0.0, x0), [(x0, y1), (x0, y0), a, d]),
        ((-1.0, 0.0, -x1), [(x1, y0), (x1, y1), c, b]),
    ]
    return [(slope, Polygon(ring).buffer(0)) for slope, ring in rings]


def _higher(region: shapely.Geometry, rival: Slope, slope: Slope) -> shapely.Geometry:
    """Return where in a region another slope lies higher."""
    (x, y), level = np.subtract(rival[:2], slope[:2]), rival[2] - slope[2]
    size = float(np.hypot(x, y))
    if size == 0.0:
        return region if level < 0.0 else Polygon()
    ahead = np.array([x, y]) / size
    foot, aside, far = ahead * level / size, np.array([-ahead[1], ahead[0]]), 2000.0
    corners = [
        foot + aside * far,
        foot - aside * far,
        foot - aside * far + ahead * far,
        foot + aside * far + ahead * far,
    ]
    return region.intersection(Polygon(corners))
