"""Every building of the menu, added and checked: ``python tests/sweep/add_building.py [--step N]``.

Prints how many can be cut as they were added, how many are refused and with which sentence, and what the check
says about the others. Beside them stand towers of five to eight sides, modelled by hand, whose bends and breaks are
all proposed. Nothing may fail its own check: the exit code is 1 where one does.
"""

from __future__ import annotations

import argparse
import itertools
import math
import re
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.plan.walls import PlanKind, Roof, RoofKind, pitch_of_rise
from stowfold.geometry.solid.solid import Solid, make_solid

SQUARE = 25.4
SIDES = tuple(range(3, 13))
PITCHES = (math.radians(20.0), pitch_of_rise(8.0), math.radians(45.0), math.radians(55.0))
RISES = (8.0, 14.0)
OVERHANGS = (1.0, 6.0, 15.0)
WINGED = (PlanKind.L, PlanKind.T, PlanKind.U, PlanKind.Z, PlanKind.PLUS)
ROUND = (5, 6, 8, 12)
STOCKS = ("birch-plywood-3", "basswood-3.2", "mdf-3", "grey-board-2", "cast-acrylic-3")


#: Beyond the range: walls that are low or high, plans off the squares, very small and very large ones.
HEIGHTS = (5.0, 10.0, 15.0, 20.0, 30.0, 45.0, 100.0, 150.0, 300.0)
ODD_SIZES = ((1, 1), (2, 1), (2, 2), (3, 2), (4.5, 3), (7.5, 6), (9.5, 9), (20, 8), (30, 12), (40, 16))

TOWER_SIDES = (5, 6, 7, 8)
TOWER_WIDTHS = (4.0, 6.0, 8.0)
TOWER_PITCHES = (35.0, 50.0, 60.0, 70.0)


@dataclass(frozen=True)
class Tower:
    """A regular prism with a pyramid over it: width between opposite sides, squares; pitch, degrees."""

    sides: int
    width: float
    pitch: float
    overhang: float = 6.0
    height: float = 62.0

    def __str__(self) -> str:
        return f"tower of {self.sides} sides, {self.width:g} squares, {self.pitch:g} deg, overhang {self.overhang:g}"

    def solid(self) -> Solid:
        n, rise = self.sides, math.tan(math.radians(self.pitch))
        inner = self.width * SQUARE / 2.0
        turns = 2.0 * np.pi * np.arange(n) / n

        def ring(apothem: float, z: float) -> np.ndarray:
            radius = apothem / math.cos(math.pi / n)
            return np.column_stack([radius * np.cos(turns), radius * np.sin(turns), np.full(n, z)])

        rings = [
            ring(inner, 0.0),
            ring(inner, self.height),
            ring(inner + self.overhang, self.height - rise * self.overhang),
        ]
        tip = [[0.0, 0.0, self.height + rise * inner]]
        points = np.concatenate([*rings, tip]).astype(np.float32).astype(np.float64)
        after = [(k + 1) % n for k in range(n)]
        walls = [(k, after[k], n + after[k], n + k) for k in range(n)]
        roof = [(2 * n + k, 2 * n + after[k], 3 * n) for k in range(n)]
        return make_solid(points, [*walls, *roof])


@dataclass(frozen=True)
class Case:
    """A building of the menu, or a tower, in one stock."""

    asked: BuildingSizes | Tower
    stock: str

    def __str__(self) -> str:
        if isinstance(self.asked, Tower):
            return f"{self.stock}, {self.asked}"
        sizes, roof = self.asked, self.asked.roof
        words = [self.stock, str(sizes.plan or "corners"), f"{sizes.length:g} x {sizes.width:g}"]
        if sizes.height != BuildingSizes().height:
            words.append(f"{sizes.height:g} high")
        if sizes.plan is None:
            words[2] = " ".join(f"{x:g},{y:g}" for x, y in sizes.corners)
        elif sizes.plan is PlanKind.ROUND:
            words.append(f"{sizes.sides} sides")
        elif sizes.plan is not PlanKind.RECTANGLE:
            words.append(f"bar {sizes.bar:g} wing {sizes.wing:g}")
        words.append(f"{roof.kind} roof")
        if roof.kind is not RoofKind.NONE:
            words.append(f"{math.degrees(roof.pitch):.1f} deg, overhang {roof.overhang:g}")
        return ", ".join(words)


