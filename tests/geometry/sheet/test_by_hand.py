"""Parts moved by hand: what is said to fit passes the last look at the sheets, which measures with shapely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from parts_by_hand import make_building, make_one_sheet, make_part, make_stock
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.findings import Severity
from stowfold.geometry.part import LabelSpot
from stowfold.geometry.sheet.by_hand import Fit, InHand
from stowfold.geometry.sheet.check import check_sheets
from stowfold.geometry.sheet.layout import Layout, lay_out
from stowfold.geometry.sheet.layout_wishes import Pin


def with_placement(layout, placement):
    placements = [placement if other.part == placement.part else other for other in layout.placements]
    return Layout(layout.sheets, tuple(placements), layout.bound, layout.findings)


def faults(layout, parts):
    return {sheet.code for sheet in check_sheets(layout, parts) if sheet.severity in (Severity.ERROR, Severity.WARNING)}


def outline_on(placement, part):
    return Polygon(placement.place(np.array(part.outline.exterior.coords)))


@pytest.fixture
def two():
    """A sheet with a box of 100 x 60 at (50, 50) and a strip of 80 x 20 far away, both with their names on them."""
    parts = {
        "W1": make_part("W1", box(0, 0, 100, 60), label_spot=LabelSpot((50.0, 30.0), 0.0, 60.0, 15.0)),
        "S1": make_part("S1", box(0, 0, 80, 20), label_spot=LabelSpot((40.0, 10.0), 0.0, 60.0, 15.0)),
    }
    return make_one_sheet(("W1", (50, 50)), ("S1", (400, 200))), parts


@pytest.mark.slow
def test_what_fits_by_hand_passes_the_last_look():
    parts = {part.id: part for part in make_building()}
    layout = lay_out(list(parts.values()), {"birch-plywood-3": make_stock()}, Laser())
    rng = np.random.default_rng(3)
    seen = dict.fromkeys(Fit, 0)
    for name in ("J1", "S2", "J2a", "W1"):
        hand = InHand(layout, parts, name)
        for sheet in range(len(layout.sheets)):
            for x, y in rng.uniform((0, 0), (600, 300), (25, 2)):
                bearing = hand.bear(sheet, (x, y), snap=12.0)
                seen[bearing.fit] += 1
                found = faults(with_placement(layout, bearing.placement), parts)
                if bearing.fit is Fit.FREE:
                    assert not found, (name, bearing)
                else:
                    assert found & {"parts-overlap", "spacing-not-kept", "outside-margin"}, (name, bearing)
    assert min(seen.values()) > 5


def test_a_part_snaps_against_its_neighbour_at_the_laser_s_spacing(two):
    layout, parts = two
    hand = InHand(layout, parts, "S1")
    for nudge in (-4.0, 3.0):  # into the neighbour, and short of it
        bearing = hand.bear(0, (152.2 + nudge, 60.0), snap=8.0)
        assert bearing.fit is Fit.FREE
        gap = outline_on(bearing.placement, parts["S1"]).distance(outline_on(layout.placements[0], parts["W1"]))
        assert gap == pytest.approx(2.0 + 2 * 0.2, abs=2e-3)  # spacing beside both cuts, each a kerf wide
        assert not faults(with_placement(layout, bearing.placement), parts)


def test_a_part_snaps_into_the_corner_of_the_margin(two):
    layout, parts = two
    bearing = InHand(layout, parts, "S1").bear(0, (1.0, 6.0), snap=8.0)
    assert bearing.fit is Fit.FREE
    x0, y0, _, _ = outline_on(bearing.placement, parts["S1"]).bounds
    assert (x0, y0) == pytest.approx((3.0 + 0.2, 3.0 + 0.2), abs=2e-3)


def test_without_snapping_a_part_stays_where_it_is_held(two):
    layout, parts = two
    hand = InHand(layout, parts, "S1")
    free = hand.bear(0, (200.0, 60.123))
    assert free.fit is Fit.FREE
    np.testing.assert_allclose(free.placement.shift, (200.0, 60.123))
    assert hand.bear(0, (151.0, 60.0)).fit is Fit.OTHERS_MOVE


def test_loose_parts_give_way_and_pinned_ones_do_not(two):
    layout, parts = two
    over = (80.0, 70.0)
    loose = InHand(layout, parts, "S1").bear(0, over)
    assert (loose.fit, loose.touched) == (Fit.OTHERS_MOVE, ("W1",))
    assert "W1" in loose.why
    pinned = InHand(layout, parts, "S1", fixed=["W1"]).bear(0, over)
    assert (pinned.fit, pinned.touched) == (Fit.NOT, ("W1",))
    assert "pinned" in pinned.why


def test_beyond_the_sheet_nothing_fits(two):
    layout, parts = two
    hand = InHand(layout, parts, "S1")
    outside = hand.bear(0, (590.0, 100.0), snap=8.0)
    assert outside.fit is Fit.NOT
    assert "margin of 3 mm" in outside.why
    # it is shown where it is held, not where it would have to lie
    np.testing.assert_allclose(outside.placement.shift, (590.0, 100.0))
    assert hand.bear(0, (300.0, 100.0), beside=True).fit is Fit.NOT


def test_a_part_goes_to_sheets_of_its_own_board_and_laser_only(two):
    layout, parts = two
    first = layout.sheets[0]
    others = (
        replace(first, file="sheet-02.svg"),
        replace(first, stock=make_stock("mdf-3", label="MDF 3 mm")),
        replace(first, laser=Laser("works", "laser at work")),
    )
    layout = Layout((first, *others), layout.placements, (1, ""), ())
    hand = InHand(layout, parts, "S1")
    assert hand.bear(1, (100.0, 100.0)).fit is Fit.FREE
    assert "MDF 3 mm" in hand.bear(2, (100.0, 100.0)).why
    assert "laser at work" in hand.bear(3, (100.0, 100.0)).why


def test_turning_keeps_what_is_held_in_place_and_never_mirrors(two):
    layout, parts = two
    hand = InHand(layout, parts, "S1")
    held, at = np.array([70.0, 5.0]), np.array([300.0, 150.0])
    for quarter in (1, 2, 3, 0):
        hand.turn()
        shift = hand.shift_for(held, at)
        assert hand.quarter == quarter
        placement = hand.bear(0, shift).placement
        np.testing.assert_allclose(placement.place(held[None])[0], at, atol=1e-3)
        corners = placement.place(np.array([[0.0, 0.0], [80.0, 0.0], [80.0, 20.0]]))
        assert np.linalg.det(corners[1:] - corners[0]) == pytest.approx(1600.0)
    assert hand.bear(0, hand.shift_for(held, at)).fit is Fit.FREE


def test_the_label_in_the_waste_keeps_its_place_too():
    parts = {name: make_part(name, box(0, 0, 40, 30)) for name in ("S1", "S2")}
    layout = make_one_sheet(("S1", (100, 100)), ("S2", (300, 100)))
    hand = InHand(layout, parts, "S2")
    # the label of S1 stands in the waste just below it
    bearing = hand.bear(0, (100.0, 100.0 - 30.0 - 3.0))
    assert bearing.fit is Fit.OTHERS_MOVE
    below = hand.bear(0, (100.0, 100.0 - 30.0 - 3.0), snap=10.0)
    assert below.fit is Fit.FREE
    assert not faults(with_placement(layout, below.placement), parts)


@pytest.mark.slow
def test_a_placement_by_hand_survives_the_next_layout():
    parts = {part.id: part for part in make_building()}
    stocks = {"birch-plywood-3": make_stock()}
    layout = lay_out(list(parts.values()), stocks, Laser())
    hand = InHand(layout, parts, "J1")
    bearing = hand.bear(0, (300.0, 150.0), snap=10.0)
    assert bearing.fit in (Fit.FREE, Fit.OTHERS_MOVE)
    again = lay_out(list(parts.values()), stocks, Laser(), pinned=[Pin.of(bearing.placement).placement])
    (kept,) = (placement for placement in again.placements if placement.part == "J1")
    assert (kept.sheet, kept.turn) == (0, bearing.placement.turn)
    np.testing.assert_allclose(kept.shift, bearing.placement.shift)
    assert not faults(again, parts)
