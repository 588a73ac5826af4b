"""In the box no board shares a place with another one, with all that is glued on; solids are those of manifold3d."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from film_solids import met_at
from filmed import FILMED, filmed
from slow_cases import one_quick
from sound_buildings import find_family, make_sound
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Outcome
from stowfold.geometry.settings import ClosureKind, ClosureSettings
from stowfold.geometry.show.film import Film, film_of, poses_at

LAP, MAGNETS = ClosureKind.LAP, ClosureKind.MAGNETS

#: Crossing and winged roofs above all: their fins, stops and carriers stand out furthest. Two hold a roof that strips
#: join to itself, which is stowed as it stands.
MADE = [
    ("crossing-gables", 1, MAGNETS),
    ("crossing-gables", 0, LAP),
    ("crossing-gables", 3, MAGNETS),
    ("crossing-gables", 8, LAP),
    ("winged-hip", 0, LAP),
    ("winged-hip", 4, LAP),
    ("winged-hip", 4, MAGNETS),
    ("winged-hip", 12, MAGNETS),
    ("broken-slopes", 2, MAGNETS),
    ("hip", 7, MAGNETS),
    ("dormer", 1, LAP),
    ("tower", 2, LAP),
]

#: The box is told and drawn to so much, mm: engraved lines are drawn just above faces, and as wide beyond edges.
CLOSE = 0.3


def check_boxed(outcome: Outcome, film: Film) -> None:
    assert met_at(film, np.array([2.0])) == {}
    moments = poses_at(film, 2.0)
    points = np.concatenate(
        [moment.pose.apply(film.boards[name].points(moment.share)) for name, moment in moments.items()]
    )
    low, high = points.min(axis=0), points.max(axis=0)
    assert (low > film.box[0] - CLOSE).all() and (high < film.box[1] + CLOSE).all()
    # and it is no higher than what lies in it, which reaches from its bottom to its top
    assert outcome.stow.box[2] == pytest.approx(high[2] - low[2], abs=CLOSE)


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_the_parts_of_samples_lie_apart_in_a_box_as_large_as_told(name: str) -> None:
    check_boxed(*filmed(name))


@pytest.mark.parametrize(("family", "number", "kind"), one_quick(MADE))
def test_the_parts_of_made_buildings_lie_apart_in_a_box_as_large_as_told(
    family: str, number: int, kind: ClosureKind
) -> None:
    building = make_sound(1, find_family(family), number)
    settings = replace(building.settings, closure=ClosureSettings(kind=kind))
    outcome = make_parts(building.solid, settings, title=family).outcome
    check_boxed(outcome, film_of(outcome))
