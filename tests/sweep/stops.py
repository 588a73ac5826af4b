"""How deep the stops of a roof reach below the walls' tops, measured on the standing boards, as a table.

    python tests/sweep/stops.py

A house of 9 x 6 squares at four pitches, with a gable or a hip roof, in two boards: the deepest stop in each of four
directions, mm, square to the wall's top edge. With --families 20 it also counts, among so many sound buildings of each
family with walls under a roof, those that are told of a shallow stop.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "shared"))

import numpy as np
from marked_roofs import marked_block_out
from sound_buildings import FAMILIES, make_sound
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.flow.run import run
from stowfold.geometry.joints.engaged import engagement
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.plan.walls import PlanKind, Roof, RoofKind, outline_of
from stowfold.geometry.solid.solid import make_solid

__all__ = ["deepest", "house", "main"]

SQUARE, LENGTH, WIDTH = 25.4, 9, 6

#: Rise over a run of 12.
PITCHES = (4, 8, 12, 16)
BOARDS = ("birch-plywood-3", "grey-board-2")
WAYS = {"left": (-1, 0), "right": (1, 0), "front": (0, -1), "back": (0, 1)}

#: Families whose roofs rest on walls.
ROOFED = ("gable", "hip", "lean-to", "broken-slopes", "winged-hip", "crossing-gables")


def house(kind: RoofKind, rise: float, board: str) -> Outcome:
    """Return a house of one board that parts at the middle of its front."""
    plan = outline_of(PlanKind.RECTANGLE, length=LENGTH, width=WIDTH, square=SQUARE)
    roof = Roof(kind, math.atan2(rise, 12.0), 6.0)
    block = marked_block_out(plan, roof=roof, breaks=((LENGTH * SQUARE / 2, 0.0),))
    stock = find_stock(board, read_stocks())
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    return run(solid, Settings(stock, stock, stock, stock, propose=Proposal.NET), title=f"{kind.value} {rise:g}")


def deepest(outcome: Outcome) -> dict[str, float]:
    """Return the depth of the deepest stop toward each side of a house, mm, 0 where there is none."""
    found = engagement(outcome.facets, outcome.parts)
    return {
        name: max((stop.depth for stop in found if np.dot(stop.out, way) > math.cos(math.radians(10.0))), default=0.0)
        for name, way in WAYS.items()
    }


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the tables; return 1 where a stop of the house reaches less than 2.5 mm."""
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("--families", type=int, default=0, help="count shallow stops in so many buildings of a family")
    chosen = reader.parse_args(arguments)
    print(f"| board | roof | rise in 12 | {' | '.join(WAYS)} |\n|---|---|---|{'---|' * len(WAYS)}")
    shallow = False
    for board in BOARDS:
        for kind in (RoofKind.GABLE, RoofKind.HIP):
            for rise in PITCHES:
                depths = deepest(house(kind, rise, board))
                shallow |= min(depths.values()) < 2.5
                print(
                    f"| {board} | {kind.value} | {rise} | {' | '.join(f'{depth:.2f}' for depth in depths.values())} |"
                )
    for family in ROOFED if chosen.families else ():
        told = made = 0
        for number in range(chosen.families):
            building = make_sound(1, FAMILIES[family], number, None)
            try:
                outcome = run(building.solid, building.settings, title=family)
            except GeometryError:
                continue
            made += 1
            told += any(finding.code == "stop-shallow" for finding in outcome.findings)
        print(f"{family:16} {told} of {made} told of a shallow stop")
    return int(shallow)


if __name__ == "__main__":
    raise SystemExit(main())
