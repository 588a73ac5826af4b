"""Where loops part: the dynamic programme against every possible choice on a hundred small loops."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stowfold.geometry.propose.parting import Places, part_chain, part_loop

TOTAL = 120.0


def brute_force(places, costs, longest: float, fixed=()):
    """The best choice by trying all of them: fewest, then least cost, then least sum of squares."""
    best = None
    for count in range(len(places) + 1):
        for chosen in combinations(range(len(places)), count):
            at = sorted([*(places[k] for k in chosen), *fixed])
            if not at:
                continue
            runs = np.diff([*at, at[0] + TOTAL])
            if runs.max() > longest + 1e-9:
                continue
            score = (count, sum(costs[k] for k in chosen), float((runs**2).sum()))
            if best is None or score < best:
                best = score
        if best is not None:
            return best
    return None


def score_of(chosen, places, costs, fixed=()):
    at = sorted([*(places[k] for k in chosen), *fixed])
    runs = np.diff([*at, at[0] + TOTAL])
    return len(chosen), sum(costs[k] for k in chosen), float((runs**2).sum())


loops = st.lists(st.integers(0, 119), min_size=1, max_size=9, unique=True).map(sorted)


@settings(max_examples=100, deadline=None)
@given(loops, st.data(), st.integers(15, 140))
def test_no_choice_is_better(places: list[int], data: st.DataObject, longest: int) -> None:
    costs = np.array(data.draw(st.lists(st.integers(0, 2), min_size=len(places), max_size=len(places))), dtype=float)
    at = np.array(places, dtype=float)
    chosen = part_loop(Places.of(at, costs), total=TOTAL, longest=float(longest))
    expected = brute_force(at, costs, float(longest))
    if expected is None:
        assert chosen is None
    else:
        assert chosen is not None
        assert score_of(chosen, at, costs) == pytest.approx(expected)


@settings(max_examples=100, deadline=None)
@given(
    loops,
    st.lists(st.floats(0.25, 119.25).map(lambda x: round(x) + 0.25), min_size=1, max_size=3, unique=True),
    st.integers(20, 140),
)
def test_pins_stay_and_the_rest_is_best(places: list[int], fixed: list[float], longest: int) -> None:
    at, costs = np.array(places, dtype=float), np.zeros(len(places))
    pins = [(held, 0.0) for held in fixed]
    chosen = part_loop(Places.of(at, costs), total=TOTAL, longest=float(longest), fixed=pins)
    expected = brute_force(at, costs, float(longest), fixed)
    if expected is None:
        assert chosen is None
    else:
        assert chosen is not None
        assert score_of(chosen, at, costs, fixed) == pytest.approx(expected)


def test_one_break_opens_a_loop_that_fits_whole() -> None:
    assert part_loop(Places.of([10.0, 50.0], np.array([1.0, 0.0])), total=100.0, longest=150.0) == (1,)


def test_nothing_to_do_where_pins_suffice() -> None:
    assert part_loop(Places.of([30.0], np.zeros(1)), total=100.0, longest=60.0, fixed=[(0.0, 0.0), (50.0, 0.0)]) == ()


def test_between_equals_the_middle_of_a_wall_is_taken() -> None:
    places = np.array([5.0, 15.0, 25.0, 65.0, 75.0, 85.0])
    asides = np.array([10.0, 0.0, 10.0, 10.0, 0.0, 10.0])
    assert part_loop(Places.of(places, np.zeros(6), asides=asides), total=120.0, longest=60.0) == (1, 4)


def parted(places: list[int], widths: list[int], start: float, end: float) -> list[float]:
    """The lengths of the sections between two ends of board, parted at places that take widths."""
    edges = [start, *(x for at, w in zip(places, widths, strict=True) for x in (at - w / 2, at + w / 2)), end]
    return [b - a for a, b in zip(edges[::2], edges[1::2], strict=True)]


@settings(max_examples=100, deadline=None)
@given(loops, st.data(), st.integers(15, 140), st.integers(0, 12))
def test_a_chain_is_parted_best_whatever_its_openings_take(
    places: list[int], data: st.DataObject, longest: int, shortest: int
) -> None:
    same = {"min_size": len(places), "max_size": len(places)}
    costs = np.array(data.draw(st.lists(st.integers(0, 2), **same)), dtype=float)
    widths = data.draw(st.lists(st.integers(-4, 15), **same))
    best = None
    for count in range(len(places) + 1):
        for chosen in combinations(range(len(places)), count):
            runs = parted([places[k] for k in chosen], [widths[k] for k in chosen], 0.0, TOTAL)
            if max(runs) > longest + 1e-9 or (chosen and min(runs) < max(shortest, 1e-9)):
                continue
            score = (count, sum(costs[k] for k in chosen), sum(run**2 for run in runs))
            best = score if best is None else min(best, score)
        if best is not None:
            break
    at = np.array(places, dtype=float)
    made = Places(at, costs, np.zeros(len(at)), np.array(widths, dtype=float))
    found = part_chain(made, total=TOTAL, longest=float(longest), shortest=float(shortest))
    if best is None:
        assert found is None
    else:
        assert found is not None
        runs = parted([places[k] for k in found], [widths[k] for k in found], 0.0, TOTAL)
        assert (len(found), sum(costs[k] for k in found), sum(run**2 for run in runs)) == pytest.approx(best)


def test_two_openings_never_lie_nearer_than_the_shortest_section() -> None:
    places = Places.of([10.0, 15.0, 20.0, 45.0, 70.0], np.array([0.0, 0.0, 0.0, 2.0, 2.0]))
    # without the least both would lie on the wall where they do not show
    assert part_loop(places, total=100.0, longest=95.0) == (0, 2)
    assert part_loop(places, total=100.0, longest=95.0, shortest=12.0) == (2, 4)
