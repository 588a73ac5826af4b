"""Cut random convex hulls of 6 to 38 faces with birch plywood 3 mm, with nothing proposed and with all of it.

    python tests/sweep/random_hulls.py --count 300 --least 6

Prints for each way how many are cut and proved, the error codes, and how many pieces the faces come to. Hulls have
radii of 30 to 150 mm; nothing keeps their faces from being slivers narrower than the board is thick.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "shared"))

import numpy as np
from convex_solids import hull, random_hull
from least_pieces import least_by_building
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.propose.net import links_of
from stowfold.geometry.solid.find import find_facets


def main() -> None:
    """Run the sweep and print its table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=20)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--least", type=int, default=0, help="count the fewest pieces of hulls of up to so many faces")
    asked = parser.parse_args()
    birch = find_stock("birch-plywood-3", read_stocks())
    for way in (Proposal.NONE, Proposal.ALL):
        settings = Settings(birch, birch, birch, birch, propose=way)
        codes: Counter[str] = Counter()
        proved = facets = pieces = counted = more = 0
        started = time.process_time()
        for seed in range(asked.first, asked.first + asked.count):
            outcome = run(hull(random_hull(seed)), replace(settings, propose=way), title=f"Stone {seed}")
            errors = {finding.code for finding in outcome.findings if finding.severity is Severity.ERROR}
            if errors:
                print(f"  {way.value} {seed}: {', '.join(sorted(errors))}", flush=True)
            codes.update(errors)
            proved += not errors and outcome.proof.holds
            facets += len(outcome.facets.facets)
            made = sum(part.kind is PartKind.PANEL for part in outcome.parts)
            pieces += made
            if way is Proposal.ALL and len(outcome.facets.facets) <= asked.least:
                counted, more = counted + 1, more + made - _least(random_hull(seed))
        seconds = (time.process_time() - started) / asked.count
        print(f"{way.value:5} {proved} of {asked.count} cut and proved, {facets} faces in {pieces} pieces, ", end="")
        print(f"{seconds:.2f} s each, {dict(codes)}", flush=True)
        if counted:
            words = "pieces more than the fewest that can be built"
            print(f"      {counted} of up to {asked.least} faces have {more} {words}", flush=True)


def _least(points: np.ndarray) -> int:
    """Return the fewest pieces of a hull, by building every choice of bends."""
    facets = find_facets(hull(points))
    (shell,) = facets.shells
    return least_by_building(facets, links_of(facets, shell))[0]


if __name__ == "__main__":
    main()
