"""Hops are short: against a bound that no tour can beat, against every order of a few lines, and never worse."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial.distance import cdist, pdist, squareform
from shapely.geometry import LineString, Point
from stowfold.geometry.beam.lines import Lines
from stowfold.geometry.beam.path import plan_path

HEAD = np.zeros(2)


def dots(points):
    return [(str(i), Lines.of([np.array([p, p])])) for i, p in enumerate(points)]


def strokes(ends):
    return [(str(i), Lines.of([pair])) for i, pair in enumerate(np.asarray(ends, dtype=float))]


def hops(planned):
    """Return how far the head moves between all lines when it starts at HEAD, mm."""
    every = Lines.joined(lines for _, lines in planned)
    return float(np.hypot(*(every.begins - np.concatenate([HEAD[None], every.ends[:-1]])).T).sum())


@pytest.mark.parametrize("count", [40, 150, 400])
def test_hops_against_the_spanning_tree(count):
    """A tour through points is a spanning tree of them, so none is shorter than the minimum spanning tree.

    Nearest first lies a third above it, a good tour a sixth; for random points the best is near
    0.7124 sqrt(n A) (Johnson and McGeoch, Local Optimization and the Traveling Salesman Problem, 1990; from memory).
    """
    points = np.random.default_rng(count).random((count, 2)) * [600, 300]
    bound = minimum_spanning_tree(squareform(pdist(np.vstack([HEAD, points])))).sum()
    planned = plan_path(dots(points), HEAD)
    assert sorted(int(name) for name, _ in planned) == list(range(count))
    assert bound <= hops(planned) <= 1.25 * bound
    assert hops(planned) < hops(plan_path(dots(points), HEAD, budget=0))


@pytest.mark.slow
def test_a_few_lines_come_close_to_the_best_of_all_orders():
    worst = 1.0
    for seed in range(12):
        ends = np.random.default_rng(seed).random((5, 2, 2)) * 100
        best = min(
            sum(
                np.hypot(*(ends[i, a] - before))
                for (i, a), before in zip(
                    zip(order, turns, strict=True),
                    [HEAD, *(ends[i, 1 - a] for i, a in zip(order, turns, strict=True))],
                    strict=False,
                )
            )
            for order in permutations(range(5))
            for turns in product((0, 1), repeat=5)
        )
        found = hops(plan_path(strokes(ends), HEAD))
        assert found >= best - 1e-9
        worst = max(worst, found / best)
    assert worst < 1.2


def test_hops_between_strokes_against_the_spanning_tree():
    """With the strokes as free edges, the hops of a tour complete a spanning tree of all ends.

    The tree may branch where a tour may not, so this bound is looser than the one for points.
    """
    ends = np.random.default_rng(5).random((80, 2, 2)) * [600, 300]
    points = np.vstack([HEAD, ends.reshape(-1, 2)])
    cost = squareform(pdist(points))
    pairs = 1 + 2 * np.arange(80)
    cost[pairs, pairs + 1] = cost[pairs + 1, pairs] = 1e-6  # next to nothing; nothing would be no edge
    bound = minimum_spanning_tree(cost).sum() - 80e-6
    assert bound <= hops(plan_path(strokes(ends), HEAD)) <= 1.75 * bound


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(*(st.floats(0, 300, width=32) for _ in range(4)), st.booleans()), min_size=1, max_size=14))
def test_every_line_is_followed_once_and_hops_are_never_longer_than_nearest_first(lines):
    paths = []
    for i, (x, y, w, h, closed) in enumerate(lines):
        ring = np.array([[x, y], [x + w + 1, y], [x + w + 1, y + h + 1], [x, y + h + 1]])
        paths.append((str(i), Lines.of([ring if closed else ring[:2]], closed=closed)))
    planned = plan_path(paths, HEAD)
    before = dict(paths)
    assert sorted(name for name, _ in planned) == sorted(before)
    for name, after in planned:
        assert after.length == pytest.approx(before[name].length)
        assert after.closed.tolist() == before[name].closed.tolist()
    assert hops(planned) <= hops(plan_path(paths, HEAD, budget=0)) + 1e-6


def test_the_same_lines_get_the_same_order_and_no_line_takes_for_ever():
    points = np.random.default_rng(1).random((120, 2)) * 300
    one, two = plan_path(dots(points), HEAD, budget=50_000), plan_path(dots(points), HEAD, budget=50_000)
    assert [name for name, _ in one] == [name for name, _ in two]
    many = dots(np.random.default_rng(1).random((1600, 2)))
    assert plan_path(many, HEAD) == many  # hatching stays as it was drawn


def test_closed_lines_start_off_their_corners_on_a_long_side():
    # A board of 60 x 40 with a tab of 15 x 2.8: nothing starts within 2 mm of a corner or on the tab's short sides.
    ring = np.array([[0, 0], [20, 0], [20, -2.8], [35, -2.8], [35, 0], [60, 0], [60, 40], [0, 40.0]])
    for head in np.random.default_rng(3).random((40, 2)) * 120 - 30:
        ((_, line),) = plan_path([("A", Lines.of([ring], closed=True))], head)
        start = line.points[0]
        assert cdist([start], ring).min() >= 2.0 - 1e-9
        assert LineString([*ring, ring[0]]).distance(Point(start)) < 1e-9
        assert not (-2.8 < start[1] < 0)
        assert line.length == pytest.approx(Lines.of([ring], closed=True).length)


def test_small_rings_start_at_the_middle_of_a_side():
    ring = np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]])
    ((_, line),) = plan_path([("A", Lines.of([ring], closed=True))], np.array([5.0, 0.4]))
    np.testing.assert_allclose(line.points[0], [1.0, 0.5])


def test_lines_opened_along_gaps():
    square = Lines.of([np.array([[0, 0], [10, 0], [10, 10], [0, 10.0]])], closed=True)
    assert square.without([]) is square
    opened = square.without([(5.0, 6.0), (38.0, 41.0)])  # the second runs over the start
    assert opened.closed.tolist() == [False, False]
    assert opened.length == pytest.approx(40 - 1 - 3)
    np.testing.assert_allclose(opened.polylines()[0], [[6, 0], [10, 0], [10, 10], [0, 10], [0, 2]])
    np.testing.assert_allclose(opened.polylines()[1], [[1, 0], [5, 0]])
    assert square.without([(0.0, 5.0), (3.0, 8.0)]).length == pytest.approx(32)
    assert len(square.without([(1.0, 41.0)])) == 0


def test_backward_is_the_same_lines_the_other_way():
    lines = Lines.joined([Lines.of([np.array([[0, 0], [1, 0], [1, 2.0]])]), Lines.of([np.array([[5, 5], [6, 6.0]])])])
    back = lines.backward()
    assert [p.tolist() for p in back.polylines()] == [[[6, 6], [5, 5]], [[1, 2], [1, 0], [0, 0]]]
    assert [p.tolist() for p in back.backward().polylines()] == [p.tolist() for p in lines.polylines()]