@dataclass
class Seen:
    """What came of one building: the sentence where it was told, else the findings as (code, severity, message)."""

    case: Case
    told: str = ""
    crash: str = ""
    findings: tuple[tuple[str, str, str], ...] = ()
    stops: int = 0
    seconds: tuple[float, float] = (0.0, 0.0)

    @property
    def errors(self) -> tuple[str, ...]:
        return tuple(code for code, severity, _ in self.findings if severity == Severity.ERROR)

    @property
    def has_roof(self) -> bool:
        return isinstance(self.case.asked, Tower) or self.case.asked.roof.kind is not RoofKind.NONE


def roofs(plan: PlanKind | None) -> Iterator[Roof]:
    """Yield the roofs of the menu over a plan: many over a rectangle, of the others every kind in two pitches."""
    yield Roof(RoofKind.NONE)
    kinds = [kind for kind in RoofKind if kind is not RoofKind.NONE]
    if plan is PlanKind.RECTANGLE:
        for kind, pitch, overhang in itertools.product((RoofKind.GABLE, RoofKind.HIP), PITCHES, OVERHANGS):
            yield Roof(kind, pitch, overhang)
        kinds = [kind for kind in kinds if kind not in (RoofKind.GABLE, RoofKind.HIP)]
    for kind, rise in itertools.product(kinds, RISES):
        yield Roof(kind, pitch_of_rise(rise))


def plans() -> Iterator[BuildingSizes]:
    """Yield the plans of the menu, the roof left open; of the shapes with wings every fifth."""
    for length, width in itertools.product(SIDES, SIDES):
        yield BuildingSizes(PlanKind.RECTANGLE, length, width)
    for kind, length, width in itertools.product(WINGED, SIDES, SIDES):
        for bar, wing in itertools.product(range(1, width), range(1, length)):
            wings = 2 if kind is PlanKind.U else 1
            if wing * wings < length and (length + width + bar + wing) % 5 == 0:
                yield BuildingSizes(kind, length, width, bar, wing)
    for length, sides in itertools.product(SIDES, ROUND):
        yield BuildingSizes(PlanKind.ROUND, length, length, sides=sides)
    for height in HEIGHTS:
        yield BuildingSizes(PlanKind.RECTANGLE, 9, 6, height=height)
    yield from (BuildingSizes(PlanKind.RECTANGLE, *sides) for sides in ODD_SIZES)
    for side in SIDES:
        corners = ((0, 0), (side, 0), (side, 3), (side + 3, 3), (side + 3, side + 3), (0, side + 3))
        yield BuildingSizes(None, corners=corners)
        yield BuildingSizes(None, corners=((0, 0), (side + 2, 0), (side + 3, 4), (2, 6), (0, 4)))


def cases() -> Iterator[Case]:
    """Yield the whole menu and the towers; of plans with wings every tenth with roofs, the others without."""
    for sizes, stock in itertools.product(plans(), STOCKS):
        winged = sizes.plan in WINGED and (7 * sizes.length + 5 * sizes.width + 3 * sizes.bar + sizes.wing) % 10
        for roof in (Roof(RoofKind.NONE),) if winged else roofs(sizes.plan):
            yield Case(replace(sizes, roof=roof), stock)
    for sides, width, pitch, stock in itertools.product(TOWER_SIDES, TOWER_WIDTHS, TOWER_PITCHES, STOCKS):
        yield Case(Tower(sides, width, pitch), stock)


