"""Cost of boards, against sums done by hand; prices are invented."""

from __future__ import annotations

from dataclasses import replace

import pytest
from parts_by_hand import make_one_sheet, make_part, make_stock
from shapely.geometry import box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import check_stock
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.sheet.layout import lay_out, layout_cost, sheet_cost


def test_a_sheet_costs_its_price_and_a_piece_of_one_its_share():
    (sheet,) = make_one_sheet().sheets
    assert sheet_cost(sheet) is None
    assert sheet_cost(replace(sheet, stock=make_stock(price=4.0))) == 4.0
    halved = make_stock(price=4.0, sheet=(600.0, 600.0))
    assert sheet_cost(replace(sheet, stock=halved)) == 2.0
    assert sheet_cost(replace(sheet, stock=halved, offcut=True)) == 0.0


def test_the_layout_sums_what_is_known_and_names_the_rest():
    stocks = {
        "a": make_stock("a", label="A", price=3.5),
        "b": make_stock("b", label="B", price=0.0),
        "c": make_stock("c", label="C"),
    }
    parts = [make_part(f"{name}{i}", box(0, 0, 500, 250), stock=name) for name in "abc" for i in range(2)]
    assert layout_cost(lay_out(parts, stocks, Laser())) == (7.0, ("C",))
    assert layout_cost(lay_out([parts[-1]], stocks, Laser())) == (None, ("C",))
    assert layout_cost(lay_out([], {}, Laser())) == (None, ())


@pytest.mark.parametrize("price", [-1.0, float("nan"), float("inf")])
def test_a_price_that_is_none_is_refused(price):
    with pytest.raises(BadSettingError, match="The price of a sheet of"):
        check_stock(make_stock(price=price))
