"""Walls without roofs, unmarked: rectangles to round towers, courts and towers on corners, each cut and proved.

``python tests/sweep/ring_plans.py [--family F] [--count N] [--first K] [--stock S ...] [--list CODE]`` prints how
many of each family are cut and proved, and which codes the others are told by.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from shapely.geometry import Polygon, box
from shapely.ops import unary_union
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.opening import OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.solid.opening import Opening
from stowfold.geometry.solid.solid import Solid, make_solid

SQUARE = 25.4
HEIGHTS = (40.0, 50.8, 62.0, 76.2, 100.0, 125.0, 150.0)
STOCKS = ("birch-plywood-3", "mdf-3", "basswood-3.2", "grey-board-2")

Chance = np.random.Generator
Rings = list[np.ndarray]


@dataclass(frozen=True, eq=False)
class Plan:
    """Rings of walls, each (k, 2) mm, counter-clockwise round rooms and clockwise round courts; their heights, mm.

    chains: walls that close to no ring. inner: walls between two points on others.
    """

    name: str
    rings: Rings
    height: float
    chains: tuple[np.ndarray, ...] = ()
    heights: tuple[float, ...] = ()
    openings: tuple[Opening, ...] = ()

    def solid(self) -> Solid:
        """Return the walls as quads whose corners are shared, as an outline that was pulled up has them."""
        points: list[tuple[float, float, float]] = []
        known: dict[tuple[float, float, float], int] = {}
        faces = []

        def at(x: float, y: float, z: float) -> int:
            key = (round(float(x), 6), round(float(y), 6), round(float(z), 6))
            if key not in known:
                known[key] = len(points)
                points.append(key)
            return known[key]

        lines = [(ring, True) for ring in self.rings] + [(chain, False) for chain in self.chains]
        heights = self.heights or (self.height,) * len(lines)
        for (line, closed), height in zip(lines, heights, strict=True):
            for (ax, ay), (bx, by) in pairwise([*line, line[0]] if closed else [*line]):
                faces.append((at(ax, ay, 0), at(bx, by, 0), at(bx, by, height), at(ax, ay, height)))
        stored = np.array(points).astype(np.float32).astype(np.float64)
        return replace(make_solid(stored, faces), openings=self.openings)


def _squares(chance: Chance, low: float, high: float) -> float:
    return float(chance.integers(int(low * 2), int(high * 2) + 1)) / 2 * SQUARE


def _ring(corners: Sequence[tuple[float, float]]) -> np.ndarray:
    return np.array(corners, dtype=float)


def _box(x: float, y: float, length: float, width: float) -> np.ndarray:
    return _ring([(x, y), (x + length, y), (x + length, y + width), (x, y + width)])


def rectangle(chance: Chance) -> Rings:
    return [_box(0, 0, _squares(chance, 2, 14), _squares(chance, 2, 8))]


def wings(chance: Chance) -> Rings:
    """L, T, U, Z and plus: bars laid over one another."""
    n, m = _squares(chance, 2, 4), _squares(chance, 2, 4)
    a, b, c = (_squares(chance, 1.5, 4) for _ in range(3))
    kind = "LTUZ+"[int(chance.integers(5))]
    bars = {
        "L": [box(0, 0, n + a, m), box(0, 0, n, m + b)],
        "T": [box(0, 0, a + n + b, m), box(a, 0, a + n, m + c)],
        "U": [box(0, 0, 2 * n + a, m), box(0, 0, n, m + b), box(n + a, 0, 2 * n + a, m + b)],
        "Z": [box(0, 0, n + a, m), box(a, m, n + a + b, m + c)],
        "+": [box(0, c, a + n + b, c + m), box(a, 0, a + n, c + m + c)],
    }[kind]
    return [_outline(unary_union(bars))]


def _outline(shape: Polygon) -> np.ndarray:
    ring = np.array(shape.simplify(1e-6).exterior.coords)[:-1]
    return ring[::-1] if Polygon(ring).exterior.is_ccw is False else ring


def right_angled(chance: Chance) -> Rings:
    """Three to six boxes on the grid that hang together."""
    shape = box(0, 0, _squares(chance, 2, 5), _squares(chance, 2, 4))
    for _ in range(int(chance.integers(2, 6))):
        x0, y0, x1, y1 = shape.bounds
        x, y = (np.round(chance.uniform(a, b) / SQUARE) * SQUARE for a, b in ((x0, x1), (y0, y1)))
        new = box(x, y, x + _squares(chance, 1.5, 4), y + _squares(chance, 1.5, 4))
        joined = unary_union([shape, new])
        if (
            isinstance(joined, Polygon)
            and not joined.interiors
            and joined.buffer(-4, join_style="mitre").geom_type == "Polygon"
        ):
            shape = joined
    return [_outline(shape)]


def round_plan(chance: Chance) -> Rings:
    sides = int(chance.integers(5, 33))
    radius = float(chance.integers(25, 121))
    turns = 2 * np.pi * np.arange(sides) / sides
    return [radius * np.column_stack([np.cos(turns), np.sin(turns)])]


def trapezoid(chance: Chance) -> Rings:
    length, width = _squares(chance, 3, 10), _squares(chance, 2.5, 7)
    a, b = chance.uniform(-0.3, 0.3, 2) * length
    return [_ring([(0, 0), (length, 0), (length + a, width), (b, width)])]


def irregular(chance: Chance) -> Rings:
    count = int(chance.integers(3, 9))
    turns = (np.arange(count) + chance.uniform(-0.25, 0.25, count)) * 2 * np.pi / count
    size = chance.uniform(50, 140, 2)
    return [np.column_stack([np.cos(turns) * size[0], np.sin(turns) * size[1]])]


def courtyard(chance: Chance) -> Rings:
    length, width = _squares(chance, 5, 12), _squares(chance, 5, 9)
    deep = _squares(chance, 1.5, 2)
    court = _box(deep, deep, length - 2 * deep, width - 2 * deep)
    return [_box(0, 0, length, width), court[::-1]]


def two_houses(chance: Chance) -> Rings:
    a, b = _squares(chance, 3, 6), _squares(chance, 3, 5)
    gap = float(chance.choice([SQUARE, 2 * SQUARE]))
    return [_box(0, 0, a, b), _box(a + gap, 0, _squares(chance, 3, 6), _squares(chance, 3, 5))]


def tower_on_corner(chance: Chance) -> Rings:
    """A house whose plan ends in a square tower that steps out at a corner."""
    length, width, size, out = _squares(chance, 4, 9), _squares(chance, 4, 6), _squares(chance, 2, 3), 0.5 * SQUARE
    house = box(0, 0, length, width)
    tower = box(length - size + out, width - size + out, length + out, width + out)
    return [_outline(unary_union([house, tower]))]


def round_tower_on_corner(chance: Chance) -> Rings:
    length, width, radius = _squares(chance, 4, 9), _squares(chance, 4, 6), float(chance.integers(25, 45))
    sides = int(chance.integers(6, 17))
    turns = 2 * np.pi * (np.arange(sides) + 0.5) / sides
    tower = Polygon(np.array([length, width]) + radius * np.column_stack([np.cos(turns), np.sin(turns)]))
    return [_outline(unary_union([box(0, 0, length, width), tower]))]


FAMILIES: Mapping[str, Callable[[Chance], Rings]] = {
    "rectangle": rectangle,
    "wings": wings,
    "right-angled": right_angled,
    "round": round_plan,
    "trapezoid": trapezoid,
    "irregular": irregular,
    "courtyard": courtyard,
    "two houses": two_houses,
    "tower on corner": tower_on_corner,
    "round tower on corner": round_tower_on_corner,
}


def heights_differ(chance: Chance) -> Plan:
    """Two houses that share a wall, one higher than the other."""
    a, b, c = _squares(chance, 3, 6), _squares(chance, 3, 5), _squares(chance, 2, 5)
    low, high = 50.8, float(chance.choice([76.2, 100.0]))
    one = _box(0, 0, a, b)
    two = _ring([(a, b), (a, 0), (a + c, 0), (a + c, b)])[1:]
    wing = np.vstack([two, [(a, b)]])
    return Plan("heights differ", [one], high, chains=(wing,), heights=(high, low))


def ruin(chance: Chance) -> Plan:
    ring = _box(0, 0, _squares(chance, 3, 14), _squares(chance, 3, 8))
    return Plan("ruin", [], _height(chance), chains=(np.roll(ring, int(chance.integers(4)), axis=0),))


def inner_wall(chance: Chance) -> Plan:
    """A house with a wall across it, the outer ones split where it meets them, as block-outs often have it."""
    length, width = _squares(chance, 5, 10), _squares(chance, 3, 6)
    at = float(np.round(chance.uniform(0.3, 0.7) * length / SQUARE) * SQUARE)
    ring = _ring([(0, 0), (at, 0), (length, 0), (length, width), (at, width), (0, width)])
    return Plan("inner wall", [ring], _height(chance), chains=(_ring([(at, 0), (at, width)]),))


def inner_wall_apart(chance: Chance) -> Plan:
    """The same with a wall that shares no corner with the outer ones."""
    length, width = _squares(chance, 5, 10), _squares(chance, 3, 6)
    at = float(np.round(chance.uniform(0.3, 0.7) * length / SQUARE) * SQUARE)
    return Plan(
        "inner wall apart", [_box(0, 0, length, width)], _height(chance), chains=(_ring([(at, 0), (at, width)]),)
    )


#: Rings and further walls, in squares: walls that cross, end at others, share a wall or an edge, or stand outside.
_ROOMS: tuple[tuple[str, str], ...] = (
    ("0,0 4,0 8,0 8,3 8,6 4,6 0,6 0,3", "4,0 4,3 4,6 | 0,3 4,3 8,3"),
    ("0,0 4,0 8,0 8,6 4,6 0,6 0,3", "4,0 4,3 4,6 | 0,3 4,3"),
    ("0,0 4,0 8,0 8,3 8,6 0,6", "4,0 4,3 8,3"),
    ("0,0 5,0 5,5 0,5", "5,0 9,0 9,5 5,5"),
    ("0,0 5,0 5,5 0,5", "5,1 9,1 9,4 5,4"),
    ("0,0 4,0 8,0 8,6 0,6", "4,0 4,-1"),
    ("0,0 8,0 8,6 0,6", "8,0 10,0"),
    ("0,0 4,0 8,0 8,6 0,6", "4,0 4,4"),
    ("0,0 4,0 8,0 8,6 4,6 0,6", "4,0 8,6"),
)


def inner_rooms(chance: Chance) -> Plan:
    """One of the arrangements above, drawn out by up to a quarter."""
    ring, chains = _ROOMS[int(chance.integers(len(_ROOMS)))]
    scale = SQUARE * chance.uniform(1.0, 1.25)
    lines = [
        _ring([tuple(map(float, point.split(","))) for point in line.split()]) * scale
        for line in (ring, *chains.split("|"))
    ]
    return Plan("inner rooms", lines[:1], _height(chance), chains=tuple(lines[1:]))


def with_openings(chance: Chance) -> Plan:
    """A rectangle, L or right-angled plan with doors and windows as makers put them."""
    rings = (rectangle, wings, right_angled)[int(chance.integers(3))](chance)
    height = float(chance.choice([62.0, 76.2]))
    openings = []
    for a, b in pairwise([*rings[0], rings[0][0]]):
        length = float(np.hypot(*(b - a)))
        if length < 2.9 * SQUARE or chance.random() < 0.3:
            continue
        kind = (OpeningKind.DOOR, OpeningKind.WINDOW)[int(chance.random() < 0.6)]
        width = float(chance.choice([20.0, 25.4, 32.0]))
        at = float(chance.uniform(16.0 + width / 2, length - 16.0 - width / 2))
        openings.append(_opening(kind, a, b, at, width, height))
    return Plan("openings", rings, height, openings=tuple(openings))


def _opening(kind: OpeningKind, a: np.ndarray, b: np.ndarray, at: float, width: float, height: float) -> Opening:
    along = (b - a) / np.hypot(*(b - a))
    door = kind is OpeningKind.DOOR
    size = OpeningSize(width, 35.0 if door else 22.0, 0.0 if door else 20.0)
    return stand_in_wall("opening", kind, size, foot=np.array([*(a + along * at), 0.0]), along=np.array([*along, 0.0]))


def _height(chance: Chance) -> float:
    return float(chance.choice(HEIGHTS))


OTHERS = {
    "heights differ": heights_differ,
    "ruin": ruin,
    "inner wall": inner_wall,
    "inner wall apart": inner_wall_apart,
    "inner rooms": inner_rooms,
    "openings": with_openings,
}


def make_plan(family: str, number: int) -> Plan:
    """Return plan ``number`` of a family; the same two always give the same plan."""
    chance = np.random.default_rng([len(family), sum(map(ord, family)), number])
    if family in OTHERS:
        return OTHERS[family](chance)
    rings = FAMILIES[family](chance)
    return Plan(family, rings, _height(chance))


def codes_of(plan: Plan, stock: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the codes of the errors of a plan, none where it is cut and proved, and the sentences of them.

    In brackets: walls that are cut but nothing holds, or that stand without tabs.
    """
    board = find_stock(stock, read_stocks())
    settings = Settings(board, board, board, board, propose=Proposal.ALL)
    try:
        outcome = run(plan.solid(), settings, title="plan")
    except GeometryError as error:
        return ("refused",), (str(error),)
    except Exception as error:  # counted, so that one crash does not hide the others
        return ("crash",), (f"{type(error).__name__}: {error}",)
    errors = [finding for finding in outcome.findings if finding.severity is Severity.ERROR]
    codes = tuple(sorted({finding.code for finding in errors}))
    walls = {part.id for part in outcome.parts if part.kind in (PartKind.WALL, PartKind.PANEL)}
    if not errors and (outcome.hold.pieces or outcome.hold.open_corners):
        codes = (*codes, "(not held)")
    if not errors and walls - {tab.part for tab in outcome.tabs}:
        codes = (*codes, "(without tabs)")
    notes = tuple(sorted({f.code for f in outcome.findings if f.severity is not Severity.ERROR}))
    return codes, (*dict.fromkeys(finding.message for finding in errors), f"({', '.join(notes)})")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--family", action="append", choices=[*FAMILIES, *OTHERS])
    parser.add_argument("--stock", action="append")
    parser.add_argument("--count", type=int, default=10)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--list", action="store_true", help="show what was said of every plan that is not cut")
    chosen = parser.parse_args()
    worst = 0
    for family in chosen.family or [*FAMILIES, *OTHERS]:
        counts: Counter[str] = Counter()
        named: dict[str, list[str]] = defaultdict(list)
        cut, total, start = 0, 0, time.perf_counter()
        for number in range(chosen.first, chosen.first + chosen.count):
            plan = make_plan(family, number)
            stocks = chosen.stock or [STOCKS[number % len(STOCKS)]]
            for stock in stocks:
                codes, sentences = codes_of(plan, stock)
                total += 1
                cut += not any(code[0] != "(" for code in codes)
                counts.update(codes)
                for code in codes:
                    named[code].append(f"{number}")
                if codes and chosen.list:
                    print(f"  {family} {number} {stock} h {plan.height:g}: {codes}")
                    for sentence in sentences:
                        print(f"      {sentence}")
        worst = max(worst, total - cut)
        seconds = (time.perf_counter() - start) / max(1, total)
        codes_text = ", ".join(f"{code} {n} [{' '.join(named[code][:6])}]" for code, n in counts.most_common())
        print(f"{family:>24} {cut:3d}/{total:<3d} {seconds:.2f} s  {codes_text}", flush=True)
    return 1 if worst else 0


if __name__ == "__main__":
    sys.exit(main())
