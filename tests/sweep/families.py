"""Run sound buildings through the whole flow, family by family, and print how many come out cut and proved.

    python tests/sweep/families.py --family all --count 20
    python tests/sweep/families.py --family hip --only 37              one building again, with all its findings
    python tests/sweep/families.py --family hip --only 37 --save h.obj     its mesh, in mm, to look at or load

A building depends on the seed, its family and its number alone; boards take turns by number (see --board).
Cut and proved: no error. Told: an error says what cannot be made. Refused: the work stopped with a sentence.
Slow: given up after a minute of processor time. Wrong: it was cut and proved, and the judge found a fault.
Varies: another order of points and faces gives other parts; every fifth building is run again for it (--again).
The process ends with 1 where one was slow, crashed or is wrong.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "shared"))

from drawn_meshes import Stored
from judging import Fault, Judgement, Verdict, judge
from kept_sizes import lost_sizes, stray_tabs
from made_buildings import Building
from maker_words import inside_words
from run_again import changes_with_order, changes_with_time
from sound_buildings import FAMILIES, find_family, make_sound
from standing_solids import shared_places
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome

__all__ = ["Seen", "look_at", "main"]

#: How a building can end, in the order of the table; the first is what is hoped for, the last the worst.
ENDS = ("cut", "told", "refused", "slow", "crash", "wrong")

_ENDS = {Verdict.CUT: "cut", Verdict.TOLD: "told", Verdict.REFUSED: "refused", Verdict.CRASH: "crash"}

#: Notes that are counted with the warnings.
_LOOSE = ("loose-pieces", "loose-corner")

#: A run is given up after so many seconds of processor time, and the building counts as slow.
_LONGEST = 60.0

#: So many numbers are listed for one code.
_LISTED = 12


@dataclass(frozen=True)
class Seen:
    """What came of one building.

    reasons: error codes, or the sentence or fault that ended it. warnings: codes of
    a building that is cut, which may stand worse than it should. varies: another order of its mesh gives
    other parts (looked at for some numbers). seconds: of processor time for the run and its first judgement.
    """

    family: str
    number: int
    board: str
    kind: str
    end: str
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    varies: bool
    seconds: float


@dataclass(frozen=True)
class Asked:
    """One building to look at.

    again: every how many numbers a building is run again, 0 for none. sheets: every how many it is laid out as well.
    """

    seed: int
    family: str
    number: int
    board: str | None
    again: int = 0
    sheets: int = 1
    stored: Stored = Stored.USUAL


def look_at(asked: Asked) -> Seen:
    """Make one building, run the flow and judge it."""
    building = make_sound(asked.seed, FAMILIES[asked.family], asked.number, asked.board, asked.stored)
    start = time.process_time()
    again = asked.again > 0 and asked.number % asked.again == 0
    judgement = judge(building, longest=_LONGEST, sheets=again or asked.number % asked.sheets == 0)
    taken = time.process_time() - start
    end, reasons = _ENDS[judgement.verdict], judgement.codes
    if judgement.verdict is Verdict.REFUSED:
        reasons = (judgement.sentence,)
    if judgement.verdict is Verdict.CRASH:
        slow = any(fault is Fault.ENDLESS for fault, _ in judgement.faults)
        end = "slow" if slow else end
        reasons = tuple(f"{fault.value}: {where}" for fault, where in judgement.faults)
    varies = False
    warnings: tuple[str, ...] = ()
    if end == "cut" and judgement.outcome is not None:
        warnings = _warnings(judgement.outcome)
        faults = find_faults(building, judgement, again=again)
        varies = again and changes_with_order(building.solid, building.settings, judgement.outcome, seed=asked.number)
        end, reasons = ("wrong", faults) if faults else (end, reasons)
    kind = ", ".join(building.kind[group] for group in ("building", "mesh", "order", "noise"))
    return Seen(asked.family, asked.number, building.kind["stock"], kind, end, reasons, warnings, varies, taken)


def _warnings(outcome: Outcome) -> tuple[str, ...]:
    """Return codes of the warnings of an outcome, and of what nothing holds, which may be a note."""
    found = (finding for finding in outcome.findings if finding.severity is Severity.WARNING or finding.code in _LOOSE)
    return tuple(dict.fromkeys(finding.code for finding in found))


def find_faults(building: Building, judgement: Judgement, *, again: bool) -> tuple[str, ...]:
    """Return what is wrong with a building that is cut and proved, each kind once with its first place."""
    outcome = judgement.outcome
    assert outcome is not None
    found = [f"{fault.value}: {where}" for fault, where in judgement.faults]
    found += [
        f"boards share a place: {shared.one} and {shared.two}, {shared.volume:.1f} mm^3, {shared.depth:.2f} mm deep"
        for shared in shared_places(outcome)
    ]
    found += [f"size lost: {sentence}" for sentence in lost_sizes(building.solid, outcome)]
    found += [f"tab astray: {sentence}" for sentence in stray_tabs(outcome)]
    found += [f"numbers told: {sentence}" for sentence in inside_words(said.message for said in outcome.findings)]
    if again and changes_with_time(building.solid, building.settings, outcome):
        found.append("other bytes: the same input twice gives other cut files")
    return tuple({sentence.split(":")[0]: sentence for sentence in reversed(found)}.values())


def main(arguments: Sequence[str] | None = None) -> int:
    """Run as the command line asks; return 1 where a building crashed or is wrong."""
    chosen = _read(arguments)
    families = (
        list(FAMILIES) if chosen.family == "all" else [find_family(word).name for word in chosen.family.split(",")]
    )
    if chosen.only is not None:
        building = make_sound(chosen.seed, FAMILIES[families[0]], chosen.only, chosen.board, chosen.stored)
        return _replay(building, chosen.save)
    numbers = range(chosen.first, chosen.first + chosen.count)
    seen: list[Seen] = []
    for family in families:
        wanted = [
            Asked(chosen.seed, family, number, chosen.board, chosen.again, chosen.sheets, chosen.stored)
            for number in numbers
        ]
        found = list(_look(chosen.jobs, wanted))
        _print_family(found)
        seen += found
    if len(families) > 1:
        print(_row("all", seen))
    if chosen.json:
        chosen.json.write_text(json.dumps([asdict(one) for one in seen], indent=1), encoding="utf-8")
    return int(any(one.end in ("slow", "crash", "wrong") for one in seen))


def _read(arguments: Sequence[str] | None) -> argparse.Namespace:
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("--family", default="all", help=f"all, or some of: {', '.join(FAMILIES)} (or their numbers)")
    reader.add_argument("--count", type=int, default=10, help="how many buildings of each family")
    reader.add_argument("--first", type=int, default=0, help="number of the first building")
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--board", help="run all buildings in this stock")
    reader.add_argument(
        "--sheets", type=int, default=1, help="lay every Nth building out, the others end with the proof"
    )
    reader.add_argument("--again", type=int, default=5, help="run every Nth building again, and in another order")
    ways = "how meshes are stored: usual, imported, turned-over or far"
    reader.add_argument("--stored", type=Stored, default=Stored.USUAL, help=ways)
    reader.add_argument("--jobs", type=int, default=1, help="processes")
    reader.add_argument("--json", type=Path, help="write what came of every building")
    reader.add_argument("--only", type=int, help="run this building alone and show all of it")
    reader.add_argument("--save", type=Path, help="with --only: write its mesh, mm, as .obj or .json")
    return reader.parse_args(arguments)


def _look(jobs: int, wanted: Sequence[Asked]) -> Iterator[Seen]:
    if jobs < 2:
        yield from map(look_at, wanted)
        return
    with ProcessPoolExecutor(jobs) as pool:
        yield from pool.map(look_at, wanted, chunksize=2)


# -- the table -------------------------------------------------------------------------------------


def _row(name: str, seen: Sequence[Seen]) -> str:
    ends = Counter(one.end for one in seen)
    slow = max((one.seconds for one in seen), default=0.0)
    mean = sum(one.seconds for one in seen) / max(1, len(seen))
    share = 100.0 * ends["cut"] / max(1, len(seen))
    counts = "  ".join(f"{end} {ends[end]:3}" for end in ENDS)
    counts += f"  varies {sum(one.varies for one in seen):2}"
    return f"{name:34}{len(seen):4}   {counts}   {share:5.1f} %   {mean:.2f} s, at most {slow:.1f}"


def _print_family(seen: Sequence[Seen]) -> None:
    """Print the family's rates, in all and by board, and what its other buildings said."""
    if not seen:
        return
    print(_row(seen[0].family, seen))
    for board in dict.fromkeys(one.board for one in seen):
        print(_row(f"    {board}", [one for one in seen if one.board == board]))
    warned = Counter(code for one in seen for code in one.warnings)
    if warned:
        print("        cut, with " + ", ".join(f"{code} {count}" for code, count in warned.most_common()))
    varying = [one.number for one in seen if one.varies]
    if varying:
        print(f"        other parts in another order: {' '.join(map(str, varying))}")
    for end in ENDS[1:]:
        where: dict[str, list[int]] = {}
        for one in seen:
            if one.end == end:
                for reason in one.reasons:
                    where.setdefault(reason, []).append(one.number)
        for reason, numbers in sorted(where.items(), key=lambda item: -len(item[1])):
            more = " ..." if len(numbers) > _LISTED else ""
            listed = " ".join(map(str, numbers[:_LISTED]))
            print(f"        {end:8}{len(numbers):3}  {reason[:90]}: {listed}{more}")
    sys.stdout.flush()


