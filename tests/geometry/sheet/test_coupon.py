"""The coupon as it is drawn on its sheet, measured by shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon
from stowfold.geometry.beam.kerf import draw_part
from stowfold.geometry.beam.laser import Laser, Operation
from stowfold.geometry.board.coupon import plan_coupon
from stowfold.geometry.board.stock import Grain, find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Severity
from stowfold.geometry.part import PartKind
from stowfold.geometry.sheet.coupon import lay_out_coupon
from stowfold.geometry.sheet.order import sheet_lines

STOCKS = read_stocks()
BASSWOOD = find_stock("basswood-3.2", STOCKS)


@pytest.fixture(scope="module")
def coupon():
    return lay_out_coupon(BASSWOOD, Laser())


def outlines(coupon, laser):
    """The drawn outline of every part on its sheet."""
    parts = {part.id: part for part in coupon.parts}
    found = {}
    for index in range(len(coupon.layout.sheets)):
        for name, lines in sheet_lines(coupon.layout, index, parts)[Operation.OUTER]:
            found[name] = Polygon(lines.points)
    return found


@pytest.mark.parametrize("stock", STOCKS[2:], ids=lambda stock: stock.name)
def test_sheet_goods_have_a_coupon_without_errors_on_one_sheet(stock):
    made = lay_out_coupon(stock, Laser(bed=(600.0, 400.0)))
    assert {part.kind for part in made.parts} == {PartKind.COUPON}
    assert {part.stage for part in made.parts} == {0}
    assert len(made.layout.sheets) == 1
    assert len(made.layout.placements) == len(made.parts)
    assert [finding for finding in made.findings if finding.severity is not Severity.NOTE] == []


@pytest.mark.parametrize("bed", [(600.0, 300.0), (300.0, 600.0)])
@pytest.mark.slow
def test_slats_are_drawn_one_pitch_wide_along_their_axis(bed):
    laser = Laser(bed=bed)
    made = lay_out_coupon(BASSWOOD, laser)
    drawn = outlines(made, laser)
    for axis, letter in enumerate("XY"):
        for number in range(1, made.plan.slats + 1):
            x0, y0, x1, y1 = drawn[f"{letter}{number}"].bounds
            assert (x1 - x0, y1 - y0)[axis] == pytest.approx(10.0)
            assert (x1 - x0, y1 - y0)[1 - axis] == pytest.approx(25.0 + BASSWOOD.kerf)


@pytest.mark.slow
def test_slots_are_drawn_as_wide_as_the_number_beside_them(coupon):
    ladder = next(part for part in coupon.parts if part.id == "S")
    holes = draw_part(ladder, BASSWOOD.kerf).inner.polylines()
    widths = sorted(float(np.ptp(hole[:, 0])) for hole in holes)
    assert widths == pytest.approx([2.8 + 0.05 * k for k in range(13)])
    assert {round(float(np.ptp(hole[:, 1])), 6) for hole in holes} == {15.0}
    engraved = shapely.MultiLineString(list(ladder.engrave))
    assert shapely.contains(ladder.outline, engraved)


def test_hinges_follow_the_grain_of_solid_wood(coupon):
    """The sheet's grain runs along its longer side, which lies along x on this bed."""
    turns = {placement.part: placement.turn for placement in coupon.layout.placements}
    for part in coupon.parts:
        if part.lattices:
            along = math.degrees(turns[part.id] + math.pi / 2) % 180.0
            assert along == pytest.approx(90.0 if part.id == "H9" else 0.0, abs=1e-6)


def test_hinges_differ_in_one_size_each(coupon):
    common = coupon.plan.rungs[0].lattice
    sizes = [(rung.lattice.link_width, rung.lattice.opening, rung.lattice.slits) for rung in coupon.plan.rungs]
    base = (common.link_width, common.opening, common.slits)
    changed = [sum(a != b for a, b in zip(size, base, strict=True)) for size in sizes]
    assert changed == [0, 1, 1, 1, 1, 1, 1, 1, 0]
    assert {size[0] for size in sizes} == {0.8, 1.0, 1.2, 1.5}
    assert min(rung.lattice.slit for rung in coupon.plan.rungs) < 20.0
    assert max(rung.lattice.slit for rung in coupon.plan.rungs) > 55.0


def test_the_hole_for_the_string_lies_at_the_arm(coupon):
    for part in coupon.parts:
        for placed in part.lattices:
            middle = placed.zone.mean(axis=0)
            for hole in part.outline.interiors:
                distance = np.hypot(*(np.array(Polygon(hole).centroid.coords[0]) - middle))
                assert distance == pytest.approx(coupon.plan.arm)


def test_repeats_are_cut_and_named():
    plan = plan_coupon(BASSWOOD, repeats=3)
    assert [rung.id for rung in plan.rungs][:4] == ["H1a", "H1b", "H1c", "H2a"]
    assert len(plan.rungs) == 27
    with pytest.raises(BadSettingError, match="1 to 9"):
        plan_coupon(BASSWOOD, repeats=0)


def test_boards_without_grain_have_no_piece_across_it():
    for stock in STOCKS:
        across = [rung for rung in plan_coupon(stock).rungs if rung.across_grain]
        assert len(across) == (0 if stock.grain is Grain.NONE else 1)
