"""Every kind of roof over every plan of the menu: ``python tests/sweep/roofs.py [--boards 1] [--only TEXT]``.

Adds each building in two pitches and two boards, and prints a table: a row for every plan and roof, with the number
of parts where it is cut, else the codes that stand against it; "walls" where these are refused before any part is
made. What no roof of that kind can lie over is told by its plan alone and counted apart. With ``--check`` nothing may
fail its own check: the exit code is 1 where one does. ``--table FILE`` also writes a row for every building: pieces of
its roof, length of roof lines that stay open, farthest corner of the proof, seconds.
"""

from __future__ import annotations

import argparse
import itertools
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.added import as_solid, try_building
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind, pitch_of_rise
from stowfold.geometry.plan.sizes import BuildingSizes, lay_out_building
from stowfold.geometry.solid.facets import ShellKind
from stowfold.geometry.solid.solid import Role

PLANS = {
    "rectangle": BuildingSizes(PlanKind.RECTANGLE, 9, 6),
    "square": BuildingSizes(PlanKind.RECTANGLE, 6, 6),
    "l": BuildingSizes(PlanKind.L, 9, 7, bar=3, wing=4),
    "equal l": BuildingSizes(PlanKind.L, 8, 8, bar=4, wing=4),
    "t": BuildingSizes(PlanKind.T, 9, 7, bar=3, wing=3),
    "wide t": BuildingSizes(PlanKind.T, 9, 7, bar=3, wing=5),
    "u": BuildingSizes(PlanKind.U, 10, 8, bar=4, wing=3),
    "z": BuildingSizes(PlanKind.Z, 9, 7, bar=3, wing=3),
    "plus": BuildingSizes(PlanKind.PLUS, 9, 9, bar=3, wing=3),
    "5 sides": BuildingSizes(PlanKind.ROUND, 6, 6, sides=5),
    "8 sides": BuildingSizes(PlanKind.ROUND, 6, 6, sides=8),
    "12 sides": BuildingSizes(PlanKind.ROUND, 8, 8, sides=12),
    "slanted": BuildingSizes(None, corners=((0, 0), (8, 0), (9, 5), (1, 6))),
}
RISES = (8.0, 14.0)
BOARDS = ("birch-plywood-3", "grey-board-2")


@dataclass(frozen=True)
class Case:
    """A building in one board."""

    plan: str
    kind: RoofKind
    rise: float
    board: str

    def __str__(self) -> str:
        return f"{self.plan}, {self.kind.value}, {self.rise:g}/12, {self.board}"

    @property
    def sizes(self) -> BuildingSizes:
        return replace(PLANS[self.plan], roof=Roof(self.kind, pitch_of_rise(self.rise)))


@dataclass
class Seen:
    """What came of one building. no_roof: the sentence that says why no such roof lies over the plan.

    pieces: of its roof; open_length: of roof lines that part, mm; off: how far a corner of the proof lies off, mm.
    """

    case: Case
    no_roof: str = ""
    told: str = ""
    errors: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    parts: int = 0
    pieces: int = 0
    open_length: float = 0.0
    off: float = 0.0
    seconds: tuple[float, float] = (0.0, 0.0)

    @property
    def word(self) -> str:
        if self.no_roof:
            return "-"
        codes = "+".join(sorted(set(self.errors)))
        if self.told:
            return f"told {codes}"
        return codes if codes else f"{self.parts} parts"


def cases(boards: int) -> Iterator[Case]:
    kinds = [kind for kind in RoofKind if kind is not RoofKind.NONE]
    yield from (Case(*sizes) for sizes in itertools.product(PLANS, kinds, RISES, BOARDS[:boards]))


