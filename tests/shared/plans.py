"""Plans whose straight skeletons are known in closed form, and plans drawn by chance."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry.polygon import orient

__all__ = ["KNOWN_PLANS", "area_of_ring", "drawn_plan", "regular"]

Ring = tuple[tuple[float, float], ...]


def regular(sides: int, radius: float) -> Ring:
    turns = [math.tau * k / sides for k in range(sides)]
    return tuple((radius * math.cos(turn), radius * math.sin(turn)) for turn in turns)


#: Plan and its largest inset (closed form: half the width of the widest bar; for n equal sides radius cos(pi / n)).
KNOWN_PLANS: dict[str, tuple[Ring, float]] = {
    "rectangle": (((0, 0), (400, 0), (400, 240), (0, 240)), 120.0),
    "square": (((0, 0), (240, 0), (240, 240), (0, 240)), 120.0),
    "l": (((0, 0), (400, 0), (400, 200), (160, 200), (160, 400), (0, 400)), 100.0),
    "equal l": (((0, 0), (400, 0), (400, 200), (200, 200), (200, 400), (0, 400)), 100.0),
    "t": (((120, 0), (280, 0), (280, 240), (400, 240), (400, 400), (0, 400), (0, 240), (120, 240)), 80.0),
    "u": (((0, 0), (400, 0), (400, 300), (300, 300), (300, 100), (100, 100), (100, 300), (0, 300)), 50.0),
    "plus": (
        (
            *((100, 0), (200, 0), (200, 100), (300, 100), (300, 200), (200, 200)),
            *((200, 300), (100, 300), (100, 200), (0, 200), (0, 100), (100, 100)),
        ),
        50.0,
    ),
    "pentagon": (regular(5, 100.0), 100.0 * math.cos(math.radians(36.0))),
    "octagon": (regular(8, 100.0), 100.0 * math.cos(math.radians(22.5))),
    "round": (regular(30, 100.0), 100.0 * math.cos(math.radians(6.0))),
    # three codes of others agree on this one
    "trapezoid": (((0, 0), (400, 0), (330, 200), (40, 240)), 113.022324),
}


def area_of_ring(ring: np.ndarray) -> float:
    """The signed area of a ring, (n, 2) or more columns."""
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def drawn_plan(kind: str, seed: int) -> np.ndarray:
    """A simple outline, (n, 2) mm, counter-clockwise: "star" of 5 to 12 corners, or "right-angled" of squares."""
    chance = np.random.default_rng(seed)
    if kind == "star":
        count = int(chance.integers(5, 13))
        turns = (np.arange(count) + chance.uniform(-0.3, 0.3, count)) * math.tau / count
        return np.column_stack([np.cos(turns), np.sin(turns)]) * chance.uniform(60.0, 140.0, (count, 1))
    # whole squares, so that many events fall together
    kept = [(2, 2)]
    while len(kept) < 9:
        x, y = kept[int(chance.integers(len(kept)))]
        step = [(1, 0), (0, 1), (-1, 0), (0, -1)][int(chance.integers(4))]
        if (x + step[0], y + step[1]) not in kept:
            kept.append((x + step[0], y + step[1]))
    cells = [shapely.box(40.0 * x, 40.0 * y, 40.0 * x + 40.0, 40.0 * y + 40.0) for x, y in kept]
    plan = shapely.Polygon(shapely.union_all(cells).buffer(1.0, join_style="mitre").exterior).simplify(1e-9)
    return np.array(orient(plan).exterior.coords)[:-1]
