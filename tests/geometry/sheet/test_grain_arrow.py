"""The grain arrow lies along the board's grain, in the margin, and nowhere else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from parts_by_hand import make_part, make_stock
from shapely.geometry import box
from stowfold.geometry.beam.laser import Laser, Operation
from stowfold.geometry.board.stock import Grain
from stowfold.geometry.sheet.grain_arrow import SHEET_MARKS
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.order import sheet_lines


@pytest.mark.parametrize(
    ("grain", "along"), [(Grain.LENGTH, 0), (Grain.WIDTH, 1), (Grain.CROSSED, 0), (Grain.NONE, None)]
)
def test_the_arrow_lies_in_the_margin_along_the_grain(grain: Grain, along: int | None) -> None:
    """A board of 600 x 300 on a bed of 600 x 300 has its length along x (by eye)."""
    stock = replace(make_stock(), grain=grain)
    layout = lay_out([make_part("W1", box(0, 0, 50, 30))], {stock.name: stock}, Laser(margin=3.0))
    engraved = sheet_lines(layout, 0, {"W1": make_part("W1", box(0, 0, 50, 30))})[Operation.ENGRAVE]
    marks = [lines for name, lines in engraved if name == SHEET_MARKS]
    assert bool(marks) == (along is not None)
    for lines in marks:
        low, high = lines.points.min(axis=0), lines.points.max(axis=0)
        assert low.min() >= 0.0 and high[1 - along] <= 3.0 and high[along] - low[along] > 20.0
        sides = lines.segments()
        longest = max(sides[:, 1] - sides[:, 0], key=lambda run: float(np.hypot(*run)))
        assert abs(longest[1 - along]) < 1e-9


def test_a_margin_too_narrow_for_letters_stays_bare() -> None:
    stock = make_stock()
    layout = lay_out([make_part("W1", box(0, 0, 50, 30))], {stock.name: stock}, Laser(margin=1.0))
    engraved = sheet_lines(layout, 0, {"W1": make_part("W1", box(0, 0, 50, 30))})[Operation.ENGRAVE]
    assert all(name != SHEET_MARKS for name, _ in engraved)
