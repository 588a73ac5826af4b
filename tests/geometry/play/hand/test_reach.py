"""Reach: the published arms over the edge, and squares that nobody comes to."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from stowfold.geometry.play.reach import LEANS, Reach, check_reach, map_reach
from stowfold.geometry.play.stature import find_stature
from stowfold.geometry.play.table import propose_seats, shoulder_of
from stowfold.geometry.play.table_top import Seat, Table

SOUTH = Seat("south", np.array([0.0, -609.6, 0.0]), np.array([0.0, 1.0, 0.0]))


def reach_past_edge(
    arm: float, above_seat: float, above_table: float, setback: float, *, lean: float = 0.0, height: float = 20.0
) -> float:
    """Return how far past the table's edge the grip comes, straight ahead, at a height above the top, mm.

    above_seat, above_table: heights of the shoulder, upright, as it sits; setback: of the shoulder from
    the edge. sqrt(A^2 - (z_s - z)^2) - s_0 + h_s sin a, with z_s lowered by h_s (1 - cos a).
    """
    forward, down = above_seat * math.sin(lean), above_seat * (1.0 - math.cos(lean))
    across = arm**2 - (above_table - down - height) ** 2
    return math.sqrt(across) - setback + forward


@pytest.mark.parametrize(
    ("stature", "reaches"),
    [
        ("small", (363, 490, 616)),
        ("median-woman", (399, 541, 682)),
        ("median-man", (445, 599, 752)),
        ("large", (485, 653, 823)),
    ],
)
def test_reach_past_the_edge(statures, stature, reaches):
    """By hand from ANSUR II arms and shoulders, 20 above the table, shoulder 190 behind the edge, slump 40."""
    found = find_stature(stature, statures)
    for lean, expected in zip(LEANS, reaches, strict=True):
        past = reach_past_edge(found.arm, found.acromion - 40, found.acromion - 40 + 450 - 740, 190, lean=lean)
        assert past == pytest.approx(expected, abs=0.5)


@settings(max_examples=30, deadline=None)
@given(stature=st.sampled_from(["small", "median-woman", "child"]), lean=st.sampled_from(LEANS), grip=st.floats(0, 60))
def test_straight_ahead_the_map_and_the_formula_agree(spot, table, statures, stature, lean, grip):
    """Where scipy finds the distance from the leaning shoulder to be an arm's length, the formula ends too."""
    seat, found = replace(SOUTH, stature=stature), find_stature(stature, statures)
    shoulder = shoulder_of(replace(seat, lean=lean), table, statures)

    def too_far(past):
        return np.linalg.norm(np.array([0.0, past - 609.6, grip]) - shoulder) - found.arm

    end = brentq(too_far, shoulder[1] + 609.6, 1500.0)
    above = found.acromion - 40 + 450 - 740
    assert end == pytest.approx(reach_past_edge(found.arm, found.acromion - 40, above, 190, lean=lean, height=grip))
    least = LEANS.index(lean)
    inside, beyond = (
        map_reach(spot(0.0, end - 609.6 + off), [seat], table, statures, grip=grip).reach[0, 0, 0]
        for off in (-0.01, 0.01)
    )
    assert (inside, beyond) == (least, least + 1)


def test_in_the_middle_of_a_table_of_six_by_four_feet(grid, table, statures):
    """From the middle a small player reaches not even half of a building; from the short end all of it."""
    seats = propose_seats(table, 6, stature="small")
    reaches = map_reach(grid(), seats, table, statures)
    centre = replace(SOUTH, stature="small")
    ahead = map_reach(grid(columns=1, origin=(-12.7, -127.0, 0.0)), [centre], table, statures)
    assert ahead.reach[0, :, 0].tolist() == [Reach.STRETCH] * 5 + [Reach.STAND] * 5
    for index, seat in enumerate(seats):
        if seat.name in ("left", "right"):
            near = reaches.share(Reach.STAND)[index]
            assert near > 0.4
    assert np.array_equal(reaches.best(), reaches.reach.min(axis=0))
    rows, columns = np.indices(reaches.best().shape)
    assert np.array_equal(reaches.reach[reaches.best_seat(), rows, columns], reaches.best())


def test_squares_out_of_reach_are_counted_and_placed(grid, table, statures):
    place = grid(3, 2, origin=(-38.1, -25.4, 0.0))
    seat = replace(SOUTH, stature="small")
    (finding,) = check_reach(map_reach(place, [seat], table, statures))
    assert finding.code == "square-out-of-reach"
    assert finding.message.startswith("3 squares are out of reach")
    assert "column 1, row 2" in finding.message
    assert finding.where.point == pytest.approx((-25.4, 12.7, 0.0))
    opposite = replace(seat, name="north", edge=-seat.edge, toward=-seat.toward)
    assert check_reach(map_reach(place, [seat, opposite], table, statures)) == ()


def test_squares_that_are_not_of_the_room_count_nowhere(grid, table, statures):
    whole = grid(2, 1)
    part = replace(whole, inside=np.array([[True, False]]))
    reaches = map_reach(part, [SOUTH], table, statures)
    assert reaches.reach[0, 0, 1] == Reach.OUTSIDE
    assert sum(float(reaches.share(reach)[0]) for reach in Reach if reach is not Reach.OUTSIDE) == 1.0
    assert check_reach(map_reach(part, [], table, statures)) == ()


def test_the_table_may_stand_anywhere(grid, statures):
    """Turned and moved with table and seats, the squares are reached alike."""
    turn, shift = 0.7, np.array([300.0, -200.0, 40.0])
    spin = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
    still, table = grid(), Table(np.zeros(3))
    moved = replace(still, origin=spin @ still.origin + shift, u=spin @ still.u, v=spin @ still.v)
    there = Table(shift, turn=turn)
    one = map_reach(still, propose_seats(table, 6), table, statures)
    other = map_reach(moved, propose_seats(there, 6), there, statures)
    assert np.array_equal(one.reach, other.reach)
