"""Parts lie on sheets as the maker would lay them: apart, inside the margin, along the grain, never mirrored."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from parts_by_hand import Waiting, make_building, make_lattice, make_part, make_stock
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import Grain
from stowfold.geometry.errors import BadSettingError, CancelledError
from stowfold.geometry.nest.bound import fewest_sheets
from stowfold.geometry.part import LabelSpot, PartKind
from stowfold.geometry.sheet.check import check_sheets
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.piece import Placement
from stowfold.geometry.sheet.svg import place_matrix

NAME = "birch-plywood-3"


def by_id(parts):
    return {part.id: part for part in parts}


@pytest.fixture(scope="module")
def building():
    """A building's parts and their layout, for tests that only look at it."""
    parts = make_building()
    return parts, lay_out(parts, {NAME: make_stock()}, Laser())


def test_a_building_is_laid_out_cleanly_and_the_same_way_twice(building):
    parts, layout = building
    assert sorted(p.part for p in layout.placements) == sorted(p.id for p in parts)
    assert check_sheets(layout, by_id(parts)) == ()
    again = lay_out(parts[::-1], {NAME: make_stock()}, Laser())
    assert [(p.part, p.sheet, p.turn, *p.shift) for p in layout.placements] == [
        (p.part, p.sheet, p.turn, *p.shift) for p in again.placements
    ]
    assert layout.bound[0] <= len(layout.sheets)


def test_a_label_beside_its_part_is_no_news():
    """A fin whose hidden place is narrower than nothing: its name lies in the waste, and the maker hears nothing."""
    fin = make_part("S1a-fin", box(0, 0, 15, 15.5), label_spot=LabelSpot((7.0, 7.0), 0.0, -0.04, 8.0))
    layout = lay_out([fin], {NAME: make_stock()}, Laser())
    assert [placed.part for placed in layout.placements] == ["S1a-fin"]
    assert layout.findings == ()


def test_turns_never_mirror(building):
    _, layout = building
    assert len({p.turn for p in layout.placements}) > 1
    for placement in layout.placements:
        a, b, c, d, _, _ = place_matrix(placement, layout.sheets[placement.sheet])
        assert a * d - b * c == pytest.approx(-1.0, abs=1e-12)


def test_used_share_is_wood_over_sheet(building):
    parts, layout = building
    total = sum(sheet.used_share * sheet.size[0] * sheet.size[1] for sheet in layout.sheets)
    assert total == pytest.approx(sum(p.outline.area for p in parts))


@settings(max_examples=8, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.floats(5, 280), st.floats(5, 280), st.integers(0, 3)), min_size=1, max_size=14),
    spacing=st.just(0.0) | st.floats(0.01, 6),
    margin=st.floats(0, 8),
)
def test_any_parts_keep_margin_and_spacing(sizes, spacing, margin):
    parts = [make_part(f"P{i}", box(0, 0, w, h), stage=s) for i, (w, h, s) in enumerate(sizes)]
    stocks, laser = {NAME: make_stock()}, Laser(spacing=spacing, margin=margin)
    layout = lay_out(parts, stocks, laser)
    placed = {p.part for p in layout.placements}
    for finding in layout.findings:
        assert finding.code == "part-longer-than-sheet" and finding.where.part not in placed
    assert len(placed) + len(layout.findings) == len(parts)
    drawn = [
        (p.sheet, shapely.transform(by_id(parts)[p.part].outline.buffer(0.1, join_style="mitre"), p.place))
        for p in layout.placements
    ]
    for i, (sheet, one) in enumerate(drawn):
        x0, y0, x1, y1 = one.bounds
        # The beam burns half of the kerf of 0.2 on either side of a line; the rest stays whole.
        assert min(x0, y0, 600 - x1, 300 - y1) >= margin + 0.1 - 1e-6
        for other_sheet, other in drawn[:i]:
            # Without spacing they may share a cut, but none may lie in the other.
            least = spacing + 0.2 if spacing > 0 else 0.0
            assert sheet != other_sheet or one.distance(other) >= least - 1e-6
            assert sheet != other_sheet or one.intersection(other).area < 1e-4


