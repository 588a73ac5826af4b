"""Sweep the whole flow over buildings made by chance and print what came of them.

    python tests/sweep/random_buildings.py --count 1000
    python tests/sweep/random_buildings.py --seed 1 --only 37     one building again, with its findings or traceback

Every building depends on the seed and its number alone. The process ends with 1 where a fault was found.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from judging import Fault, Judgement, Verdict, judge
from made_buildings import Building, make_building
from stowfold.geometry.flow.run import run

__all__ = ["main", "sweep"]

#: How many buildings go by between two words on how far the sweep is.
_TOLD = 50

#: Buildings named for each kind of fault; the others are counted.
_NAMED = 12


def sweep(seed: int, numbers: Iterable[int]) -> Iterator[tuple[Building, Judgement]]:
    """Make and judge buildings one by one."""
    for number in numbers:
        building = make_building(seed, number)
        yield building, judge(building)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the sweep as the command line asks; return 1 where a fault was found."""
    asked = argparse.ArgumentParser(description="Sweep the whole flow over buildings made by chance.")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--first", type=int, default=0, help="number of the first building")
    asked.add_argument("--count", type=int, default=100, help="how many buildings")
    asked.add_argument("--only", type=int, help="run this building alone and show all of it")
    chosen = asked.parse_args(arguments)
    if chosen.only is not None:
        return _replay(chosen.seed, chosen.only)
    judged = []
    for building, judgement in sweep(chosen.seed, range(chosen.first, chosen.first + chosen.count)):
        judged.append((building, judgement))
        if len(judged) % _TOLD == 0:
            print(f"{len(judged)} of {chosen.count}", file=sys.stderr)
    print(f"{len(judged)} buildings of seed {chosen.seed}, from number {chosen.first} on\n")
    _print_kinds(judged)
    _print_codes(judged)
    _print_faults(judged, chosen.seed)
    return int(any(judgement.faults for _, judgement in judged))


def _replay(seed: int, number: int) -> int:
    building = make_building(seed, number)
    for name, value in building.kind.items():
        print(f"{name:10} {value}")
    judgement = judge(building)
    print(f"{judgement.verdict.value} {judgement.sentence}")
    for fault, where in judgement.faults:
        print(f"FAULT {fault.value}: {where}")
    if judgement.verdict in (Verdict.CRASH, Verdict.REFUSED):
        run(building.solid, building.settings, title="Sweep")
    outcome = run(building.solid, building.settings, title="Sweep")
    for finding in outcome.findings:
        print(f"{finding.severity.value:8}{finding.code:26}{finding.message}")
    return int(bool(judgement.faults))


def _print_kinds(judged: Sequence[tuple[Building, Judgement]]) -> None:
    """Print how many of each kind of building ended in each way."""
    heads = [verdict.value for verdict in Verdict]
    print(f"{'':34}{'all':>6}" + "".join(f"{head:>16}" for head in heads))
    total = Counter(judgement.verdict for _, judgement in judged)
    print(f"{'all':34}{len(judged):6}" + "".join(f"{total[verdict]:16}" for verdict in Verdict))
    for group in judged[0][0].kind if judged else ():
        print(group)
        kinds = Counter(building.kind[group] for building, _ in judged)
        ends = Counter((building.kind[group], judgement.verdict) for building, judgement in judged)
        for kind in sorted(kinds):
            print(f"  {kind:32}{kinds[kind]:6}" + "".join(f"{ends[kind, verdict]:16}" for verdict in Verdict))
    print()


def _print_codes(judged: Sequence[tuple[Building, Judgement]]) -> None:
    codes = Counter(code for _, judgement in judged for code in judgement.codes)
    print("errors told, by buildings")
    for code, count in sorted(codes.items(), key=lambda item: (-item[1], item[0])):
        print(f"  {code:32}{count:6}")
    refusals = Counter(judgement.sentence for _, judgement in judged if judgement.verdict is Verdict.REFUSED)
    print("\nrefused with")
    for sentence, count in sorted(refusals.items(), key=lambda item: (-item[1], item[0])):
        print(f"  {count:5}  {sentence}")
    print()


def _print_faults(judged: Sequence[tuple[Building, Judgement]], seed: int) -> None:
    print("faults, by buildings")
    for fault in Fault:
        where: dict[str, list[int]] = {}
        for building, judgement in judged:
            for found, place in judgement.faults:
                if found is fault:
                    known = place if judgement.verdict is Verdict.CRASH else ""
                    where.setdefault(known, []).append(building.number)
        numbers = {number for found in where.values() for number in found}
        print(f"  {fault.value:42}{len(numbers):6}")
        for place, found in sorted(where.items(), key=lambda item: -len(item[1])):
            listed = list(dict.fromkeys(found))
            more = ", …" if len(listed) > _NAMED else ""
            print(f"      {place or 'at'}: {', '.join(map(str, listed[:_NAMED]))}{more}")
    print(f"\nsee one again: python {sys.argv[0]} --seed {seed} --only NUMBER")


if __name__ == "__main__":
    sys.exit(main())
