"""Porches before houses and wings: ``python tests/sweep/porches.py [--only TEXT]``.

Stands porches with both kinds of roof, on posts and with side walls, before a wall of a plain house, before its gable
and before the end of a lower wing, in two boards, runs each through the flow up to the proof, and judges what is cut
as ``families`` does. The exit code is 1 where one is not cut or is wrong.
"""

from __future__ import annotations

import argparse
import itertools
import math
import sys
from collections import Counter

import numpy as np
from families import find_faults
from judging import Verdict, judge
from made_buildings import Building
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.porch import PorchRoof, PorchSize, porch_body
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.plan.wings import Wing
from stowfold.geometry.solid.solid import Solid, join_solids, make_solid

SQUARE = 25.4
ROOF = Roof(RoofKind.GABLE, math.radians(35.0))
HOUSE = BuildingSizes(PlanKind.RECTANGLE, 9, 6, height=60.0, roof=ROOF)
WINGED = BuildingSizes(PlanKind.T, 9, 8, bar=4, wing=4, height=95.0, roof=ROOF, wings=(Wing(50.0, ROOF),))

#: Houses, and where on them a porch stands: its foot in squares, and by how much it is turned, degrees.
PLACES = {
    "long wall": (HOUSE, (2.5, 0.0), 0.0),
    "gable": (HOUSE, (9.0, 2.0), 90.0),
    "end of a wing": (WINGED, (4.5, 8.0), 180.0),
}
BOARDS = ("birch-plywood-3", "grey-board-2")


def standing(place: str, roof: PorchRoof, *, closed: bool, settings: Settings) -> Solid:
    """Return a house with a porch, as both are read back from meshes."""
    sizes, (x, y), turn = PLACES[place]
    points, faces = porch_body(PorchSize(50.8, 34.0, 25.4, math.radians(25.0), roof, closed))
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    points = points @ np.array([[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]])
    points = (points + np.array([x * SQUARE, y * SQUARE, 0.0])).astype(np.float32).astype(np.float64)
    house = as_solid(add_building(sizes, settings))
    return join_solids([house, make_solid(points, faces, source="Porch")])


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="only porches whose description holds this")
    chosen = parser.parse_args()
    ends: Counter[str] = Counter()
    for place, roof, closed, board in itertools.product(PLACES, PorchRoof, (False, True), BOARDS):
        name = f"{place}, {roof.value}, {'side walls' if closed else 'posts'}, {board}"
        if chosen.only not in name:
            continue
        stock = find_stock(board, read_stocks())
        settings = Settings(stock, stock, stock, stock, propose=Proposal.NONE)
        solid = standing(place, roof, closed=closed, settings=settings)
        building = Building(0, {"mesh": "plain", "building": name}, 0.0, solid, settings)
        judgement = judge(building, sheets=False)
        why = judgement.codes or (judgement.sentence,)
        end = judgement.verdict.value
        if judgement.verdict is Verdict.CUT and judgement.outcome is not None:
            why = find_faults(building, judgement, again=False)
            end = "wrong" if why else end
        print(f"{name}: {end} {' '.join(why)}", flush=True)
        ends[end] += 1
    print(", ".join(f"{count} {end}" for end, count in ends.items()))
    return 0 if set(ends) <= {Verdict.CUT.value} else 1


if __name__ == "__main__":
    sys.exit(main())
