"""Floors with finishes: counted from the corner of the squares, within the room, off slots and engraved squares."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from parts_by_hand import make_part
from shapely.geometry import Polygon, box
from stowfold.geometry.finish.finish import Finish, Pattern, finish_of, length_per_area
from stowfold.geometry.finish.pave import pave
from stowfold.geometry.joints.floor import Room
from stowfold.geometry.part import FaceUp, Part, PartKind, plain_panel
from stowfold.geometry.pose import Pose

SQUARE = 25.4
ROOM = Room(box(100.0, 50.0, 100.0 + 8 * SQUARE, 50.0 + 6 * SQUARE), np.array([100.0, 50.0]))


def floor(left: float, right: float, *, whole: bool = False) -> Part:
    """A piece of floor under a part of the room, with a slot and the engraved squares unless it is ``whole``."""
    low = np.array([left, 40.0])
    board = box(0.0, 0.0, right - left, 6 * SQUARE + 20.0)
    slot = box(20.0, 2.0, 23.0, 18.0)
    grid = [np.array([[x, 50.0], [x, 50.0 + 6 * SQUARE]]) - low for x in 100.0 + SQUARE * np.arange(1, 8)]
    kept = tuple(line for line in grid if 0.0 < line[0, 0] < right - left)
    return make_part(
        "F1",
        board if whole else Polygon(board.exterior.coords, [slot.exterior.coords]),
        kind=PartKind.FLOOR,
        face_up=FaceUp.ROOM,
        board_side=-1,
        panels=(plain_panel(board, Pose.identity().moved_to((*low, 0.0))),),
        engrave=() if whole else kept,
    )


def lines(part: Part) -> np.ndarray:
    """The lines of a floor in plan, (n, 2, 2) mm."""
    return np.concatenate([dressing.segments for dressing in part.dressings]) + part.panels[0].stands.origin[:2]


def laid(finish: Finish, part: Part) -> Part:
    return pave([part], {"F1": ROOM}, "floor", finish)[0]


def test_a_chequer_of_half_squares_counts_from_their_corner_and_leaves_the_squares_alone() -> None:
    part = laid(finish_of(Pattern.CHEQUER), floor(90.0, 320.0))
    drawn = lines(part)
    upright = drawn[np.abs(drawn[:, 0, 0] - drawn[:, 1, 0]) < 1e-9, 0, 0]
    # half squares between the engraved lines, which are not drawn twice
    assert np.unique(np.round((upright - 100.0) / SQUARE, 6)).tolist() == [k + 0.5 for k in range(8)]
    squares = shapely.multilinestrings([shapely.linestrings(line) for line in part.engrave])
    own = shapely.multilinestrings([shapely.linestrings(line) for line in part.dressings[0].lines])
    assert own.distance(squares) > 0.5
    assert own.distance(Polygon(part.outline.interiors[0])) > 1.0 - 1e-9
    inside = shapely.multilinestrings(list(shapely.linestrings(drawn)))
    assert ROOM.area.buffer(-1.0 + 1e-9, join_style="mitre").covers(inside)


@pytest.mark.parametrize("pattern", [Pattern.HERRINGBONE, Pattern.BASKET, Pattern.FLAGSTONES, Pattern.LEVEL_BOARDS])
def test_floors_get_as_much_line_as_the_closed_form_says(pattern: Pattern) -> None:
    finish = finish_of(pattern)
    drawn = lines(laid(finish, floor(90.0, 320.0, whole=True)))
    area = ROOM.area.buffer(-1.0, join_style="mitre").area
    assert np.hypot(*(drawn[:, 1] - drawn[:, 0]).T).sum() / area == pytest.approx(length_per_area(finish), rel=0.06)


def test_two_pieces_of_one_floor_go_on_with_each_other() -> None:
    finish = replace(finish_of(Pattern.HERRINGBONE), edge=0.0)
    whole = lines(laid(finish, floor(90.0, 320.0, whole=True)))
    halves = [lines(laid(finish, floor(*ends, whole=True))) for ends in ((90.0, 200.0), (200.0, 320.0))]
    both = shapely.union_all(shapely.linestrings(np.concatenate(halves)))
    assert both.buffer(0.01).covers(shapely.union_all(shapely.linestrings(whole)).difference(box(199, 0, 201, 400)))


def test_a_floor_without_a_room_stays_as_it_is() -> None:
    part = floor(90.0, 320.0)
    assert pave([part], {}, "floor", finish_of(Pattern.CHEQUER)) == (part,)