def look_at(case: Case, *, check: bool = False) -> Seen:
    """Add a building; with ``check`` also run it through the whole flow as it was added."""
    board = find_stock(case.board, read_stocks())
    settings = Settings(board, board, board, board)
    try:
        lay_out_building(case.sizes, square=settings.square)
    except GeometryError as error:
        return Seen(case, no_roof=str(error))
    start = time.perf_counter()
    try:
        trial = try_building(case.sizes, settings)
    except GeometryError as error:
        return Seen(case, told=str(error), errors=("walls",), seconds=(time.perf_counter() - start, 0.0))
    added = time.perf_counter()
    if trial.errors:
        codes = tuple(finding.code for finding in trial.errors)
        return Seen(case, told=trial.reason(settings), errors=codes, seconds=(added - start, 0.0))
    warnings = tuple(finding.code for finding in trial.findings)
    if not check:
        return Seen(case, warnings=warnings, parts=len(trial.parts), seconds=(added - start, 0.0))
    outcome = run(as_solid(trial.block), settings, title="house")
    wrong = tuple(found.code for found in outcome.findings if found.severity is Severity.ERROR)
    if not outcome.proof.holds and not wrong:
        wrong = ("proof-fails",)
    seconds = (added - start, time.perf_counter() - added)
    roofs = {shell.id for shell in outcome.facets.shells if shell.kind is ShellKind.ROOF}
    parted = [
        outcome.facets.length(edge)
        for edge in outcome.facets.edges
        if edge.role is Role.CLOSURE and outcome.facets.left(edge).shell in roofs
    ]
    return Seen(
        case,
        errors=wrong,
        warnings=warnings,
        parts=len(outcome.parts),
        pieces=sum(part.kind is PartKind.ROOF for part in outcome.parts),
        open_length=sum(parted),
        off=outcome.proof.corner_distance or 0.0,
        seconds=seconds,
    )


def table_of(seen: Sequence[Seen]) -> str:
    """Return a table in Markdown with a row for every building that has such a roof."""
    rows = ["| plan | roof | pitch | parts | roof pieces | open, mm | proof, mm | add, s | check, s | result |"]
    rows.append("|---|---|---|---|---|---|---|---|---|---|")
    for one in seen:
        case, (adding, checking) = one.case, one.seconds
        if not one.no_roof:
            sizes = "- | - | - | -"
            if one.parts:
                sizes = f"{one.parts} | {one.pieces} | {one.open_length:.0f} | {one.off:.1e}"
            end = f"told: {one.told}" if one.told else "; ".join((*one.errors, *one.warnings)) or "proved"
            words = (case.plan, case.kind.value, f"{case.rise:g}/12", sizes, f"{adding:.1f}", f"{checking:.1f}", end)
            rows.append(f"| {' | '.join(words)} |")
    return "\n".join(rows) + "\n"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--boards", type=int, default=len(BOARDS), help="how many boards")
    parser.add_argument("--only", default="", help="only buildings whose description holds all of these, by commas")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--check", action="store_true", help="run every building through the whole flow as well")
    parser.add_argument("--table", type=Path, help="write a row for every building here; needs --check")
    parser.add_argument("--told", action="store_true", help="print every sentence")
    chosen = parser.parse_args()
    words = chosen.only.split(",")
    wanted = [case for case in cases(chosen.boards) if all(word in str(case) for word in words)]
    seen = []
    with ProcessPoolExecutor(chosen.jobs) as pool:
        looked_at = pool.map(partial(look_at, check=chosen.check), wanted)
        for (plan, kind), group in itertools.groupby(
            looked_at, key=lambda outcome: (outcome.case.plan, outcome.case.kind)
        ):
            row = list(group)
            print(f"{plan:>10} {kind.value:<15}", " | ".join(f"{outcome.word:<22}" for outcome in row), flush=True)
            for outcome in row if chosen.told else ():
                if outcome.told or outcome.errors:
                    print(f"    {outcome.case}: {outcome.told or outcome.errors}", flush=True)
            seen += row
    if chosen.table:
        chosen.table.write_text(table_of(seen), encoding="utf-8")
    roofed = [outcome for outcome in seen if not outcome.no_roof]
    cut = [outcome for outcome in roofed if not (outcome.told or outcome.errors)]
    failed = [outcome for outcome in roofed if outcome.errors and not outcome.told]
    print(f"{len(seen)} buildings: {len(seen) - len(roofed)} where no such roof lies over the plan; of the others")
    print(f"{len(cut)} cut, {len(roofed) - len(cut) - len(failed)} told, {len(failed)} fail their own check")
    for title, codes in (
        ("stands against", (outcome.errors for outcome in roofed)),
        ("cut, with this warning", (outcome.warnings for outcome in cut)),
    ):
        for code, count in Counter(code for found in codes for code in set(found)).most_common():
            print(f"{title:>24} {count:4d}  {code}")
    for what, k in (("adding", 0), ("checking", 1)):
        times = sorted(outcome.seconds[k] for outcome in roofed) or [0.0]
        print(f"{what}: {sum(times) / len(times):.2f} s on average, {times[-1]:.2f} s at most")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
