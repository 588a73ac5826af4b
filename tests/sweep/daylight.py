"""Light through the roofs of added buildings: ``python tests/sweep/daylight.py [--boards 1] [--only TEXT]``.

Adds hips, pyramids and crossing gables over every plan with them in two pitches and two boards, and prints per roof how
wide the widest gap is that a straight ray passes, in mm: along parted lines, where roof lines meet, and at the eaves;
for boards as drawn, 0.2 mm thinner, and cut 0.05 mm too small all round. Then the sums: how many are wider than LIGHT.
"""

from __future__ import annotations

import argparse
import itertools
import math
import sys
from dataclasses import astuple, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "shared"))

from roof_light import light_through_roof
from roofs import BOARDS, PLANS
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.settings import ClosureSettings
from stowfold.geometry.tolerance import LIGHT

ROOFS = [
    *itertools.product(("l", "t", "u", "z"), (RoofKind.HIP, RoofKind.CROSSING)),
    ("square", RoofKind.PYRAMID),
    ("rectangle", RoofKind.HIP),
    ("rectangle", RoofKind.HALF_HIP),
]
PITCHES = (25.0, 40.0)
REAL = ({}, {"thinner": 0.2}, {"smaller": 0.05})


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--boards", type=int, default=2, help="how many boards")
    parser.add_argument("--only", default="", help="only roofs whose description holds this")
    parser.add_argument("--caps", action="store_true", help="have caps cut")
    chosen = parser.parse_args()
    rows = []
    for board, (plan, kind), pitch in itertools.product(BOARDS[: chosen.boards], ROOFS, PITCHES):
        name = f"{board}, {plan}, {kind.value}, {pitch:g} degrees"
        if chosen.only not in name:
            continue
        stock = find_stock(board, read_stocks())
        settings = Settings(stock, stock, stock, stock, closure=ClosureSettings(caps=chosen.caps))
        sizes = replace(PLANS[plan], roof=Roof(kind, math.radians(pitch)))
        try:
            outcome = make_parts(as_solid(add_building(sizes, settings)), settings, title=name).outcome
        except GeometryError as error:
            print(f"{name}: {error}", flush=True)
            continue
        row = [astuple(light_through_roof(outcome, **real)) for real in REAL]
        print(f"{name}:", " | ".join(" ".join(f"{width:5.2f}" for width in light) for light in row), flush=True)
        rows.append(row)
    wide = (np.array(rows) > LIGHT + 0.2).sum(axis=0)
    print(f"{len(rows)} roofs; wider than {LIGHT:g} mm and 0.2 more, along, inner, eaves:", wide.tolist())
    print("widest:", np.round(np.array(rows).max(axis=0), 2).tolist())
    return 0


if __name__ == "__main__":
    sys.exit(main())