def test_open_slits_that_run_past_the_outline_keep_the_margin_too():
    spot = LabelSpot((20.0, 31.0), 0.0, 30.0, 8.0)
    part = make_part("W1", box(0, 0, 200, 62), lattices=(make_lattice(90.0, 62.0),), label_spot=spot)
    placement = lay_out([part], {NAME: make_stock()}, Laser(margin=3.0)).placements[0]
    low = placement.place(np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 62.0], [0.0, 62.0]])).min(axis=0)
    along = abs(round(math.sin(placement.turn)))
    assert low[along] == pytest.approx(3.0 + 0.1 + 0.1)
    # Legs end one kerf of 0.2 past the edge, the beam burns half a kerf more.
    assert low[1 - along] == pytest.approx(3.0 + 0.2 + 0.1)


def test_early_stages_lie_on_early_sheets():
    parts = [make_part(f"P{i}", box(0, 0, 280, 250), stage=stage) for i, stage in enumerate([3, 1, 2, 1])]
    layout = lay_out(parts, {NAME: make_stock()}, Laser())
    stage = {p.part: by_id(parts)[p.part].stage for p in layout.placements}
    assert {p.sheet for p in layout.placements if stage[p.part] == 1} == {0}
    assert len(layout.sheets) == 2


@pytest.mark.parametrize("grain", [Grain.LENGTH, Grain.WIDTH])
def test_grain_runs_as_the_part_wants_it(grain):
    stocks = {NAME: make_stock(grain=grain)}
    parts = [make_part("A", box(0, 0, 200, 50), grain=math.pi / 2), make_part("B", box(0, 0, 50, 200), grain=0.0)]
    layout = lay_out(parts, stocks, Laser())
    sheet_grain = 0.0 if grain is Grain.LENGTH else math.pi / 2
    for placement in layout.placements:
        runs = by_id(parts)[placement.part].grain + placement.turn
        assert abs(math.sin(runs - sheet_grain)) < 1e-9
    assert layout.findings == ()


def test_grain_follows_a_sheet_turned_onto_the_bed():
    stocks = {NAME: make_stock(grain=Grain.LENGTH)}
    layout = lay_out([make_part("A", box(0, 0, 200, 50), grain=0.0)], stocks, Laser(bed=(300.0, 600.0)))
    assert layout.sheets[0].size == (300.0, 600.0)
    assert abs(math.cos(layout.placements[0].turn)) < 1e-9


def test_stages_never_cost_a_sheet():
    """One part of each stage fits with the others on one sheet; sheets of their own would be three."""
    parts = [make_part(f"P{i}", box(0, 0, 180, 250), stage=stage) for i, stage in enumerate([3, 1, 2])]
    assert len(lay_out(parts, {NAME: make_stock()}, Laser()).sheets) == 1


def test_pinned_parts_stay_where_they_are():
    parts, stocks = make_building(), {NAME: make_stock()}
    pins = [Placement("F1", 0, 0.3, np.array([200.0, 40.0])), Placement("J1", 0, 0.0, np.array([20.0, 30.0]))]
    layout = lay_out(parts, stocks, Laser(), pinned=pins)
    here = {placement.part: placement for placement in layout.placements}
    for pin in pins:
        assert (here[pin.part].sheet, here[pin.part].turn) == (pin.sheet, pin.turn)
        np.testing.assert_array_equal(here[pin.part].shift, pin.shift)
    assert sorted(here) == sorted(part.id for part in parts) and len(layout.placements) == len(parts)
    assert check_sheets(layout, by_id(parts)) == ()


