"""Several lasers: which one cuts what, where that saves a sheet, and what is said of it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import svgelements
from parts_by_hand import make_part, make_stock
from shapely.geometry import box
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.board.stock import Grain
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Severity
from stowfold.geometry.sheet.check import check_sheets
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.layout_wishes import LayoutWishes, Pin
from stowfold.geometry.sheet.piece import Placement
from stowfold.geometry.sheet.svg import draw_sheet
from stowfold.geometry.sheet.times import sheet_seconds

NAME = "birch-plywood-3"
SMALL = Laser(name="bench", label="bench laser", bed=(400.0, 300.0))
LARGE = Laser(name="hall", label="hall laser", bed=(1200.0, 600.0), kerf=0.3)


def stocks_of(**changes):
    return {NAME: make_stock(sheet=(1200.0, 600.0), **changes)}


def lasers_by_part(layout):
    return {placement.part: layout.sheets[placement.sheet].laser.name for placement in layout.placements}


def test_only_what_is_too_large_goes_to_the_other_laser():
    parts = [make_part(f"P{i}", box(0, 0, 380, 280)) for i in range(4)] + [make_part("W1", box(0, 0, 1190, 580))]
    layout = lay_out(parts, stocks_of(), SMALL, [LARGE])
    assert lasers_by_part(layout) == {**{f"P{i}": "bench" for i in range(4)}, "W1": "hall"}
    (note,) = [finding for finding in layout.findings if finding.code == "part-on-other-laser"]
    assert note.where.part == "W1" and note.severity is Severity.NOTE
    # 1190 mm and a kerf of 0.2 beside it, on 400 mm less two margins of 3 and a kerf
    assert "796.4 mm too long for the bench laser" in note.message and "hall laser" in note.message
    assert [sheet.file for sheet in layout.sheets if sheet.laser == LARGE] == ["sheet-01-birch-plywood-3-hall.svg"]
    assert check_sheets(layout, {part.id: part for part in parts}) == ()


def test_all_on_the_larger_laser_where_that_saves_sheets():
    """A long wall takes half of the large sheet; three small parts fill the rest and need no sheet of their own."""
    parts = [make_part(f"P{i}", box(0, 0, 380, 280)) for i in range(3)] + [make_part("W1", box(0, 0, 1180, 250))]
    layout = lay_out(parts, stocks_of(), SMALL, [LARGE])
    assert set(lasers_by_part(layout).values()) == {"hall"} and len(layout.sheets) == 1
    assert layout.bound[0] == 1
    kept = lay_out(parts, stocks_of(), SMALL, [LARGE], chosen={"P0": "bench"})
    assert lasers_by_part(kept)["P0"] == "bench" and len(kept.sheets) > 1
    with pytest.raises(BadSettingError, match="'attic', which is not among bench, hall"):
        lay_out(parts, stocks_of(), SMALL, [LARGE], chosen={"P0": "attic"})


def test_every_sheet_is_drawn_with_kerf_and_colours_of_its_laser():
    """Read by svgelements: a part of 1190 x 580 is drawn 0.3 larger on one laser, one of 380 x 280 0.2 on the other."""
    colours = {**LARGE.colours, Operation.OUTER: "#111111"}
    parts = {
        part.id: part for part in (make_part("A", box(0, 0, 380, 280)), make_part("W1", box(0, 0, 1190, 580), stage=2))
    }
    layout = lay_out(list(parts.values()), stocks_of(), SMALL, [replace(LARGE, colours=colours)])
    found = []
    for index in range(len(layout.sheets)):
        drawn = svgelements.SVG.parse(_file(draw_sheet(layout, index, parts, title="x")), ppi=25.4)
        (outline,) = [
            element
            for element in drawn.elements()
            if isinstance(element, svgelements.Path) and element.stroke in (colours[Operation.OUTER], "#3d405b")
        ]
        x0, y0, x1, y1 = outline.bbox()
        found.append((round(x1 - x0, 2), round(y1 - y0, 2), outline.stroke.hex))
    assert found == [(380.2, 280.2, "#3d405b"), (1190.3, 580.3, "#111111")]


def _file(text):
    import io

    return io.StringIO(text)


def test_time_is_counted_with_the_feeds_of_each_laser():
    """Outlines of 100 x 100 at 10 mm/s and 1190.3 x 580.3 at 20 mm/s, without ramps and pierces: length over speed."""

    def with_speed(laser, speed):
        return replace(laser, acceleration=1e9, feeds={**laser.feeds, Operation.OUTER: Feed(speed, 0.0)})

    parts = {part.id: part for part in (make_part("A", box(0, 0, 99.8, 99.8)), make_part("W1", box(0, 0, 1190, 580)))}
    layout = lay_out(list(parts.values()), stocks_of(), with_speed(SMALL, 10.0), [with_speed(LARGE, 20.0)])
    seconds = {
        sheet.laser.name: sheet_seconds(layout, index, parts)["outer"] for index, sheet in enumerate(layout.sheets)
    }
    assert seconds == pytest.approx({"bench": 40.0, "hall": 2 * 1770.6 / 20.0}, rel=1e-6)


def test_what_no_laser_takes_is_said_with_the_nearest():
    layout = lay_out([make_part("W1", box(0, 0, 1300, 50))], stocks_of(), SMALL, [LARGE])
    (error,) = layout.findings
    assert error.code == "part-longer-than-sheet" and "hall laser" in error.message
    assert "106.6 mm more" in error.message  # 1300.3 less 1200 - 2 x 3 - 0.3


def test_a_larger_laser_that_keeps_the_grain_comes_before_one_that_does_not():
    part = make_part("W1", box(0, 0, 50, 350), grain=0.0)
    stocks = stocks_of(grain=Grain.LENGTH)
    assert lasers_by_part(lay_out([part], stocks, SMALL, [LARGE])) == {"W1": "hall"}
    alone = lay_out([part], stocks, SMALL)
    assert [finding.code for finding in alone.findings if finding.severity is Severity.WARNING] == ["grain-not-kept"]


def test_lasers_must_have_names_of_their_own():
    with pytest.raises(BadSettingError, match="Two lasers have one name"):
        lay_out([make_part("W1", box(0, 0, 50, 50))], stocks_of(), SMALL, [replace(LARGE, name="bench")])


def test_sheets_of_all_stocks_come_in_the_order_of_stages():
    """The roof's board comes first in the alphabet, but walls are cut before the floor, and the roof comes last."""
    parts = [
        make_part("W1", box(0, 0, 300, 60), stock="m-wall", stage=1),
        make_part("F1", box(0, 0, 300, 200), stock="z-floor", stage=2),
        make_part("R1", box(0, 0, 300, 150), stock="a-roof", stage=3),
    ]
    stocks = {name: make_stock(name) for name in ("a-roof", "m-wall", "z-floor")}
    assert [sheet.stock.name for sheet in lay_out(parts, stocks, SMALL).sheets] == ["m-wall", "z-floor", "a-roof"]


def test_a_pin_without_its_part_is_said():
    pins = [Placement("W9", 0, 0.0, np.array([5.0, 5.0])), Placement("W1", 0, math.pi / 2, np.array([80.0, 5.0]))]
    layout = lay_out([make_part("W1", box(0, 0, 60, 50))], stocks_of(), SMALL, pinned=pins)
    assert [
        (finding.code, "W9" in finding.message) for finding in layout.findings if finding.code.startswith("pin")
    ] == [("pin-without-part", True)]


def test_a_pin_keeps_its_part_on_the_laser_of_its_sheet():
    """The part would fit the first laser, but lies where only the other one reaches."""
    parts = [make_part("P0", box(0, 0, 380, 280)), make_part("W1", box(0, 0, 700, 250))]
    pin = Pin("P0", 0, 0.0, (790.0, 300.0), "hall")
    layout = lay_out(
        parts,
        stocks_of(),
        SMALL,
        [LARGE],
        chosen=LayoutWishes(pins=(pin,)).lasers_among(["bench", "hall"]),
        pinned=[pin.placement],
    )
    assert lasers_by_part(layout) == {"P0": "hall", "W1": "hall"} and len(layout.sheets) == 1
    assert check_sheets(layout, {part.id: part for part in parts}) == ()
