"""Seats round the table: anthropometry's arithmetic, proposals, and what does not go together."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, box
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.play.stature import find_stature
from stowfold.geometry.play.table import (
    check_table,
    eye_above_table,
    eye_of,
    propose_seats,
    shoulder_of,
    table_outline,
)
from stowfold.geometry.play.table_top import Seat, Table

ROOM = box(-177.8, -127.0, 177.8, 127.0)


def _seat(stature="median", **changes):
    return replace(Seat("south", np.array([0.0, -609.6, 0.0]), np.array([0.0, 1.0, 0.0]), stature=stature), **changes)


@pytest.mark.parametrize(
    ("stature", "eye", "shoulder"),
    [
        ("small", 368, 185),
        ("median-woman", 418, 234),
        ("median-man", 474, 273),
        ("large", 530, 323),
        ("child", 290, 150),
    ],
)
def test_heights_above_the_table(table, statures, stature, eye, shoulder):
    """Seat + sitting height - slump - table = 450 + h - 40 - 740, by hand from the surveyed heights."""
    found = find_stature(stature, statures)
    assert eye_above_table(_seat(), table, found) == pytest.approx(eye)
    assert shoulder_of(_seat(stature), table, statures)[2] == pytest.approx(shoulder)


def test_setbacks_of_somebody_250_deep(table, statures):
    """Back 300 behind the edge, eye 200 and acromion 110 before it; a deep belly pushes both farther back."""
    assert eye_of(_seat("median"), table, statures)[1] == pytest.approx(-609.6 - 100.0)
    assert shoulder_of(_seat("median"), table, statures)[1] == pytest.approx(-609.6 - 190.0)
    assert eye_of(_seat("large"), table, statures)[1] == pytest.approx(-609.6 - (50 + 320 - 200))
    assert shoulder_of(_seat("large"), table, statures)[1] == pytest.approx(-609.6 - (50 + 320 - 110))


@given(lean=st.floats(0.0, math.pi / 2), slump=st.floats(0.0, 60.0))
def test_leaning_keeps_the_eye_at_its_distance_from_the_hip(table, statures, lean, slump):
    upright, leaning = (eye_of(_seat(lean=angle, slump=slump), table, statures) for angle in (0.0, lean))
    radius = find_stature("median", statures).eye - slump
    hip = upright - np.array([0.0, 0.0, radius])
    assert np.linalg.norm(leaning - hip) == pytest.approx(radius)
    assert leaning[2] <= upright[2] + 1e-9
    assert leaning[1] >= upright[1]


@pytest.mark.parametrize(
    ("number", "spots"),
    [
        (6, [(-457.2, -609.6), (457.2, -609.6), (914.4, 0), (457.2, 609.6), (-457.2, 609.6), (-914.4, 0)]),
        (2, [(0, -609.6), (0, 609.6)]),
        (1, [(0, -609.6)]),
    ],
)
def test_seats_share_the_edge_evenly(table, number, spots):
    seats = propose_seats(table, number)
    np.testing.assert_allclose([seat.edge[:2] for seat in seats], spots, atol=1e-9)
    assert len({seat.name for seat in seats}) == number


@settings(max_examples=30, deadline=None)
@given(number=st.integers(1, 8), turn=st.floats(-math.pi, math.pi), x=st.floats(-500, 500))
def test_proposed_seats_are_found_good_on_any_turned_table(statures, number, turn, x):
    table = Table(np.array([x, 30.0, 12.0]), turn=turn)
    seats = propose_seats(table, number)
    assert check_table(table, seats, Point(x, 30.0).buffer(200.0), statures) == ()
    for seat in seats:
        assert table_outline(table).exterior.distance(Point(seat.edge[:2])) < 1e-9
        assert seat.edge[2] == 12.0


def test_nobody_sits_in_what_is_kept_clear(table):
    wall = box(-2000.0, 650.0, 2000.0, 700.0)
    seats = propose_seats(table, 6, keep_clear=wall)
    assert len(seats) == 6
    assert not any(seat.name.startswith("back") for seat in seats)
    pillar = box(-100.0, -700.0, 100.0, -640.0)
    front = [seat for seat in propose_seats(table, 8, keep_clear=pillar) if seat.name.startswith("front")]
    assert [seat.edge[0] for seat in front] == pytest.approx([-(100 + 914.4) / 2, (100 + 914.4) / 2])


def test_too_many_or_too_few_seats(table):
    """3 + 2 + 3 + 2 places of 600 mm go round a table of 1829 x 1219."""
    assert len(propose_seats(table, 10)) == 10
    with pytest.raises(BadSettingError, match="11 seats do not fit round this table, 10 do"):
        propose_seats(table, 11)
    with pytest.raises(BadSettingError, match="at least 1"):
        propose_seats(table, 0)
    with pytest.raises(BadSettingError, match="0 do"):
        propose_seats(table, 1, keep_clear=box(-3000, -3000, 3000, 3000))


@pytest.mark.parametrize(
    ("changes", "code", "words"),
    [
        ({"edge": np.array([0.0, -509.6, 0.0])}, "seat-off-edge", "on the table, 100 mm"),
        ({"edge": np.array([0.0, -709.6, 0.0])}, "seat-off-edge", "is 100 mm"),
        ({"toward": np.array([0.0, -1.0, 0.0])}, "seat-faces-away", "180 degrees"),
        ({"chair": 81.9}, "eye-below-table", "0 mm below"),
    ],
)
def test_seats_that_do_not_go_with_the_table(table, statures, changes, code, words):
    (finding,) = check_table(table, [_seat("small", **changes)], ROOM, statures)
    assert finding.code == code
    assert words in finding.message


def test_a_seat_just_high_enough_or_just_on_the_edge_is_good(table, statures):
    assert check_table(table, [_seat("small", chair=82.1)], ROOM, statures) == ()
    assert check_table(table, [_seat(edge=np.array([0.0, -609.605, 0.0]))], ROOM, statures) == ()


def test_buildings_that_do_not_go_with_the_table(table, statures):
    def codes(footprint):
        return [(finding.code, finding.severity) for finding in check_table(table, (), footprint, statures)]

    assert codes(ROOM) == []
    assert codes(box(-914.4, -609.6, 914.4, 609.6)) == []
    assert codes(box(-914.4, -609.6, 914.5, 609.6)) == [("table-too-small", "warning")]
    assert codes(box(800.0, 0.0, 914.5, 50.0)) == [("building-off-table", "warning")]
    assert codes(box(0.0, -500.0, 10.0, 800.0)) == [("building-off-table", "warning")]  # long enough if turned


def test_elbows(table, statures):
    near, far = (_seat(name="north", edge=np.array([x, -609.6, 0.0])) for x in (599.0, 600.0))
    assert [finding.code for finding in check_table(table, [_seat(), near], ROOM, statures)] == ["seats-crowded"]
    assert check_table(table, [_seat(), far], ROOM, statures) == ()
