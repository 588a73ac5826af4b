"""A few sound buildings of every family come out cut and proved, and the judge finds nothing wrong with them."""

from __future__ import annotations

import pytest
from families import find_faults
from judging import Verdict, judge
from slow_cases import one_quick
from sound_buildings import FAMILIES, make_sound

#: Numbers of seed 1 by family: one of every kind of building that is cut, as far as a few take them in.
FLOOR = {
    "gable": (11, 6, 0),
    "hip": (4, 10, 3, 319),
    "lean-to": (6, 0, 10),
    "broken-slopes": (7, 0, 3, 1, 18),
    "winged-hip": (1, 8, 0, 3),
    "crossing-gables": (9, 2, 0, 123, 155, 356),
    "tower": (6, 10, 1, 354),
    "convex": (6, 10, 4),
    "ring": (5, 0, 1, 7, 10),
    "closed-body": (10, 3, 5),
    "dormer": (2, 1, 5, 6, 13, 31),
    "open-solid": (9, 1, 4, 7, 3),
}


@pytest.mark.parametrize(
    ("family", "number"),
    one_quick([(family, number) for family, numbers in FLOOR.items() for number in numbers], ("gable", 11)),
)
def test_a_sound_building_is_cut_and_proved(family: str, number: int) -> None:
    building = make_sound(1, FAMILIES[family], number)
    judgement = judge(building)
    assert judgement.verdict is Verdict.CUT, judgement
    assert find_faults(building, judgement, again=False) == ()


def test_every_family_has_a_floor() -> None:
    assert set(FLOOR) == set(FAMILIES) and min(map(len, FLOOR.values())) >= 3