# -- one building ----------------------------------------------------------------------------------


def _replay(building: Building, save: Path | None) -> int:
    for name, value in building.kind.items():
        print(f"{name:10} {value}")
    if save is not None:
        save.write_text(_obj(building) if save.suffix == ".obj" else _json(building), encoding="utf-8")
    judgement = judge(building)
    print(f"{judgement.verdict.value} {judgement.sentence}")
    for fault, where in judgement.faults:
        print(f"FAULT {fault.value}: {where}")
    if judgement.outcome is not None:
        for sentence in find_faults(building, judgement, again=True):
            print(f"FAULT {sentence}")
        if changes_with_order(building.solid, building.settings, judgement.outcome, seed=building.number):
            print("other parts where the mesh is in another order")
    try:
        outcome = run(building.solid, building.settings, title="Sweep")
    except GeometryError:
        return int(bool(judgement.faults))
    for finding in outcome.findings:
        at = "" if finding.where.point is None else " at " + ", ".join(f"{value:.1f}" for value in finding.where.point)
        print(f"{finding.severity.value:8}{finding.code:26}{finding.message}{at}")
    return int(bool(judgement.faults))


def _obj(building: Building) -> str:
    """Return the mesh as Wavefront OBJ, mm."""
    corners = [f"v {x:.9g} {y:.9g} {z:.9g}" for x, y, z in building.solid.points.tolist()]
    faces = ["f " + " ".join(str(point + 1) for point in face) for face in building.solid.faces]
    return "\n".join([*corners, *faces, ""])


def _json(building: Building) -> str:
    return json.dumps({"points": building.solid.points.tolist(), "faces": building.solid.faces})


if __name__ == "__main__":
    sys.exit(main())
