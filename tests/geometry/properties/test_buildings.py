"""Whatever values a building is made of: its outlines are valid, and where it is cut and proved, nothing is wrong.

The judges share no code with the product: outlines by shapely and pyclipper, standing boards by manifold3d, sizes and
tabs by shapely. ``--hypothesis-profile long`` tries many buildings.
"""

from __future__ import annotations

import pytest
from drawn_buildings import houses, plain_gables, prisms, rings
from families import find_faults
from hypothesis import given, note
from judging import Verdict, judge
from made_buildings import Building
from run_again import changes_with_order, changes_with_time


def _holds(building: Building) -> Verdict:
    """Judge a building and return its verdict; fail where it crashes or is wrong."""
    judgement = judge(building)
    note(f"{building.kind}, {building.settings.walls.name}: {judgement.verdict.value} {judgement.codes}")
    assert judgement.verdict is not Verdict.CRASH, judgement
    assert not [fault for fault, _ in judgement.faults if "outline" in fault.value or "lost" in fault.value], judgement
    if judgement.verdict is Verdict.CUT:
        assert find_faults(building, judgement, again=False) == ()
    if judgement.verdict is Verdict.REFUSED:
        assert judgement.sentence
    return judgement.verdict


@given(plain_gables())
def test_a_plain_gable_is_cut_and_proved(building: Building) -> None:
    assert _holds(building) is Verdict.CUT


@pytest.mark.slow
@given(houses())
def test_a_house_is_sound_or_told(building: Building) -> None:
    _holds(building)


@pytest.mark.slow
@given(rings())
def test_a_ring_is_sound_or_told(building: Building) -> None:
    _holds(building)


@pytest.mark.slow
@given(prisms())
def test_a_prism_is_sound_or_told(building: Building) -> None:
    _holds(building)


@pytest.mark.slow
@given(plain_gables())
def test_the_same_house_gives_the_same_bytes_and_in_another_order_the_same_parts(building: Building) -> None:
    outcome = judge(building).outcome
    assert outcome is not None
    assert not changes_with_time(building.solid, building.settings, outcome)
    assert not changes_with_order(building.solid, building.settings, outcome, seed=1)