def test_a_pin_keeps_its_sheet_number_and_its_company():
    parts = [make_part(f"P{i}", box(0, 0, 280, 250), stage=i) for i in range(4)]
    pins = [Placement("P0", 1, 0.0, np.array([5.0, 10.0])), Placement("P3", 1, 0.0, np.array([300.0, 10.0]))]
    layout = lay_out(parts, {NAME: make_stock()}, Laser(), pinned=pins)
    assert {placement.part: placement.sheet for placement in layout.placements} == {"P0": 1, "P3": 1, "P1": 0, "P2": 0}


def test_parts_are_cut_again_alone():
    parts, stocks = make_building(), {NAME: make_stock()}
    layout = lay_out(parts, stocks, Laser(), only={"J1", "R2"})
    assert sorted(placement.part for placement in layout.placements) == ["J1", "R2"] and len(layout.sheets) == 1
    with pytest.raises(BadSettingError, match="X9"):
        lay_out(parts, stocks, Laser(), only={"X9"})


def test_offcuts_are_used_before_whole_sheets():
    parts = [make_part("A", box(0, 0, 100, 80)), make_part("B", box(0, 0, 400, 200))]
    stocks = {NAME: make_stock()}
    layout = lay_out(parts, stocks, Laser(), offcuts={NAME: [(150.0, 120.0), (40.0, 30.0)]})
    sizes = {placement.part: layout.sheets[placement.sheet].size for placement in layout.placements}
    assert sizes == {"A": (150.0, 120.0), "B": (600.0, 300.0)}  # nothing goes on the piece of 40 by 30
    assert check_sheets(layout, by_id(parts)) == ()
    assert layout.bound[0] <= len(layout.sheets) == 2


def test_a_offcut_lies_on_the_bed_as_its_sheet_did():
    stocks = {NAME: make_stock(grain=Grain.LENGTH)}
    part = make_part("A", box(0, 0, 200, 50), grain=0.0)
    layout = lay_out([part], stocks, Laser(bed=(300.0, 600.0)), offcuts={NAME: [(250.0, 80.0)]})
    assert layout.sheets[0].size == (80.0, 250.0)
    assert abs(math.cos(layout.placements[0].turn)) < 1e-9


def test_a_pinned_part_keeps_its_offcut():
    parts, stocks = [make_part("A", box(0, 0, 100, 80))], {NAME: make_stock()}
    rests = {NAME: [(150.0, 120.0)]}
    pin = lay_out(parts, stocks, Laser(), offcuts=rests).placements[0]
    assert lay_out(parts, stocks, Laser(), pinned=[pin], offcuts=rests).sheets[0].size == (150.0, 120.0)
    outside = Placement("A", 0, 0.0, np.array([200.0, 100.0]))
    assert lay_out(parts, stocks, Laser(), pinned=[outside], offcuts=rests).sheets[0].size == (600.0, 300.0)


def test_progress_grows_to_one_over_all_stocks():
    parts = [make_part("A", box(0, 0, 60, 50), stock="a"), make_part("B", box(0, 0, 60, 50), stock="b")]
    progress = Waiting()
    lay_out(parts, {"a": make_stock("a"), "b": make_stock("b")}, Laser(), progress=progress)
    told = progress.told
    assert told == sorted(told) and told[-1] == 1.0 and 0.5 in told


@pytest.mark.parametrize("fillings", [0, 0.5, 2.5])
def test_a_layout_can_be_given_up_at_any_time(fillings):
    parts, stocks = make_building(), {NAME: make_stock()}
    with pytest.raises(CancelledError):
        lay_out(parts, stocks, Laser(), progress=Waiting(len(parts) * (1 + fillings)))


def test_progress_only_ever_grows_where_all_parts_go_to_the_larger_laser():
    parts = [make_part("A", box(0, 0, 500, 50)), *(make_part(f"B{k}", box(0, 0, 60, 50)) for k in range(3))]
    wide = Laser(name="wide")
    small = replace(wide, name="small", bed=(300.0, 200.0))
    progress = Waiting()
    lay_out(parts, {NAME: make_stock()}, small, [wide], progress=progress)
    assert progress.told == sorted(progress.told) and progress.told[-1] == 1.0


