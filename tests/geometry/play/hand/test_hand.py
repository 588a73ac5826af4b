"""Hands: margins in empty rooms by hand, the seat's window, what is in the way, and the findings."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stowfold.geometry.play.hand import (
    Fit,
    Probe,
    check_hands,
    map_hands,
    measure_for,
    passage_over,
    probe_of,
    probes_of,
)
from stowfold.geometry.play.stature import find_stature, read_statures

HANDS = probes_of(find_stature("large", read_statures()))
SOUTH, EAST = np.array([[0.0, -800.0, 230.0]]), np.array([[1100.0, 0.0, 230.0]])


def _probe(finger=50.0, palm=45.0):
    return Probe(20.0, ((0.0, 12.5), (finger, palm), (180.0, 50.0)))


def _map(squares, blockers, *probes, shoulders=SOUTH):
    return map_hands(measure_for(probes, squares, blockers), probes, shoulders)


def test_a_hand_is_as_wide_as_its_person(statures):
    large = find_stature("large", statures)
    assert probe_of(large, finger=40.0).stages == ((0.0, 12.5), (40.0, 48.0), (180.0, 55.5))
    assert [probe.stages[1][0] for probe in probes_of(large)] == [40.0, 60.0]
    assert probe_of(large, finger=40.0, base=10.0).stages[0] == (0.0, 10.0)  # fingertips hold smaller ones from outside


def test_an_empty_room_takes_every_hand(grid):
    hands = _map(grid(), [], _probe())
    assert np.isinf(hands.margin).all()
    assert (hands.fit == Fit.OK).all()
    assert (hands.blocked_by == -1).all()
    assert hands.share(Fit.OK).tolist() == [[1.0]]
    assert check_hands(hands) == ()


def test_low_walls_leave_a_base_its_fifth_of_a_millimetre(grid, walls):
    """Walls of 62 end below a palm at 70: straight down only the fingertips count, 12.7 - 12.5 from the wall."""
    hands = _map(grid(), walls(), _probe(50.0))
    edge = np.ones((10, 14), dtype=bool)
    edge[1:-1, 1:-1] = False
    assert np.allclose(hands.margin[0, 0][edge], 0.2)
    assert (hands.fit[0, 0] == np.where(edge, Fit.TIGHT, Fit.OK)).all()
    assert edge.mean() == pytest.approx(0.31, abs=0.005)
    rows, columns = np.nonzero(edge)
    sides = np.array(["south", "east", "north", "west"])[hands.blocked_by[0, 0][edge]]
    for row, column, side in zip(rows, columns, sides, strict=True):
        assert {"south": row == 0, "north": row == 9, "west": column == 0, "east": column == 13}[side]


@pytest.mark.parametrize(
    ("height", "finger", "free"), [(62, 41.9, False), (62, 42.0, True), (76, 55.9, False), (76, 56.0, True)]
)
def test_verdict_turns_where_the_palm_clears_the_wall(grid, walls, height, finger, free):
    """Straight down a palm starts at 20 + l, and walls no higher than that never touch it; higher ones do."""
    blocked = _map(grid(), walls(height), _probe(finger)).fit[0, 0] == Fit.BLOCKED
    assert blocked.any() != free
    if not free:
        assert 0.3 < blocked.mean() < 0.5
        assert blocked[0].all()  # before the near wall nothing leans away from it
        assert not blocked[2:8, 2:12].any()


def test_straight_down_between_high_walls(grid, walls):
    """Walls of 400: wherever the forearm, straight down, is 50 from all walls, a hand fits at least as well as so."""
    hands = _map(grid(), walls(400.0), _probe(40.0))
    centres = grid().centres[..., :2]
    to_wall = np.minimum(177.8 - np.abs(centres[..., 0]), 127.0 - np.abs(centres[..., 1]))
    assert (hands.margin[0, 0] >= to_wall - 50.0 - 1e-9).all()
    # Next to the wall toward the player the hand cannot lean away from it.
    assert np.allclose(hands.margin[0, 0, 1, 2:12], 38.1 - 50.0)


@pytest.fixture(scope="module")
def hall(grid, walls):
    return measure_for([_probe(40.0)], grid(4, 3), walls(80.0))


@settings(max_examples=20, deadline=None)
@given(x=st.floats(-900, 900), y=st.floats(-900, 900))
def test_ways_stay_within_sixty_degrees_of_the_seat(hall, x, y):
    hands = map_hands(hall, [_probe(40.0)], np.array([[x, y, 200.0]]))
    toward = np.array([x, y]) - hands.squares.centres[..., :2]
    aside = hands.azimuth[0, 0] - np.arctan2(toward[..., 1], toward[..., 0])
    aside = np.abs((aside + math.pi) % (2 * math.pi) - math.pi)
    steep = np.isclose(hands.elevation[0, 0], math.pi / 2)
    assert (steep | (aside <= math.radians(60.0) + 1e-5)).all()


def test_seats_are_served_from_one_measurement(grid, walls):
    clearance = measure_for([_probe(40.0)], grid(), walls(70.0))
    both = map_hands(clearance, [_probe(40.0)], np.concatenate([SOUTH, EAST]))
    for index, shoulder in enumerate((SOUTH, EAST)):
        alone = map_hands(clearance, [_probe(40.0)], shoulder)
        np.testing.assert_array_equal(both.margin[:, index], alone.margin[:, 0])
        np.testing.assert_array_equal(both.azimuth[:, index], alone.azimuth[:, 0])
    assert not np.array_equal(both.margin[:, 0], both.margin[:, 1])
    rows, columns = np.indices((10, 14))
    assert np.array_equal(both.margin[0][both.best_seat()[0], rows, columns], both.margin[0].max(axis=0))


def test_more_in_the_room_never_gives_more_room(grid, walls, crate):
    less = _map(grid(), walls(), _probe(40.0))
    more = _map(grid(), [*walls(), crate("chest", (0, 0, 0), (40, 40, 80))], _probe(40.0))
    assert (more.margin <= less.margin).all()
    assert (more.margin < less.margin).any()


def test_a_chest_is_named_where_it_is_in_the_way(grid, walls, crate):
    chest = crate("the chest", (1, 1, 0), (23.4, 23.4, 30))
    hands = _map(grid(), [*walls(), chest], _probe(60.0))
    assert hands.fit[0, 0, 5, 7] == Fit.BLOCKED
    assert hands.names[hands.blocked_by[0, 0, 5, 7]] == "the chest"
    (finding,) = check_hands(hands)
    # one square of many is a note
    assert (finding.code, finding.severity) == ("hand-does-not-fit", "note")
    assert "1 square from any seat, because of the chest; it is column 8, row 6" in finding.message
    low = crate("the chest", (1, 1, 0), (23.4, 23.4, 15))
    assert check_hands(_map(grid(), [*walls(), low], _probe(60.0))) == ()


def test_short_fingers_alone_make_a_note(grid, walls):
    findings = check_hands(_map(grid(), walls(), _probe(40.0), _probe(60.0)))
    assert [(finding.code, finding.severity) for finding in findings] == [("hand-does-not-fit", "note")]
    assert "40 mm of fingers below the palm" in findings[0].message
    both = check_hands(_map(grid(), walls(200.0), _probe(40.0), _probe(60.0)))
    assert both[0].severity == "warning"


def test_squares_that_are_not_of_the_room_count_nowhere(grid, walls):
    inside = np.ones((10, 14), dtype=bool)
    inside[5:, 7:] = False
    hands = _map(replace(grid(), inside=inside), walls(), _probe(50.0))
    assert np.isnan(hands.margin[0, 0][~inside]).all()
    assert (hands.fit[0, 0][~inside] == Fit.OUTSIDE).all()
    assert sum(hands.share(fit)[0, 0] for fit in (Fit.OK, Fit.TIGHT, Fit.BLOCKED)) == pytest.approx(1.0)
    assert check_hands(hands) == ()


def test_no_seats_no_findings(grid, walls):
    assert check_hands(_map(grid(), walls(), _probe(), shoulders=np.empty((0, 3)))) == ()


def test_the_building_may_be_turned_on_the_table(grid, walls, crate):
    """Ways go round in steps of 15 degrees: a room turned by 30 with its seats and furniture gives the same room."""
    turn, shift = math.radians(30.0), np.array([250.0, -90.0, 6.0])
    spin = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])

    def moved(blocker):
        faces = tuple(tuple(ring @ spin.T + shift for ring in rings) for rings in blocker.faces)
        return replace(blocker, faces=faces)

    still, blockers = grid(), [*walls(75.0), crate("chest", (4, 4, 0), (30, 20, 50), turn=0.3)]
    there = replace(still, origin=spin @ still.origin + shift, u=spin @ still.u, v=spin @ still.v)
    one = _map(still, blockers, _probe(40.0))
    other = _map(there, [moved(blocker) for blocker in blockers], _probe(40.0), shoulders=SOUTH @ spin.T + shift)
    np.testing.assert_allclose(one.margin, other.margin, atol=1e-9)
    np.testing.assert_allclose(one.elevation, other.elevation)


def test_what_short_fingers_add_is_said_to_be_more(grid, walls, crate):
    """Squares that not even the long pinch enters are counted in the warning alone."""
    chest = crate("the chest", (1, 1, 0), (23.4, 23.4, 30))
    hands = _map(grid(), [*walls(), chest], _probe(40.0), _probe(60.0))
    long, short = check_hands(hands)
    assert "cannot enter 1 square from any seat" in long.message
    barred = (hands.margin.max(axis=1) < 0.0) & hands.squares.inside
    assert f"cannot enter {int(barred[0].sum()) - 1} more squares from any seat" in short.message


@pytest.mark.parametrize(
    ("height", "words"),
    [
        (55.0, "passes over"),
        (60.0, "passes over"),
        (62.0, "short fingers meets the wall"),
        (81.0, "any palm meets the wall"),
    ],
)
def test_the_verdict_flips_where_the_palm_starts(height, words):
    # Walls up to grip + finger never stop the palm from above: 20 + 40 and 20 + 60 mm.
    passage = passage_over(height, HANDS)
    assert (passage.free, passage.blocked) == (60.0, 80.0)
    assert words in passage.sentence


def test_straight_from_above_a_wall_blocks_exactly_what_rises_above_the_palm():
    for probe in HANDS:
        start, radius = probe.stages[1]
        for height in np.linspace(40.0, 90.0, 26):
            passage = passage_over(float(height), [probe])
            # vertical approach: a wall at distance d is met iff it rises above z_g + l and d < r
            met = height > probe.grip + start
            assert met == (height > passage.free)
            assert passage.palm == radius
