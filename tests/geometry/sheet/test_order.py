"""Everything inside a part is cut before the part is free; the time follows from lengths, pierces and hops."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
import svgpathtools
from parts_by_hand import make_building, make_one_sheet, make_part, make_stock, make_wall
from scipy.integrate import solve_ivp
from shapely.geometry import LineString, Point, Polygon, box
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.sheet.grain_arrow import SHEET_MARKS
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.order import path_lines, sheet_lines
from stowfold.geometry.sheet.svg import draw_sheet
from stowfold.geometry.sheet.times import estimate_seconds, sheet_seconds, total_seconds

NAME = "birch-plywood-3"


@pytest.mark.slow
def test_operations_come_in_cutting_order_and_outlines_last():
    parts = {p.id: p for p in make_building()}
    stocks = {NAME: make_stock()}
    layout = lay_out(list(parts.values()), stocks, Laser())
    for index in range(len(layout.sheets)):
        paths = sheet_lines(layout, index, parts)
        assert list(paths) == list(Operation)
        cut = [(op, part) for op, several in paths.items() for part, _ in several]
        for name in {part for _, part in cut} - {SHEET_MARKS}:
            assert cut.index((Operation.OUTER, name)) == max(i for i, entry in enumerate(cut) if entry[1] == name)
        # Nothing cut later lies inside an outline that is already free.
        outers = [(n, Polygon(lines.points)) for n, lines in paths[Operation.OUTER]]
        for i, (_, free) in enumerate(outers):
            assert not any(free.contains(Point(later.exterior.coords[0])) for _, later in outers[i + 1 :])


def test_every_line_of_a_part_is_on_its_sheet_once():
    part = make_wall()
    layout = make_one_sheet(("W1", (20, 20)))
    sheet = sheet_lines(layout, 0, {"W1": part})
    alone = path_lines(part, layout.placements[0], 0.2, Laser())
    for operation in Operation:
        assert sum(lines.length for name, lines in sheet[operation] if name == "W1") == pytest.approx(
            sum(lines.length for lines in alone[operation])
        )


def test_parts_follow_stage_then_the_nearest():
    parts = {n: make_part(n, box(0, 0, 20, 20), stage=s) for n, s in (("A", 2), ("B", 1), ("C", 1), ("D", 1))}
    layout = make_one_sheet(("A", (5, 5)), ("B", (200, 5)), ("C", (100, 5)), ("D", (50, 5)))
    sheet = sheet_lines(layout, 0, parts)
    assert [name for name, _ in sheet[Operation.OUTER]] == ["D", "C", "B", "A"]


def outer_sequence(parts, layout):
    by_id = {part.id: part for part in parts}
    return sheet_lines(layout, 0, by_id)[Operation.OUTER]


def test_a_part_in_a_hole_is_free_before_the_hole_is_cut():
    """Nested twice, and against the stages: from the innermost part outward."""
    frame = make_part("A", box(0, 0, 100, 100).difference(box(10, 10, 90, 90)), stage=1)
    inner = make_part("B", box(0, 0, 60, 60).difference(box(10, 10, 50, 50)), stage=3)
    core = make_part("C", box(0, 0, 20, 20), stage=2)
    layout = make_one_sheet(("A", (100, 100)), ("B", (120, 120)), ("C", (140, 140)))
    sequence = outer_sequence([frame, inner, core], layout)
    areas = [(name, round(Polygon(lines.points).area)) for name, lines in sequence]
    # Each drawn half a kerf out, holes half a kerf in.
    assert areas == [("C", 408), ("B", 1584), ("B", 3624), ("A", 6368), ("A", 10040)]


def test_holes_without_parts_stay_among_the_holes():
    frame = make_part("A", box(0, 0, 100, 100).difference(box(10, 10, 90, 90)))
    sheet = sheet_lines(make_one_sheet(("A", (100, 100))), 0, {"A": frame})
    assert len(sheet[Operation.INNER]) == len(sheet[Operation.OUTER]) == 1


def test_an_edge_that_two_parts_share_is_cut_once():
    parts = [make_part("A", box(0, 0, 50, 30)), make_part("B", box(0, 0, 50, 40))]
    # Drawn 50.2 wide: the right line of A is the left line of B.
    layout = make_one_sheet(("A", (20, 20)), ("B", (70.2, 20)))
    lines = [line for _, line in outer_sequence(parts, layout)]
    assert sum(line.length for line in lines) == pytest.approx(2 * (50.2 + 30.2) + 2 * (50.2 + 40.2) - 30.2)
    drawn = [LineString(np.vstack([p, p[:1]]) if shut else p) for line in lines for p, shut in _polylines(line)]
    assert sum(a.intersection(b).length for i, a in enumerate(drawn) for b in drawn[i + 1 :]) < 1e-6
    # What is enclosed is still both parts, whole.
    faces = sorted(face.area for face in shapely.get_parts(shapely.polygonize(list(shapely.get_parts(
        shapely.node(shapely.set_precision(shapely.MultiLineString(drawn), 1e-6)))))))  # fmt: skip
    assert faces == pytest.approx([50.2 * 30.2, 50.2 * 40.2])


def _polylines(lines):
    return zip(lines.polylines(), lines.closed, strict=True)


@pytest.mark.parametrize("holds", [1, 3, 6])
def test_holds_are_as_long_as_asked_after_the_beam_has_passed(holds):
    wall = make_wall("W1", 300.0)
    laser = Laser(holds=holds, hold_length=0.6)
    ((_, lines),) = outer_sequence([wall], make_one_sheet(("W1", (20, 20)), laser=laser))
    ((_, whole),) = outer_sequence([wall], make_one_sheet(("W1", (20, 20))))
    assert whole.length - lines.length == pytest.approx(holds * (0.6 + 0.2))
    assert len(lines) == holds
    beam = shapely.union_all([LineString(p).buffer(0.1, quad_segs=16) for p in lines.polylines()])
    ring = LineString(np.vstack([whole.points, whole.points[:1]]))
    left = shapely.get_parts(shapely.line_merge(ring.difference(beam)))
    assert sorted(piece.length for piece in left) == pytest.approx([0.6] * holds, abs=1e-3)
    # None at a corner, on a tab, or where the slits of a lattice open at the edge.
    zones = [Polygon(placed.zone + np.array([20, 20])) for placed in wall.lattices]
    corners = shapely.MultiPoint(whole.points[1:])
    for piece in left:
        assert piece.distance(corners) > 0.9
        assert all(piece.distance(zone) > 0.6 for zone in zones)
        assert piece.bounds[1] > 19.5  # tabs reach down to 17.1


def test_holds_are_spread_round_the_part():
    part = make_part("A", box(0, 0, 100, 100))
    ((_, lines),) = outer_sequence([part], make_one_sheet(("A", (20, 20)), laser=Laser(holds=4)))
    assert [round(float(LineString(p).length)) for p in lines.polylines()] == pytest.approx([99.5] * 4, abs=3)


def test_slits_are_cut_every_third_row_so_that_heat_spreads():
    """Whichever way round a lattice is run through, rows cut one after another lie three apart, but for two jumps."""
    wall = make_wall("W1")
    sheet = sheet_lines(make_one_sheet(("W1", (20, 20))), 0, {"W1": wall})
    assert len(sheet[Operation.SLITS]) == 2
    for _, lines in sheet[Operation.SLITS]:
        rows = [round(float(p[:, 0].min()) / 1.2, 6) for p in lines.polylines()]
        rows = [row for row, before in zip(rows, [None, *rows[:-1]], strict=True) if row != before]
        steps = np.abs(np.diff(rows))
        assert len(rows) == 13 and (np.abs(steps - 3) > 1e-3).sum() == 2 and steps.min() > 2


@pytest.mark.slow
def test_the_estimate_follows_the_same_lines_as_the_file():
    """Length over speed and pierces, from the text of the file and another reader."""
    parts = {p.id: p for p in make_building()}
    stocks = {NAME: make_stock()}
    laser = replace(Laser(), acceleration=1e9)  # no ramps: time is length over speed
    layout = lay_out(list(parts.values()), stocks, laser)
    seconds = total_seconds(estimate_seconds(layout, parts))
    cut = dict.fromkeys((operation.value for operation in Operation), 0.0)
    travel = 0.0
    for index, sheet in enumerate(layout.sheets):
        head = complex(0, sheet.size[1])
        paths, attributes = svgpathtools.svgstr2paths(draw_sheet(layout, index, parts, title="x"))
        names = {colour: operation for operation, colour in laser.colours.items()}
        for path, attribute in zip(paths, attributes, strict=True):
            operation = names[attribute["stroke"]]
            feed = laser.feeds[operation]
            lines = path.continuous_subpaths()
            cut[operation.value] += sum(line.length() for line in lines) / feed.speed + feed.pierce * len(lines)
            for line in lines:
                travel += abs(line.start - head) / laser.travel
                head = line.end
    for name, value in cut.items():
        assert seconds[name] == pytest.approx(value, rel=2e-3)
    assert seconds["travel"] == pytest.approx(travel, rel=2e-3)


def ramped(length, speed, acceleration):
    """Time for a straight run, by integrating the motion step by step and mirroring it at half way."""
    reach = solve_ivp(
        lambda _, y: [y[1], acceleration if y[1] < speed else 0.0],
        (0, 100), [0.0, 0.0], events=_at(length / 2), max_step=1e-3, rtol=1e-9,
    )  # fmt: skip
    return 2 * float(reach.t_events[0][0])


def _at(distance):
    def event(_, y):
        return y[0] - distance

    event.terminal = True
    return event


def test_time_of_a_square_agrees_with_integrated_motion():
    part = make_part("A", box(0, 0, 19.8, 39.8))  # drawn 20 x 40
    laser = Laser(acceleration=500.0)
    laser = replace(laser, feeds={**laser.feeds, Operation.OUTER: Feed(50.0, 0.3, 2)})
    seconds = sheet_seconds(make_one_sheet(("A", (0.1, 0.1)), laser=laser), 0, {"A": part})
    # The line starts 2 mm off a corner, so one side is two runs.
    once = sum(ramped(run, 50, 500) for run in (20, 20, 40, 38, 2))
    assert seconds["outer"] == pytest.approx(2 * (once + 0.3), rel=1e-3)
    assert seconds["slits"] == seconds["inner"] == seconds["score"] == 0.0
    assert seconds["total"] == pytest.approx(sum(v for k, v in seconds.items() if k != "total"))


def test_short_pieces_never_reach_their_speed():
    part = make_part("A", box(0, 0, 0.8, 0.8))  # drawn 1 x 1; 60 mm/s needs 3.6 mm at 1000 mm/s^2
    laser = replace(Laser(), feeds={**Laser().feeds, Operation.OUTER: Feed(60.0, 0.0)})
    seconds = sheet_seconds(make_one_sheet(("A", (50, 50)), laser=laser), 0, {"A": part})
    assert seconds["outer"] == pytest.approx(
        3 * 2 * math.sqrt(1 / 1000) + 2 * 2 * math.sqrt(0.5 / 1000)  # one side in two runs: it starts at its middle
    )


def test_travel_is_at_least_the_way_to_the_first_line():
    part = make_part("A", box(0, 0, 100, 100))
    near = sheet_seconds(make_one_sheet(("A", (10, 10))), 0, {"A": part})
    far = sheet_seconds(make_one_sheet(("A", (400, 10))), 0, {"A": part})
    # both begin with the same arrow of the grain, 31 mm from the corner at its far end
    assert far["travel"] - near["travel"] == pytest.approx((369 - 21) / 200, rel=0.05)


def test_a_long_wall_takes_about_as_long_as_makers_say():
    """24 in of 1/8 in board, 62 mm high, two flex corners: about 13 minutes. Common practice, no source.

    The default feeds were chosen by this, so the bounds are wide and only guard against slips.
    """
    wall = make_wall("W1", 609.6, 62.0, thickness=3.175)
    stocks, laser = {NAME: make_stock(sheet=(620.0, 310.0))}, Laser(bed=(620.0, 310.0))
    seconds = sheet_seconds(lay_out([wall], stocks, laser), 0, {"W1": wall})
    assert 8 * 60 < seconds["total"] < 18 * 60