def test_a_part_that_fits_only_across_the_grain_is_laid_with_a_warning():
    stocks = {NAME: make_stock(grain=Grain.LENGTH)}
    layout = lay_out([make_part("A", box(0, 0, 500, 50), grain=math.pi / 2)], stocks, Laser())
    assert [f.code for f in layout.findings] == ["grain-not-kept"] and len(layout.placements) == 1


def test_a_part_longer_than_the_sheet_is_left_out_by_how_much():
    parts = [make_part("A", box(0, 0, 600, 50)), make_part("B", box(0, 0, 60, 50))]
    layout = lay_out(parts, {NAME: make_stock()}, Laser())
    assert [f.code for f in layout.findings] == ["part-longer-than-sheet"]
    assert "6.4 mm more" in layout.findings[0].message  # 600 + 2 kerfs - (600 - 2 * 3)
    assert [p.part for p in layout.placements] == ["B"]


def test_a_sheet_larger_than_the_bed_is_cut_down():
    layout = lay_out([make_part("A", box(0, 0, 60, 50))], {NAME: make_stock(sheet=(1200.0, 600.0))}, Laser())
    assert layout.sheets[0].size == (600.0, 300.0)
    assert [f.code for f in layout.findings] == ["sheet-larger-than-bed"]


def test_files_are_named_by_number_and_stock():
    stocks = {"b": make_stock("b"), "Höhle/../x": make_stock("Höhle/../x")}
    parts = [make_part("A", box(0, 0, 60, 50), stock="b"), make_part("B", box(0, 0, 60, 50), stock="Höhle/../x")]
    assert [s.file for s in lay_out(parts, stocks, Laser()).sheets] == ["sheet-01-h-hle-x.svg", "sheet-02-b.svg"]


def test_unknown_stock_and_no_room_are_refused():
    with pytest.raises(BadSettingError, match="oak"):
        lay_out([make_part("A", box(0, 0, 60, 50), stock="oak")], {}, Laser())
    with pytest.raises(BadSettingError, match="margin"):
        lay_out([make_part("A", box(0, 0, 60, 50))], {NAME: make_stock()}, Laser(margin=200.0))


def test_no_parts_no_sheets():
    layout = lay_out([], {}, Laser())
    assert layout.sheets == () and layout.bound == (0, "there is nothing to cut")


def building_set():
    """Eight walls with tabs and windows, a hip roof, joiners and a floor: 25 parts for sheets of 24 by 12 in.

    Worked by hand: the floor (240 high) leaves less than a wall (67), so it has a sheet's middle to itself;
    six walls and two trapezoids take 402 + 228.8 = 630.8 across the middle, more than 2 x 304.8. So 4 sheets.
    """
    outlines = {}
    for number, length in enumerate((600, 600, 500, 500, 400, 400, 300, 300)):
        wall = box(0, 0, length, 67)
        tabs = [box(x, -3, x + 15, 0) for x in range(20, length - 20, 50)]
        windows = [box(x, 20, x + 30, 50) for x in range(30, length - 40, 80)]
        outlines[f"W{number + 1}"] = shapely.union_all([wall, *tabs]).difference(shapely.union_all(windows))
    trapezoid = Polygon([(0, 0), (400, 0), (280, 144.22), (120, 144.22)])
    triangle = Polygon([(0, 0), (240, 0), (120, 144.22)])
    outlines |= {"R1": trapezoid, "R2": trapezoid, "R3": triangle, "R4": triangle, "F1": box(0, 0, 400, 240)}
    return outlines | {f"J{i}": box(0, 0, 25, 60) for i in range(12)}


