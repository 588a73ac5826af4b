"""Boards that enter each other: depths of boxes known by hand, and yes or no against linear programming."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy.optimize import linprog
from shapely.geometry import Polygon, box
from stowfold.geometry.fold import collide, shares
from stowfold.geometry.fold.collide import Board, depths_between, find_crossings, greatest_depth, prisms
from stowfold.geometry.fold.fold import rotation
from stowfold.geometry.pose import Pose

FLOOR = Pose.identity()


def standing(angle: float, shift: tuple[float, float, float], axis: tuple[float, float, float] = (0, 1, 0)) -> Pose:
    return Pose(np.column_stack([rotation(np.array(axis, dtype=float), angle), shift]))


def board(name: str, outline: Polygon, stands: Pose, thickness: float = 3.0) -> Board:
    return Board(name, name, prisms(outline, stands, 0.0, thickness))


def test_touching_boards_do_not_cross() -> None:
    one = board("A", box(0, 0, 50, 30), FLOOR)
    two = board("B", box(0, 0, 50, 30), standing(0.0, (0.0, 0.0, 3.0)))
    assert find_crossings([one, two], deeper=1e-9)[1] == ()


@pytest.mark.parametrize("depth", [0.01, 0.4, 1.7])
def test_depth_of_stacked_boards(depth: float) -> None:
    one = board("A", box(0, 0, 50, 30), FLOOR)
    two = board("B", box(5, 5, 45, 25), standing(0.0, (0.0, 0.0, 3.0 - depth)))
    deepest, crossings = find_crossings([one, two], deeper=1e-9)
    assert deepest == pytest.approx(depth)
    assert [crossing.names for crossing in crossings] == [("A", "B")]
    assert crossings[0].point[2] == pytest.approx(3.0 - depth / 2)


def test_a_wall_that_reaches_into_the_floor_by_a_millimetre() -> None:
    floor = board("F", box(-20, -20, 20, 20), standing(0.0, (0.0, 0.0, -3.0)))
    wall = board("W", box(-1, -10, 40, 10), standing(-np.pi / 2, (0.0, 0.0, 0.0)))
    assert find_crossings([floor, wall], deeper=1e-9)[0] == pytest.approx(1.0)


def test_a_board_in_the_window_of_another_does_not_cross_it() -> None:
    window = Polygon(box(0, 0, 60, 60).exterior, [box(20, 20, 40, 40).exterior.coords[::-1]])
    frame = board("W", window, FLOOR)
    post = board("P", box(-10, 21, 20, 39), standing(np.pi / 2, (28.0, 0.0, 12.0)))
    assert find_crossings([frame, post], deeper=1e-9)[0] == 0.0


def test_boards_of_one_group_are_not_compared() -> None:
    one = board("A", box(0, 0, 50, 30), FLOOR)
    again = Board("A", "A", one.corners + 1.0)
    assert find_crossings([one, again], deeper=1e-9) == (0.0, ())


@pytest.mark.parametrize("at_once", [7, 50_000])
def test_all_pairs_of_many_boxes_that_meet_are_found(at_once: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Boxes along the axes against a tree of shapely over the plan and their levels."""
    monkeypatch.setattr(shares, "_AT_ONCE", at_once)
    chance = np.random.default_rng(3)
    spots, sizes, levels = chance.uniform(0, 90, (60, 2)), chance.uniform(2, 20, (60, 2)), chance.uniform(0, 9, 60)
    plans = [box(*spot, *(spot + size)) for spot, size in zip(spots, sizes, strict=True)]
    boards = [board(f"{k}", plan, standing(0.0, (0.0, 0.0, levels[k]))) for k, plan in enumerate(plans)]
    crossings = find_crossings(boards, deeper=1e-6)[1]
    one, two = shapely.STRtree(plans).query(plans, predicate="intersects")
    near = (one < two) & (np.abs(levels[one] - levels[two]) < 3.0)
    expected = set(zip(one[near].tolist(), two[near].tolist(), strict=True))
    assert [crossing.places for crossing in crossings] == sorted(expected)
    assert len(expected) > 40


def overlap_by_linear_programming(one: np.ndarray, two: np.ndarray) -> bool:
    """Whether two hulls share a point: convex weights of both sets of corners that give the same point (scipy)."""
    count = len(one)
    equal = np.zeros((5, 2 * count))
    equal[:3, :count], equal[:3, count:] = one.T, -two.T
    equal[3, :count] = equal[4, count:] = 1.0
    return linprog(np.zeros(2 * count), A_eq=equal, b_eq=[0, 0, 0, 1, 1], bounds=(0, None)).status == 0


@pytest.mark.slow
def test_yes_or_no_agrees_with_linear_programming() -> None:
    chance = np.random.default_rng(7)
    answers = []
    for _ in range(400):
        pair = []
        for name in "AB":
            axis = chance.normal(size=3)
            stands = standing(chance.uniform(0, 6), tuple(chance.uniform(-4, 6, 3)), tuple(axis / np.linalg.norm(axis)))
            triangle = Polygon(chance.uniform(-10, 10, (3, 2)))
            pair.append(board(name, triangle, stands))
        if any(len(prisms.corners) != 1 for prisms in pair):
            continue
        one, two = (prisms.corners[0] for prisms in pair)
        answers.append((find_crossings(pair, deeper=1e-7)[1] != (), overlap_by_linear_programming(one, two)))
        assert greatest_depth(*(prisms.corners for prisms in pair)) == find_crossings(pair, deeper=0.0)[0]
    assert [ours for ours, _ in answers] == [theirs for _, theirs in answers]
    assert 20 < sum(theirs for _, theirs in answers) < len(answers) - 20


def test_pairs_have_the_same_depth_alone_and_among_many(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(5)
    triangles, heights = rng.uniform(0.0, 20.0, (2, 50, 3, 3)), rng.uniform(1.0, 4.0, (2, 50, 1, 3))
    one, two = np.concatenate([triangles, triangles + heights], axis=2)
    together = depths_between(one, two)
    monkeypatch.setattr(collide, "_PAIRS_AT_ONCE", 7)
    assert np.array_equal(depths_between(one, two), together)
    alone = [float(depths_between(one[k : k + 1], two[k : k + 1])[0]) for k in range(len(one))]
    assert alone == together.tolist() and min(alone) < 0.0 < max(alone)
