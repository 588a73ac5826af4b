"""Houses whose wings have a roof of their own: ``python tests/sweep/wing_houses.py [--only TEXT] [--jobs N]``.

Adds L, T, U and plus plans with gable, hip, lean-to and flat wings in two pitches and two boards, runs each through
the whole flow, and judges what is cut as ``families`` does, by code that shares nothing with ours. A row for every
plan and kind, then how many are cut and proved, told, or wrong; the exit code is 1 where one is wrong.
"""

from __future__ import annotations

import argparse
import itertools
import math
import sys
import time
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

from families import find_faults
from judging import Verdict, judge
from made_buildings import Building
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.plan.wings import Wing, count_wings

#: A grain store of four squares' depth, and its wings.
PLANS = {
    "l": BuildingSizes(PlanKind.L, 9, 7, bar=4, wing=4),
    "t": BuildingSizes(PlanKind.T, 9, 7, bar=4, wing=4),
    "u": BuildingSizes(PlanKind.U, 10, 7, bar=4, wing=3),
    "plus": BuildingSizes(PlanKind.PLUS, 9, 10, bar=4, wing=3),
}
KINDS = (RoofKind.GABLE, RoofKind.HIP, RoofKind.LEAN_TO, RoofKind.FLAT)
PITCHES = (20.0, 35.0)
BOARDS = ("birch-plywood-3", "grey-board-2")

#: Walls of the house and of its wings, mm: a lean-to over three squares at 35 degrees ends 93 mm high.
HEIGHT, LOW = 105.0, 40.0


@dataclass(frozen=True)
class Case:
    """A house with wings of one kind of roof; pitch: of the wings, degrees."""

    plan: str
    kind: RoofKind
    pitch: float
    board: str

    def __str__(self) -> str:
        return f"{self.plan}, {self.kind.value}, {self.pitch:g} degrees, {self.board}"

    @property
    def sizes(self) -> BuildingSizes:
        plan = PLANS[self.plan]
        wing = Wing(LOW, Roof(self.kind, math.radians(self.pitch)))
        roof = Roof(RoofKind.GABLE, math.radians(35.0))
        return replace(plan, height=HEIGHT, roof=roof, wings=(wing,) * count_wings(plan.plan))


@dataclass(frozen=True)
class Seen:
    """What came of one house: cut, told, crash or wrong, why, its parts, and seconds to add and to judge it."""

    case: Case
    end: str
    why: tuple[str, ...] = ()
    parts: int = 0
    seconds: tuple[float, float] = (0.0, 0.0)

    @property
    def word(self) -> str:
        return f"{self.parts} parts {self.seconds[0]:.1f} s" if self.end == "cut" else self.end


def cases() -> Iterator[Case]:
    yield from (Case(*values) for values in itertools.product(PLANS, KINDS, PITCHES, BOARDS))


def look_at(case: Case) -> Seen:
    """Add a house, run it and judge what was cut."""
    board = find_stock(case.board, read_stocks())
    settings = Settings(board, board, board, board)
    start = time.perf_counter()
    try:
        solid = as_solid(add_building(case.sizes, settings))
    except GeometryError as error:
        return Seen(case, "told", (str(error),))
    added = time.perf_counter()
    building = Building(0, {"mesh": "plain", "building": str(case)}, 0.0, solid, settings)
    judgement = judge(building)
    seconds = (added - start, time.perf_counter() - added)
    if judgement.outcome is None:
        return Seen(case, "crash", (judgement.sentence, *map(str, judgement.faults)), seconds=seconds)
    parts = len(judgement.outcome.parts)
    if judgement.verdict is not Verdict.CUT:
        return Seen(case, "wrong", judgement.codes, parts, seconds)
    faults = find_faults(building, judgement, again=False)
    return Seen(case, "wrong" if faults else "cut", faults, parts, seconds)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="only houses whose description holds all of these, by commas")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    chosen = parser.parse_args()
    wanted = [case for case in cases() if all(word in str(case) for word in chosen.only.split(","))]
    seen: list[Seen] = []
    with ProcessPoolExecutor(chosen.jobs) as pool:
        looked_at = pool.map(look_at, wanted)
        for (plan, kind), group in itertools.groupby(looked_at, key=lambda seen: (seen.case.plan, seen.case.kind)):
            row = list(group)
            print(f"{plan:>6} {kind.value:<8}", " | ".join(f"{house.word:<16}" for house in row), flush=True)
            for house in row:
                if house.end != "cut":
                    print(f"    {house.case}: {house.end}: {house.why}", flush=True)
            seen += row
    print(f"{len(seen)} houses:", ", ".join(f"{n} {end}" for end, n in Counter(house.end for house in seen).items()))
    return 1 if any(house.end in ("wrong", "crash") for house in seen) else 0


if __name__ == "__main__":
    sys.exit(main())