def test_bound_of_a_building_worked_by_hand():
    outlines = building_set()
    count, why = fewest_sheets(outlines, dict.fromkeys(outlines, (0, 1)), (609.6, 304.8), 0.0)
    assert count == 4
    assert "F1" in why and "longer than half" in why
    total = sum(outline.area for outline in outlines.values()) / (609.6 * 304.8)
    assert math.ceil(total) == 3  # area alone promises one sheet too few


def test_bound_counts_the_spacing_between_stacked_parts():
    strips = {f"W{i}": box(0, 0, 560, 99.5) for i in range(3)}
    turns = dict.fromkeys(strips, (0, 1))
    # Three strips stack to 298.5 of 300; with two gaps of 2 they need 302.5.
    assert fewest_sheets(strips, turns, (600.0, 300.0), 0.0)[0] == 1
    assert fewest_sheets(strips, turns, (600.0, 300.0), 2.0)[0] == 2


def test_bound_does_not_claim_spacing_along_the_edge_of_the_sheet():
    quarters = {f"P{i}": box(0, 0, 49, 49) for i in range(4)}
    # Two by two with 2 between them fill 100 by 100 to the last hundredth.
    assert fewest_sheets(quarters, dict.fromkeys(quarters, (0, 1)), (100.0, 100.0), 2.0)[0] == 1


@pytest.mark.slow
def test_the_same_building_is_packed_on_as_many_sheets_as_the_bound_says():
    parts = [make_part(name, outline) for name, outline in building_set().items()]
    laser = Laser(bed=(620.0, 310.0), margin=3.0, spacing=2.0)
    layout = lay_out(parts, {NAME: make_stock(sheet=(609.6, 304.8))}, laser)
    assert layout.bound[0] == 4
    assert len(layout.sheets) == 4
    assert check_sheets(layout, by_id(parts)) == ()


@settings(max_examples=12, deadline=None)
@given(st.lists(st.tuples(st.floats(20, 290), st.floats(20, 140)), min_size=1, max_size=10))
@pytest.mark.slow
def test_bound_never_exceeds_what_was_packed(sizes):
    parts = [make_part(f"P{i}", box(0, 0, w, h)) for i, (w, h) in enumerate(sizes)]
    layout = lay_out(parts, {NAME: make_stock(sheet=(300.0, 150.0))}, Laser())
    assert layout.bound[0] <= len(layout.sheets)


def test_placement_turns_counter_clockwise():
    part = make_part("A", box(0, 0, 50, 280))
    placement = lay_out([part, make_part("B", box(0, 0, 590, 200))], {NAME: make_stock()}, Laser()).placements[0]
    points = placement.place(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    x, y = points[1] - points[0], points[2] - points[0]
    assert x[0] * y[1] - x[1] * y[0] == pytest.approx(1.0)


def test_a_floor_gets_a_sheet_without_walls_and_shares_one_where_it_would_cost_a_sheet():
    """Two sheets either way, by areas: 2 x 560 x 140 and 2 x 560 x 130 of 594 x 294; one more wall needs the room."""
    walls = [make_part(f"W{k}", box(0, 0, 560, 140), stage=1) for k in (1, 2)]
    floor = make_part("F1", box(0, 0, 560, 130), kind=PartKind.FLOOR, stage=2)
    roof = make_part("R1", box(0, 0, 560, 130), kind=PartKind.ROOF, stage=3)
    layout = lay_out([*walls, floor, roof], {NAME: make_stock()}, Laser())
    sheet_of = {placed.part: placed.sheet for placed in layout.placements}
    assert len(layout.sheets) == 2 and sheet_of["F1"] != sheet_of["W1"] == sheet_of["W2"]
    third = make_part("W3", box(0, 0, 560, 130), stage=1)
    layout = lay_out([*walls, third, floor], {NAME: make_stock()}, Laser())
    sheet_of = {placed.part: placed.sheet for placed in layout.placements}
    assert len(layout.sheets) == 2 and sheet_of["F1"] in {sheet_of[wall] for wall in ("W1", "W2", "W3")}
