"""Plans and roofs drawn by chance: rings of corners, and what lies over them, as plain points in millimetres.

A roof is a function of its plan, so that walls and a roof of its own, which reaches farther, lie in the same planes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiPoint, Polygon
from shapely.geometry.polygon import orient

__all__ = ["PLANS", "ROOFS", "Cap", "cap_over", "draw_plan", "roofs_over"]

Point = tuple[float, float, float]
Chance = np.random.Generator

#: Sides of a plan's box, mm: from a shed of two squares to the longest hall that a table takes.
_LEAST, _MOST = 60.0, 300.0


@dataclass(frozen=True)
class Cap:
    """What lies over a ring: the points of its rim in order, some of them between corners, and its faces."""

    rim: tuple[Point, ...]
    faces: tuple[tuple[Point, ...], ...]


# -- plans -----------------------------------------------------------------------------------------


def draw_plan(kind: str, chance: Chance) -> np.ndarray:
    """Return the corners of a plan, (k, 2) mm, counter-clockwise."""
    ring = PLANS[kind](chance)
    return np.array(orient(Polygon(ring)).exterior.coords)[:-1]


def _box(chance: Chance) -> tuple[float, float]:
    return float(chance.uniform(_LEAST, _MOST)), float(chance.uniform(_LEAST, _MOST))


def _convex(chance: Chance) -> np.ndarray:
    length, width = _box(chance)
    while True:
        turns = np.sort(chance.uniform(0.0, 2.0 * np.pi, int(chance.integers(3, 13))))
        hull = MultiPoint(np.column_stack([np.cos(turns) * length, np.sin(turns) * width]) / 2.0).convex_hull
        if hull.geom_type == "Polygon" and hull.area > 0.1 * length * width:
            return np.array(hull.exterior.coords)[:-1]


def _star(chance: Chance) -> np.ndarray:
    """Corners round a middle at distances of their own, so that some of them point inward."""
    length, width = _box(chance)
    count = int(chance.integers(5, 13))
    turns = (np.arange(count) + chance.uniform(-0.3, 0.3, count)) * 2.0 * np.pi / count
    reach = chance.uniform(0.45, 1.0, count)
    return np.column_stack([np.cos(turns) * length * reach, np.sin(turns) * width * reach]) / 2.0


def _right_angled(chance: Chance) -> np.ndarray:
    """A rectangle with up to two of its corners cut out in rectangles: four, six or eight corners."""
    length, width = _box(chance)
    ring: list[tuple[float, float]] = []
    corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    cut = set(chance.permutation(4)[: int(chance.integers(0, 3))].tolist())
    for k, (x, y) in enumerate(corners):
        if k not in cut:
            ring.append((x, y))
            continue
        a, b = chance.uniform(0.15, 0.45, 2) * (length, width)
        inner = (x + (a if x == 0.0 else -a), y + (b if y == 0.0 else -b))
        before, after = ((x, inner[1]), (inner[0], y)), ((inner[0], y), (x, inner[1]))
        first, last = before if k % 2 == 0 else after
        ring += [first, inner, last]
    return np.array(ring)


def _thin(chance: Chance) -> np.ndarray:
    length, width = float(chance.uniform(_LEAST, _MOST)), float(chance.uniform(8.0, 40.0))
    lean = float(chance.choice([0.0, chance.uniform(-0.5, 0.5)])) * width
    return np.array([(0.0, 0.0), (length, 0.0), (length + lean, width), (lean, width)])


def _nearly_square(chance: Chance) -> np.ndarray:
    """A square whose corners lie off by up to far less than a board or up to a millimetre."""
    side = float(chance.uniform(_LEAST, _MOST))
    off = float(10.0 ** chance.uniform(-6.0, 0.0))
    square = np.array([(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)])
    return square + chance.uniform(-off, off, (4, 2))


def _rectangle(chance: Chance) -> np.ndarray:
    length, width = _box(chance)
    return np.array([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)])


PLANS: Mapping[str, Callable[[Chance], np.ndarray]] = {
    "convex": _convex,
    "star": _star,
    "right-angled": _right_angled,
    "thin": _thin,
    "nearly-square": _nearly_square,
    "rectangle": _rectangle,
}


# -- roofs -----------------------------------------------------------------------------------------


def roofs_over(kind: str, ring: np.ndarray) -> tuple[str, ...]:
    """Return the kinds of roof that can lie over a plan."""
    if kind == "rectangle":
        return tuple(ROOFS)
    hull = MultiPoint(ring).convex_hull.area
    convex = hull - Polygon(ring).area < 1e-9 * hull
    return tuple(name for name in ROOFS if name != "hip" and (convex or name in ("none", "lid", "lean-to")))


def cap_over(kind: str, ring: np.ndarray, height: float, chance: Chance) -> Callable[[float], Cap]:
    """Return a function from an overhang, mm, to what lies over the plan; 0 gives the tops of the walls.

    The planes are the same for every overhang and pass through the plan's rim at ``height`` at the least.
    """
    return ROOFS[kind](ring, height, chance)


def _grown(ring: np.ndarray, overhang: float) -> np.ndarray:
    if overhang <= 0.0:
        return ring
    grown = Polygon(ring).buffer(overhang, join_style="mitre", mitre_limit=3.0)
    return np.array(orient(grown).exterior.coords)[:-1]


def _raised(ring: np.ndarray, heights: np.ndarray | float) -> tuple[Point, ...]:
    z = np.broadcast_to(heights, len(ring))
    return tuple((float(x), float(y), float(h)) for (x, y), h in zip(ring, z, strict=True))


def _none(ring: np.ndarray, height: float, chance: Chance) -> Callable[[float], Cap]:
    return lambda overhang: Cap(_raised(ring, height), ())


def _lid(ring: np.ndarray, height: float, chance: Chance) -> Callable[[float], Cap]:
    def over(overhang: float) -> Cap:
        rim = _raised(_grown(ring, overhang), height)
        return Cap(rim, (rim,))

    return over


def _lean_to(ring: np.ndarray, height: float, chance: Chance) -> Callable[[float], Cap]:
    turn, slope = chance.uniform(0.0, 2.0 * np.pi), chance.uniform(0.05, 0.8)
    uphill = np.array([np.cos(turn), np.sin(turn)])
    low = float((ring @ uphill).min())

    def over(overhang: float) -> Cap:
        grown = _grown(ring, overhang)
        rim = _raised(grown, height + slope * (grown @ uphill - low))
        return Cap(rim, (rim,))

    return over


def _gable(ring: np.ndarray, height: float, chance: Chance) -> Callable[[float], Cap]:
    side = ring[1] - ring[0]
    along = side / np.hypot(*side)
    if chance.random() < 0.3:
        turn = chance.uniform(0.0, np.pi)
        along = np.array([np.cos(turn), np.sin(turn)])
    across = np.array([-along[1], along[0]])
    middle = float(((ring @ across).min() + (ring @ across).max()) / 2.0)
    slope, half = chance.uniform(0.2, 1.2), float(np.ptp(ring @ across)) / 2.0

    def over(overhang: float) -> Cap:
        grown = _grown(ring, overhang)
        off = grown @ across - middle
        points: list[np.ndarray] = []
        for k in range(len(grown)):
            points.append(grown[k])
            here, there = off[k], off[(k + 1) % len(grown)]
            if here * there < 0.0:
                points.append(grown[k] + (grown[(k + 1) % len(grown)] - grown[k]) * here / (here - there))
        rim_plan = np.array(points)
        away = rim_plan @ across - middle
        away[np.abs(away) < 1e-9] = 0.0
        rim = _raised(rim_plan, height + slope * (half - np.abs(away)))
        sides = [tuple(rim[i] for i in _run_of(away * sign >= 0.0)) for sign in (1.0, -1.0)]
        return Cap(rim, tuple(sides))

    return over


def _run_of(chosen: np.ndarray) -> list[int]:
    """Return the places of the one run of chosen points round a ring, in order."""
    count = len(chosen)
    first = next(k for k in range(count) if chosen[k] and not chosen[k - 1])
    run = []
    while chosen[first % count] and len(run) < count:
        run.append(first % count)
        first += 1
    return run


def _pyramid(ring: np.ndarray, height: float, chance: Chance) -> Callable[[float], Cap]:
    rise = float(chance.uniform(0.15, 1.0) * min(np.ptp(ring, axis=0)))
    middle = np.array(Polygon(ring).centroid.coords[0])

    def over(overhang: float) -> Cap:
        scale = 1.0 + overhang / _inner_reach(ring, middle)
        rim = _raised(middle + (ring - middle) * scale, height - (scale - 1.0) * rise)
        return Cap(rim, _tip(rim, (*middle.tolist(), height + rise)))

    return over


def _tip(rim: tuple[Point, ...], tip: Point) -> tuple[tuple[Point, ...], ...]:
    return tuple((rim[k], rim[(k + 1) % len(rim)], tip) for k in range(len(rim)))


def _inner_reach(ring: np.ndarray, middle: np.ndarray) -> float:
    return float(Polygon(ring).exterior.distance(MultiPoint([middle])))


def _hip(ring: np.ndarray, height: float, chance: Chance) -> Callable[[float], Cap]:
    """A hip over a rectangle along x and y; nearly square ones keep a short ridge."""
    slope = chance.uniform(0.2, 1.2)

    def over(overhang: float) -> Cap:
        x0, y0 = ring.min(axis=0) - overhang
        x1, y1 = ring.max(axis=0) + overhang
        rim = _raised(np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)]), height - slope * overhang)
        half = min(x1 - x0, y1 - y0) / 2.0
        top = height + slope * (half - overhang)
        a, b, c, d = rim
        if x1 - x0 >= y1 - y0:
            left, right = (x0 + half, y0 + half, top), (x1 - half, y0 + half, top)
            return Cap(rim, ((a, b, right, left), (b, c, right), (c, d, left, right), (d, a, left)))
        front, back = (x0 + half, y0 + half, top), (x0 + half, y1 - half, top)
        return Cap(rim, ((a, b, front), (b, c, back, front), (c, d, back), (d, a, front, back)))

    return over


def _mansard(ring: np.ndarray, height: float, chance: Chance) -> Callable[[float], Cap]:
    """A steep lower part and a flatter upper one, which ends in a tip or level."""
    span = min(np.ptp(ring, axis=0))
    inset, low, high = chance.uniform(0.1, 0.4), chance.uniform(0.1, 0.5) * span, chance.uniform(0.05, 0.3) * span
    level = bool(chance.random() < 0.5)
    middle = np.array(Polygon(ring).centroid.coords[0])

    def over(overhang: float) -> Cap:
        scale = 1.0 + overhang / _inner_reach(ring, middle)
        rim = _raised(middle + (ring - middle) * scale, height - (scale - 1.0) * low / inset)
        upper = _raised(middle + (ring - middle) * (1.0 - inset), height + low)
        count = len(rim)
        sides = tuple((rim[k], rim[(k + 1) % count], upper[(k + 1) % count], upper[k]) for k in range(count))
        return Cap(rim, (*sides, *((upper,) if level else _tip(upper, (*middle.tolist(), height + low + high)))))

    return over


ROOFS: Mapping[str, Callable[[np.ndarray, float, Chance], Callable[[float], Cap]]] = {
    "none": _none,
    "lid": _lid,
    "lean-to": _lean_to,
    "gable": _gable,
    "pyramid": _pyramid,
    "hip": _hip,
    "mansard": _mansard,
}
