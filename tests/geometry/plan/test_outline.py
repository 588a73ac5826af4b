"""Outlines and their overhang, beside what shapely finds of the same rings."""

from __future__ import annotations

import math

import numpy as np
import pytest
from plans import drawn_plan
from shapely import Polygon
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.loops import border_of, trace_loops
from stowfold.geometry.plan.outline import (
    PlanKind,
    check_outline,
    grow,
    is_convex,
    is_right_angled,
    outline_of,
)

L_PLAN = outline_of(PlanKind.L, length=9, width=7, bar=3, wing=4, square=25.4)


@pytest.mark.parametrize("seed", range(60))
def test_an_outline_is_taken_where_shapely_finds_it_simple(seed: int) -> None:
    chance = np.random.default_rng(seed)
    ring = chance.uniform(0.0, 100.0, (int(chance.integers(3, 8)), 2))
    corners = [(float(x), float(y)) for x, y in ring]
    if Polygon(ring).is_valid:
        checked = check_outline(corners)
        assert Polygon(checked).exterior.is_ccw
        assert Polygon(checked).area == pytest.approx(Polygon(ring).area)
    else:
        with pytest.raises(BadSettingError, match="cross or touch"):
            check_outline(corners)


def test_corners_within_straight_walls_are_left_out() -> None:
    plan = ((0, 0), (50, 0), (100, 20), (100, 90), (0, 90), (0, 45))
    assert sorted(check_outline(plan[::-1])) == sorted(plan[:5])
    assert len(check_outline(((0, 0), (50, 25), (100, 50), (0, 90)))) == 3


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        ([(0, 0), (100, 0), (60, 0), (60, 50)], "runs back on itself"),
        ([(0, 0), (100, 0), (50, 0.001)], "runs back on itself"),
        ([(0, 0), (100, 0), (100, 60), (50, 0.001), (0, 60)], "cross or touch"),
    ],
)
def test_spikes_and_touching_walls_are_said(plan, words) -> None:
    with pytest.raises(BadSettingError, match=words):
        check_outline(plan)


@pytest.mark.parametrize("seed", range(20))
def test_an_overhang_is_the_mitred_offset_of_shapely(seed: int) -> None:
    plan = [(float(x), float(y)) for x, y in drawn_plan("star", seed)]
    try:
        grown = Polygon(grow(plan, [6.0] * len(plan)))
    except BadSettingError:
        # a corner so deep that its sides meet before they are out
        assert len(Polygon(plan).buffer(6.0, join_style="mitre", mitre_limit=1e6).exterior.coords) - 1 < len(plan)
        return
    assert grown.symmetric_difference(Polygon(plan).buffer(6.0, join_style="mitre", mitre_limit=1e6)).area < 1e-6


@pytest.mark.parametrize("sides", [3, 5, 8, 24])
def test_a_round_plan_is_regular_and_as_far_across_as_asked(sides: int) -> None:
    plan = np.array(outline_of(PlanKind.ROUND, length=6, width=0, sides=sides, square=25.4))
    middle, apothem = 3 * 25.4, 3 * 25.4
    assert Polygon(plan).area == pytest.approx(sides * apothem**2 * math.tan(math.pi / sides))
    assert np.hypot(*(plan - middle).T) == pytest.approx([apothem / math.cos(math.pi / sides)] * sides)
    # the first side lies along the front
    assert plan[:2, 1] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert plan[0, 0] < plan[1, 0]


def test_what_kind_an_outline_is() -> None:
    square = outline_of(PlanKind.ROUND, length=6, width=0, sides=4, square=25.4)
    assert is_convex(square)
    assert is_right_angled(square)
    assert is_right_angled(L_PLAN)
    assert not is_convex(L_PLAN)
    assert not is_right_angled(((0, 0), (100, 0), (100, 80), (0, 80.2)))


@pytest.mark.parametrize("sides", [2, 25])
def test_a_round_plan_has_a_bounded_number_of_sides(sides: int) -> None:
    with pytest.raises(BadSettingError, match=f"{sides} sides"):
        outline_of(PlanKind.ROUND, length=6, width=0, sides=sides, square=25.4)


def test_loops_that_touch_keep_to_their_own_corners() -> None:
    """Two triangles that meet in one point are two loops, not one that crosses itself there."""
    points = [(0, 0), (2, 0), (1, 1), (2, 2), (0, 2)]
    edges = [(0, 1), (1, 2), (2, 0), (2, 3), (3, 4), (4, 2)]
    loops = [[edges[k][0] for k in loop] for loop in trace_loops(edges, points)]
    assert sorted(map(sorted, loops)) == [[0, 1, 2], [2, 3, 4]]


def test_the_border_of_two_squares_leaves_out_what_is_between_them() -> None:
    left, right = [(0, 1), (1, 4), (4, 5), (5, 0)], [(1, 2), (2, 3), (3, 4), (4, 1)]
    assert border_of([*left, *right]) == [(0, 1), (4, 5), (5, 0), (1, 2), (2, 3), (3, 4)]
