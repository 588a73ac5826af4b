"""Everything asked of a room at once: the parts agree, and occluders with maps made without the blocker."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files

import jsonschema
import numpy as np
import pytest
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.paper.play_values import play_values
from stowfold.geometry.paper.seats import seats_section
from stowfold.geometry.play.checks import check_play
from stowfold.geometry.play.sight import HEIGHTS, Eye, see
from stowfold.geometry.play.stature import read_statures
from stowfold.geometry.play.table import eye_of
from stowfold.geometry.play.table_top import Blocker, BlockerKind, Seat, Squares, Table, TableTop

SIZE, COLUMNS, ROWS = 25.4, 6, 4
LENGTH, WIDTH = SIZE * COLUMNS, SIZE * ROWS
STATURES = read_statures()


def _wall(name, a, b, height=62.0):
    ring = np.array([[*a, 0.0], [*b, 0.0], [*b, height], [*a, height]])
    return Blocker(name, BlockerKind.WALL, ((ring,),))


def _given(seats=2):
    corners = [(0.0, 0.0), (LENGTH, 0.0), (LENGTH, WIDTH), (0.0, WIDTH)]
    walls = [_wall(f"Wall {k + 1}", corners[k], corners[(k + 1) % 4]) for k in range(4)]
    axes = np.eye(3)
    inside = np.ones((ROWS, COLUMNS), dtype=bool)
    inside[-1, -1] = False
    squares = Squares(np.zeros(3), axes[0], axes[1], SIZE, inside)
    table = Table(np.array([LENGTH / 2, WIDTH / 2, 0.0]))
    places = [
        Seat("front", np.array([LENGTH / 2, WIDTH / 2 - 609.6, 0.0]), axes[1]),
        Seat("left", np.array([LENGTH / 2 - 914.4, WIDTH / 2, 0.0]), axes[0]),
    ][:seats]
    return TableTop(squares, tuple(walls), table, tuple(places), tuple(places), tuple(places))


def test_occluders_hide_what_maps_without_the_blocker_show_more():
    given = _given()
    play = check_play(given, STATURES)
    eyes = [Eye(seat.name, eye_of(seat, given.table, STATURES)) for seat in given.seats]
    before = see(given.building, given.squares, eyes, HEIGHTS).in_room.mean(axis=(0, 2))
    for name, shares in play.occluders:
        rest = [blocker for blocker in given.building if blocker.name != name]
        more = see(rest, given.squares, eyes, HEIGHTS).in_room.mean(axis=(0, 2)) - before
        assert shares == pytest.approx(more.tolist(), abs=1e-9)
    assert sorted(name for name, _ in play.occluders) == [f"Wall {k}" for k in range(1, 5)]


def test_the_report_of_it_is_what_the_schema_says_and_leaves_out_what_is_no_room():
    play = check_play(_given(), STATURES)
    values = play_values(play)
    schema = json.loads((files("stowfold.geometry.paper") / "report.schema.json").read_text(encoding="utf-8"))
    jsonschema.validate(values, schema["properties"]["play"])
    json.dumps(values, allow_nan=False)
    assert values["share"][0][0][ROWS - 1][COLUMNS - 1] is None
    assert np.isclose(values["share"][1][2][1][2], play.sight.share[1, 2, 1, 2])
    assert play_values(None) is None


def test_the_guide_names_every_seat_and_draws_every_square_of_the_room():
    play = check_play(_given(), STATURES)
    words = seats_section(play)
    assert "front" in words and "left" in words
    # a map per seat and one for the best of them
    assert words.count("<rect") == 3 * (ROWS * COLUMNS - 1)
    assert "No table and no seats" in seats_section(None)


def test_the_guide_says_whose_hand_and_whose_arm_it_is():
    given = _given()
    small, large = (tuple(replace(seat, stature=name) for seat in given.seats) for name in ("small", "large"))
    as_usual = seats_section(check_play(replace(given, reaching=small, fitting=large), STATURES))
    assert "a large hand comes" in as_usual and "a small player reaches" in as_usual
    other = seats_section(check_play(replace(given, reaching=large, fitting=(small[0], large[1])), STATURES))
    assert "a player's hand comes" in other and "a player reaches" in other


def test_nobody_at_the_table_is_one_sentence():
    with pytest.raises(BadSettingError, match="Nobody sits at the table"):
        check_play(_given(seats=0), STATURES)