def look_at(case: Case) -> Seen:
    """Add a building, check it as it is, and return what was seen."""
    board = find_stock(case.stock, read_stocks())
    settings = Settings(board, board, board, board)
    start = time.perf_counter()
    try:
        if isinstance(case.asked, Tower):
            solid, settings = case.asked.solid(), replace(settings, propose=Proposal.ALL)
        else:
            solid = as_solid(add_building(case.asked, settings))
    except GeometryError as error:
        return Seen(case, told=str(error), seconds=(time.perf_counter() - start, 0.0))
    except Exception as error:  # counted and shown, so that one crash does not hide the others
        return Seen(case, crash=f"adding: {type(error).__name__}: {error}")
    added = time.perf_counter()
    try:
        outcome = run(solid, settings, title="house")
    except Exception as error:
        return Seen(case, crash=f"checking: {type(error).__name__}: {error}")
    no_break = next((finding.message for finding in outcome.findings if finding.code == "no-break-found"), "")
    if isinstance(case.asked, Tower) and no_break:
        # nobody adds a tower from the menu: the proposal itself says that no joiner finds room
        return Seen(case, told=no_break, seconds=(added - start, time.perf_counter() - added))
    return Seen(
        case,
        findings=tuple((found.code, found.severity.value, found.message) for found in outcome.findings),
        stops=sum(part.kind is PartKind.STOP for part in outcome.parts),
        seconds=(added - start, time.perf_counter() - added),
    )


def show(seen: Sequence[Seen]) -> None:
    """Print the table."""
    told = [outcome for outcome in seen if outcome.told]
    crashed = [outcome for outcome in seen if outcome.crash]
    failed = [outcome for outcome in seen if outcome.errors]
    cut = [outcome for outcome in seen if not (outcome.told or outcome.crash or outcome.errors)]
    print(f"{len(seen)} buildings: {len(cut)} cut, {len(told)} told, {len(failed)} failed, {len(crashed)} crashed")
    roofed = [outcome for outcome in cut if outcome.has_roof]
    print(
        f"{sum(outcome.stops < 2 for outcome in roofed)} of {len(roofed)} roofs that are cut have fewer than two stops"
    )
    for what, k in (("adding", 0), ("checking", 1)):
        times = sorted(outcome.seconds[k] for outcome in seen if not outcome.crash)
        if times:
            print(f"{what}: {sum(times) / len(times):.2f} s on average, {times[-1]:.2f} s at most")
    _rows("told", [(_shape(outcome.told), outcome) for outcome in told])
    _rows("crashed", [(outcome.crash, outcome) for outcome in crashed])
    _rows("failed", [(code, outcome) for outcome in failed for code in sorted(set(outcome.errors))])
    for weight in (Severity.WARNING, Severity.NOTE):
        rows = [
            (code, outcome)
            for outcome in cut
            for code in sorted({code for code, severity, _ in outcome.findings if severity == weight})
        ]
        _rows(f"cut, with this {weight.value}", rows)


def _rows(title: str, rows: Sequence[tuple[str, Seen]]) -> None:
    for text, count in Counter(text for text, _ in rows).most_common():
        first = next(outcome for known, outcome in rows if known == text)
        print(f"{title:>24} {count:6d}  {text}   [first: {first.case}]")


def _shape(sentence: str) -> str:
    """Return a sentence with its numbers left out, so that alike ones are counted together."""
    return re.sub(r"-?\d+(\.\d+)?", "#", sentence)


def _looked_at(wanted: Sequence[Case], jobs: int) -> Iterator[Seen]:
    """Yield what was seen of every building, in the order given."""
    if jobs < 2:
        yield from map(look_at, wanted)
        return
    with ProcessPoolExecutor(jobs) as pool:
        yield from pool.map(look_at, wanted, chunksize=4)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--step", type=int, default=1, help="look at every Nth building")
    parser.add_argument("--first", type=int, default=0, help="start at this one")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--only", default="", help="only buildings whose description holds this")
    parser.add_argument("--list", default="", help="name the buildings with findings of these codes, beside errors")
    chosen = parser.parse_args()
    wanted = [case for case in cases() if chosen.only in str(case)][chosen.first :: chosen.step]
    seen = []
    for outcome in _looked_at(wanted, chosen.jobs):
        seen.append(outcome)
        # told at once, so that a long sweep can be watched
        for code, severity, message in outcome.findings:
            if severity == Severity.ERROR or code in chosen.list.split(","):
                print(f"{outcome.case}\n    {severity} {code}: {message}", flush=True)
        if outcome.crash:
            print(f"{outcome.case}\n    {outcome.crash}", flush=True)
    show(seen)
    return 1 if any(outcome.crash or outcome.errors for outcome in seen) else 0


if __name__ == "__main__":
    sys.exit(main())
