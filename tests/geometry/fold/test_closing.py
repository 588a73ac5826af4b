"""Sections that close: all pairs at once come to what a plain look at many fractions sees, panel by panel."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from shapely.geometry import Polygon, box
from spirals import spiral
from stowfold.geometry.fold import shares
from stowfold.geometry.fold.collide import greatest_depth, prisms
from stowfold.geometry.fold.fold import fold, fold_at
from stowfold.geometry.fold.folding import Folding
from stowfold.geometry.part import Part
from stowfold.geometry.pose import Pose

#: Spans are halved until nothing moves more than this, mm; so much may be missed.
DOUBT = 0.5


def wound(seed: int) -> Part:
    """Six walls that wind inward, more or less tightly."""
    chance = np.random.default_rng(seed)
    step = chance.uniform(5.0, 40.0)
    return spiral([200.0, 200.0, *(200.0 - step * k * chance.uniform(0.9, 1.1) for k in range(4))])


def plain_depths(part: Part, fractions: np.ndarray) -> dict[tuple[int, int], np.ndarray]:
    """By how much panels that no bend joins enter each other, mm, as whole boards at every fraction of the fold."""
    low, high = (0.0, part.thickness) if part.board_side > 0 else (-part.thickness, 0.0)
    poses = [fold(part, float(fraction)) for fraction in fractions]
    shapes = [Polygon(panel.ring) for panel in part.panels]
    return {
        (one, two): np.array(
            [greatest_depth(*(prisms(shapes[k], pose[k], low, high) for k in (one, two))) for pose in poses]
        )
        for one, two in combinations(range(len(shapes)), 2)
        if not any({placed.parent, placed.child} == {one, two} for placed in part.lattices)
    }


@pytest.mark.parametrize("seed", range(6))
def test_the_deepest_place_is_that_of_a_plain_look_at_many_fractions(seed: int) -> None:
    part = wound(seed)
    fractions = np.linspace(0.0, 1.0, 65)
    seen = {both: depths for both, depths in plain_depths(part, fractions).items() if depths[-1] < 0.1}
    deepest = max(depths.max() for depths in seen.values())
    crossed = Folding(part).crossed({})
    assert Folding(part).folds() == (crossed is None)
    if crossed is None:
        assert deepest < DOUBT
        return
    assert crossed.depth > deepest - DOUBT
    there = plain_depths(part, np.array([crossed.fraction]))[crossed.panels]
    assert crossed.depth == pytest.approx(there[0], abs=1e-9)


def test_spirals_of_both_kinds_are_among_them() -> None:
    assert {Folding(wound(seed)).folds() for seed in range(6)} == {True, False}


def test_a_board_glued_on_inside_is_in_the_way_and_one_outside_is_not() -> None:
    part = spiral((200.0, 200.0, 200.0, 150.0))
    folding, foot = Folding(part), Polygon(part.panels[0].ring).bounds
    # the walls turn away from the side on which the board lies, or toward it
    toward = 1.0 if part.lattices[0].angle * part.board_side < 0.0 else -1.0
    inside, outside = (
        prisms(box(*foot), Pose.identity(), *sorted((side * part.thickness, side * 160.0)))
        for side in (toward, -toward)
    )
    assert folding.folds() and folding.crossed({}) is None
    assert not folding.lets_in({0: inside}, {}) and folding.crossed({0: inside}) is not None
    assert folding.lets_in({0: outside}, {}) and folding.crossed({0: outside}) is None
    assert not folding.lets_in({0: outside}, {2: inside})


def test_shares_of_the_work_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    part = next(part for part in map(wound, range(6)) if not Folding(part).folds())
    whole = Folding(part).crossed({})
    monkeypatch.setattr(shares, "_AT_ONCE", 3)
    assert Folding(part).crossed({}) == whole


def test_many_fractions_at_once_are_those_one_by_one_to_the_last_bit() -> None:
    part = wound(0)
    late = replace(part, lattices=(part.lattices[0], *(replace(placed, late=True) for placed in part.lattices[1:])))
    fractions = np.array([0.0, 1e-14, 0.3, 0.5, 0.77, 1.0])
    for some in (part, late):
        one_by_one = [[pose.matrix for pose in fold(some, float(fraction))] for fraction in fractions]
        assert np.array_equal(fold_at(some, fractions), np.array(one_by_one))
