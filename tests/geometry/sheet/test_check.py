"""The last look finds what would spoil a sheet, and finds nothing on a good one."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from parts_by_hand import make_building, make_lattice, make_one_sheet, make_part, make_stock, make_wall
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.findings import Severity
from stowfold.geometry.sheet.check import check_sheets, doubled_lines
from stowfold.geometry.sheet.layout import lay_out

NAME = "birch-plywood-3"


def look(parts, places, laser=None):
    layout = make_one_sheet(
        *((part.id, shift, turn) for part, (turn, shift) in zip(parts, places, strict=True)), laser=laser
    )
    return check_sheets(layout, {p.id: p for p in parts})


def test_a_good_sheet_has_no_findings():
    parts = make_building() + [make_part(f"S{i}", box(0, 0, 40, 10)) for i in range(3, 10)]
    stocks, laser = {NAME: make_stock()}, Laser()
    layout = lay_out(parts, stocks, laser)
    by_id = {p.id: p for p in parts}
    assert check_sheets(layout, by_id) == ()
    assert len(parts) == 20


@pytest.mark.parametrize(
    ("gap", "codes"),
    [(-1.0, "parts-overlap"), (0.3, "parts-overlap"), (0.5, "spacing-not-kept"), (2.3, "spacing-not-kept")],
)
def test_parts_too_close(gap, codes):
    parts = [make_part("A", box(0, 0, 50, 30)), make_part("B", box(0, 0, 50, 30))]
    found = look(parts, [(0.0, (20, 50)), (0.0, (70 + gap, 50))])  # the lines are 0.2 nearer than the parts
    assert codes in [f.code for f in found]
    assert (found[0].severity is Severity.ERROR) == (codes == "parts-overlap")


def test_spacing_is_what_stays_whole_between_two_cuts():
    parts = [make_part("A", box(0, 0, 50, 30)), make_part("B", box(0, 0, 50, 30))]
    # Lines lie half a kerf outside the parts and the beam burns another half: 2.4 apart leaves 2.0 of board.
    assert "spacing-not-kept" not in [f.code for f in look(parts, [(0.0, (20, 50)), (0.0, (72.4, 50))])]
    found = look(parts, [(0.0, (20, 50)), (0.0, (70.9, 50))])
    assert found[0].code == "spacing-not-kept" and found[0].message.startswith("0.50 mm of board")


def test_a_part_within_another_overlaps():
    parts = [make_part("A", box(0, 0, 150, 130)), make_part("B", box(0, 0, 20, 10))]
    found = look(parts, [(0.0, (20, 50)), (0.0, (80, 90))])
    assert found[0].code == "parts-overlap" and "206.0 mm^2" in found[0].message  # 20.2 x 10.2


def test_a_common_edge_is_fine_but_not_a_near_one():
    parts = [make_part("A", box(0, 0, 50, 30)), make_part("B", box(0, 0, 50, 40))]
    # Drawn 50.2 wide, so the lines meet when the parts lie one kerf apart.
    codes = {f.code for f in look(parts, [(0.0, (20, 50)), (0.0, (70.2, 50))])}
    assert not codes & {"parts-overlap", "line-drawn-twice", "spacing-not-kept"}
    assert "parts-overlap" in {f.code for f in look(parts, [(0.0, (20, 50)), (0.0, (70.25, 50))])}
    assert "parts-overlap" in {f.code for f in look(parts, [(0.0, (20, 50)), (0.0, (70.1, 50))])}


def test_too_little_room_for_holds_is_said():
    parts = [make_part("A", box(0, 0, 50, 30)), make_part("B", box(0, 0, 2, 2))]
    places = [(0.0, (20, 50)), (0.0, (200, 50))]
    assert look(parts, places) == ()
    found = look(parts, places, Laser(holds=1))
    assert [(f.code, f.where.part) for f in found] == [("too-few-holds", "B")]
    assert "0 of 1 holds" in found[0].message


def test_a_part_within_a_hole_is_fine():
    parts = [make_part("A", box(0, 0, 150, 130).difference(box(20, 20, 130, 110))), make_part("B", box(0, 0, 20, 10))]
    assert look(parts, [(0.0, (20, 50)), (0.0, (80, 100))]) == ()


def test_open_slits_reach_beyond_the_outline():
    wall = make_wall("W1")
    strip = make_part("S1", box(0, 0, 300, 20))
    laser = Laser(spacing=0.01)
    # The lines are 0.25 apart, but the legs of open slits run 0.1 past the outline.
    found = look([wall, strip], [(0.0, (20, 20)), (0.0, (100, 82 + 0.45))], laser)
    assert "parts-overlap" in [f.code for f in found]
    plain = make_wall("W1", lattices=())
    found = look([plain, strip], [(0.0, (20, 20)), (0.0, (100, 82 + 0.45))], laser)
    assert [f.code for f in found] == ["label-on-part"]


def test_without_spacing_lines_may_touch_but_neither_part_loses_wood():
    parts = [make_part("A", box(0, 0, 50, 30)), make_part("B", box(0, 0, 50, 40))]
    laser = Laser(spacing=0.0)
    for x, y in ((70.2, 50.0), (70.2, 80.2), (70.25, 50.0)):  # side by side, corner to corner, hardly apart
        assert look(parts, [(0.0, (20, 50)), (0.0, (x, y))], laser) == ()
    found = look(parts, [(0.0, (20, 50)), (0.0, (70.15, 50))], laser)
    assert [(f.code, f.severity) for f in found] == [("parts-overlap", Severity.ERROR)]


@pytest.mark.parametrize("laser", [Laser(spacing=0.0), Laser()])
def test_open_slits_may_not_run_into_a_part_that_shares_their_edge(laser):
    wall = make_wall("W1", label_spot=None)
    strip = make_part("S1", box(0, 0, 300, 20))
    found = look([wall, strip], [(0.0, (20, 20)), (0.0, (100, 82 + 0.2))], laser)
    assert "slits of one run" in next(f.message for f in found if f.code == "parts-overlap")


def test_a_part_in_the_margin():
    found = look([make_part("A", box(0, 0, 50, 30))], [(0.0, (551.0, 50))])
    assert [f.code for f in found] == ["outside-margin"]
    assert "4.20 mm" in found[0].message  # 551 + 50 - 597, line half a kerf out, beam another half


def test_a_part_off_the_sheet_when_turned():
    found = look([make_part("A", box(0, 0, 50, 30))], [(math.pi / 2, (20, 50))])
    assert [f.code for f in found] == ["outside-margin"]


def test_a_lattice_outside_its_part():
    wall = make_wall("W1", lattices=(make_lattice(100.0, 80.0),))
    assert "hole-outside-part" in [f.code for f in look([wall], [(0.0, (20, 20))])]


@pytest.mark.parametrize("hole", [box(60, 10, 70, 20), box(40, 10, 60, 20), box(-5, 10, 55, 20)])
def test_a_hole_beyond_its_part(hole):
    """Outside, across the outline, and right through the part: no such hole may vanish unseen."""
    part = make_part("A", Polygon(box(0, 0, 50, 30).exterior, [box(5, 5, 8, 8).exterior, hole.exterior]))
    found = look([part], [(0.0, (20, 20))])
    assert ("hole-outside-part", Severity.ERROR) in [(f.code, f.severity) for f in found]
    assert "has 1 hole beyond its outline" in next(f.message for f in found if f.code == "hole-outside-part")


def test_a_lattice_drawn_twice():
    lattice = make_lattice(125.0, 62.0)
    found = look([make_wall("W1", lattices=(lattice, lattice))], [(0.0, (20, 20))])
    assert [(f.code, f.severity) for f in found] == [("line-drawn-twice", Severity.ERROR)]


def test_engraving_drawn_twice_is_a_warning():
    line = np.array([[80.0, 10.0], [100.0, 20.0]])
    found = look([make_wall("W1", engrave=(line, line[::-1] + np.array([2.0, 1.0])))], [(0.0, (20, 20))])
    assert [(f.code, f.severity) for f in found] == [("line-drawn-twice", Severity.WARNING)]


def test_a_label_on_another_part():
    parts = [make_part("S1", box(0, 0, 60, 10)), make_part("B", box(0, 0, 60, 30))]
    found = look(parts, [(0.0, (100, 100)), (0.0, (100, 66.5))])
    assert [f.code for f in found] == ["label-on-part"]


@pytest.mark.parametrize("angle", np.linspace(0, np.pi, 13))
def test_doubled_lines_are_found_in_every_direction(angle):
    u = np.array([np.cos(angle), np.sin(angle)])
    n = np.array([-u[1], u[0]])
    base = np.array([300.0, 150.0])

    def piece(a, b, aside=0.0):
        return np.array([base + a * u + aside * n, base + b * u + aside * n])

    lone = [piece(0, 10), piece(10, 20), piece(25, 30), piece(0, 30, 0.1)]
    assert doubled_lines(np.array(lone)) == []
    pairs = doubled_lines(np.array([*lone, piece(28, 19)]))
    assert sum(length for _, _, length in pairs) == pytest.approx(1 + 3)
    inside = doubled_lines(np.array([piece(0, 100), piece(10, 20), piece(50, 40)]))
    assert sorted((a, b) for a, b, _ in inside) == [(0, 1), (0, 2)]


def test_doubled_lines_agree_with_a_look_at_every_pair():
    rng = np.random.default_rng(7)
    ends = rng.integers(0, 12, (300, 2, 2)).astype(float)
    ends = ends[np.abs(ends[:, 0] - ends[:, 1]).sum(axis=1) > 0]
    pairs = doubled_lines(ends)
    found = {i for i, _, _ in pairs} | {j for _, j, _ in pairs}
    shapes = shapely.linestrings(ends)
    wanted = {
        i
        for i in range(len(shapes))
        for j in range(len(shapes))
        if i != j and shapes[i].intersection(shapes[j]).length > 1e-3
    }
    assert len(wanted) > 20 and found == wanted
