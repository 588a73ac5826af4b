"""Everything inside a part is cut before the part is free; the time follows from lengths, pierces and hops."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from shapely.geometry import Point, Polygon, box
from stowfold.geometry.sheet.laser import Feed, Laser, Operation
from stowfold.geometry.sheet.layout import Layout, Placement, Sheet, lay_out
from stowfold.geometry.sheet.order import cutting_order, estimate_seconds, path_lines, sheet_lines

NAME = "birch-plywood-3"


def one_sheet(*places):
    placements = tuple(Placement(name, 0, 0.0, np.array(shift, dtype=float)) for name, shift in places)
    return Layout((Sheet(NAME, (600.0, 300.0), 0.0, "x.svg"),), placements, (1, ""), ())


def test_operations_come_in_cutting_order_and_outlines_last(make):
    parts = {p.id: p for p in make.building()}
    stocks = {NAME: make.stock()}
    layout = lay_out(list(parts.values()), stocks, Laser())
    for index in range(len(layout.sheets)):
        paths = sheet_lines(layout, index, parts, stocks, Laser())
        assert list(paths) == list(Operation)
        cut = [(op, part) for op, several in paths.items() for part, _ in several]
        for name in {part for _, part in cut}:
            assert cut.index((Operation.OUTER, name)) == max(i for i, each in enumerate(cut) if each[1] == name)
        # Nothing cut later lies inside an outline that is already free.
        outers = [(n, Polygon(lines.points)) for n, lines in paths[Operation.OUTER]]
        for i, (_, free) in enumerate(outers):
            assert not any(free.contains(Point(later.exterior.coords[0])) for _, later in outers[i + 1 :])


def test_every_line_of_a_part_is_on_its_sheet_once(make):
    part = make.wall()
    stocks, layout = {NAME: make.stock()}, one_sheet(("W1", (20, 20)))
    sheet = sheet_lines(layout, 0, {"W1": part}, stocks, Laser())
    alone = path_lines(part, layout.placements[0], 0.2, Laser())
    for operation in Operation:
        assert sum(lines.length for _, lines in sheet[operation]) == pytest.approx(
            sum(lines.length for lines in alone[operation])
        )


def test_parts_follow_stage_then_the_nearest(make):
    parts = {n: make.part(n, box(0, 0, 20, 20), stage=s) for n, s in (("A", 2), ("B", 1), ("C", 1), ("D", 1))}
    layout = one_sheet(("A", (5, 5)), ("B", (200, 5)), ("C", (100, 5)), ("D", (50, 5)))
    assert [p.part for p in cutting_order(layout, 0, parts)] == ["D", "C", "B", "A"]


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


def test_time_of_a_square_agrees_with_integrated_motion(make):
    part = make.part("A", box(0, 0, 19.8, 39.8))  # drawn 20 x 40
    stocks = {NAME: make.stock()}
    laser = Laser(acceleration=500.0)
    laser = replace(laser, feeds={**laser.feeds, Operation.OUTER: Feed(50.0, 0.3, 2)})
    seconds = estimate_seconds(one_sheet(("A", (0.1, 0.1))), {"A": part}, stocks, laser)
    once = 2 * ramped(20, 50, 500) + 2 * ramped(40, 50, 500)
    assert seconds["outer"] == pytest.approx(2 * (once + 0.3), rel=1e-3)
    assert seconds["slits"] == seconds["inner"] == seconds["score"] == 0.0
    assert seconds["total"] == pytest.approx(sum(v for k, v in seconds.items() if k != "total"))


def test_short_pieces_never_reach_their_speed(make):
    part = make.part("A", box(0, 0, 0.8, 0.8))  # drawn 1 x 1; 60 mm/s needs 3.6 mm at 1000 mm/s^2
    laser = replace(Laser(), feeds={**Laser().feeds, Operation.OUTER: Feed(60.0, 0.0)})
    seconds = estimate_seconds(one_sheet(("A", (50, 50))), {"A": part}, {NAME: make.stock()}, laser)
    assert seconds["outer"] == pytest.approx(4 * 2 * math.sqrt(1 / 1000))


def test_travel_is_at_least_the_way_to_the_first_line(make):
    part = make.part("A", box(0, 0, 100, 100))
    near = estimate_seconds(one_sheet(("A", (10, 10))), {"A": part}, {NAME: make.stock()}, Laser())
    far = estimate_seconds(one_sheet(("A", (400, 10))), {"A": part}, {NAME: make.stock()}, Laser())
    assert far["travel"] - near["travel"] == pytest.approx(390 / 200, rel=0.05)


def test_a_long_wall_takes_about_as_long_as_makers_say(make):
    """24 in of 1/8 in board, 62 mm high, two flex corners: about 13 minutes. Common practice, no source.

    The default feeds were chosen by this, so the bounds are wide and only guard against slips.
    """
    wall = make.wall("W1", 609.6, 62.0, thickness=3.175)
    stocks, laser = {NAME: make.stock(sheet=(620.0, 310.0))}, Laser(bed=(620.0, 310.0))
    seconds = estimate_seconds(lay_out([wall], stocks, laser), {"W1": wall}, stocks, laser)
    assert 8 * 60 < seconds["total"] < 18 * 60
