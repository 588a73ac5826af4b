"""A few buildings of the sweep in tests/sweep: none crashes, no outline is invalid, no break or face is lost."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from judging import Fault, invalid_outlines, judge, lost_breaks
from made_buildings import make_building
from parts_by_hand import make_part
from shapely.geometry import Polygon, box
from slow_cases import one_quick
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.solid.solid import Role

#: Quick ones that take every kind of plan, roof and mesh together.
NUMBERS = (0, 3, 10, 16, 19, 22, 25, 27, 28, 30, 31, 33, 34, 41, 43, 47, 53, 103, 117, 158)


@pytest.mark.parametrize("number", one_quick(NUMBERS))
def test_a_building_made_by_chance_is_cut_or_told(number: int) -> None:
    judgement = judge(make_building(1, number))
    must_not = {Fault.CRASH, Fault.OUTLINE, Fault.BREAK, Fault.LEFT_OUT, Fault.PROOF, Fault.ENDLESS}
    assert not must_not.intersection(found for found, _ in judgement.faults), judgement


@pytest.mark.parametrize("number", [687, 719])
def test_needles_and_flattened_models_get_sentences_with_sizes_that_make_sense(number: int) -> None:
    building = make_building(1, number)
    try:
        outcome = run(building.solid, building.settings, title="Sweep")
        told = [finding.message for finding in outcome.findings if finding.severity is Severity.ERROR]
    except UnreadableError as error:
        told = [str(error)]
    assert told and not [message for message in told if "nan" in message]
    lengths = [float(length) for message in told for length in re.findall(r"([\d.]+) mm", message)]
    assert max(lengths) <= 1000.0


def test_a_building_depends_on_its_seed_and_number_alone() -> None:
    one, two, other = (make_building(seed, 7) for seed in (1, 1, 2))
    assert (one.solid.points == two.solid.points).all() and one.solid.faces == two.solid.faces
    assert one.settings == two.settings and one.kind == two.kind
    assert one.solid.points.shape != other.solid.points.shape or (one.solid.points != other.solid.points).any()


def test_the_sample_takes_every_plan_and_most_roofs() -> None:
    kinds = [make_building(1, number).kind for number in NUMBERS]
    assert len({kind["plan"] for kind in kinds}) == 6
    assert len({kind["roof"].split(",")[0] for kind in kinds}) >= 6


@pytest.mark.parametrize(
    ("outline", "word"),
    [
        (Polygon([(0, 0), (10, 10), (10, 0), (0, 4)]), "Self-intersection"),
        (Polygon(), "no area"),
        (Polygon(box(0, 0, 10, 10).exterior, [[(12, 2), (14, 2), (14, 4)]]), "outside"),
        (box(0, 0, 10, 10), ""),
    ],
)
def test_the_judge_sees_what_is_wrong_with_an_outline(outline: Polygon, word: str) -> None:
    found = invalid_outlines([make_part("W1", outline)])
    assert bool(found) == bool(word) and all(word in why for _, why in found)


@pytest.mark.slow
def test_the_judge_misses_a_joiner_that_is_not_there() -> None:
    """A run whose joiners are taken away has lost its breaks."""
    building = make_building(1, 158)
    outcome = run(building.solid, building.settings, title="Sweep")
    lines = [edge for edge in outcome.facets.edges if edge.role is Role.BREAK]
    assert len(lines) == len(outcome.joiners) > 0
    assert lost_breaks(building, outcome) == ([], [])
    lost, _ = lost_breaks(building, replace(outcome, joiners=(), findings=()))
    assert len(lost) == len(lines)


@pytest.mark.parametrize("number", [320, 336])
def test_breaks_beside_torn_walls_are_told_and_never_crash(number: int) -> None:
    judgement = judge(make_building(1, number))
    assert not {fault for fault, _ in judgement.faults}, judgement
