"""The judge of the sweep sees boards in one another, lost areas, lost lengths and tabs beside their slots."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from families import Asked, look_at
from kept_sizes import lost_sizes, stray_tabs
from sound_buildings import FAMILIES, make_sound
from standing_solids import round_shell, shared_places
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome
from stowfold.geometry.part import PartKind
from stowfold.geometry.pose import Pose

BUILDING = make_sound(1, FAMILIES["lean-to"], 0)


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    return run(BUILDING.solid, BUILDING.settings, title="Lean-to")


def test_the_judge_finds_nothing_in_a_building_that_stands(outcome: Outcome) -> None:
    assert not shared_places(outcome)
    assert not list(lost_sizes(BUILDING.solid, outcome))
    assert outcome.tabs and not list(stray_tabs(outcome))


def test_a_roof_that_sinks_into_the_walls_shares_their_place(outcome: Outcome) -> None:
    parts = []
    for part in outcome.parts:
        sunk = [
            replace(panel, stands=Pose(panel.stands.matrix - [[0, 0, 0, 0], [0, 0, 0, 0], [0, 0, 0, 1.0]]))
            for panel in part.panels
        ]
        parts.append(replace(part, panels=tuple(sunk)) if part.kind is PartKind.ROOF else part)
    shared = shared_places(replace(outcome, parts=tuple(parts)))
    assert shared and max(place.depth for place in shared) > 0.5


def test_a_panel_that_is_too_small_lacks_area(outcome: Outcome) -> None:
    part = next(part for part in outcome.parts if part.kind is PartKind.WALL)
    panel = part.panels[0]
    middle = panel.ring.mean(axis=0)
    shrunk = replace(part, panels=(replace(panel, ring=middle + 0.6 * (panel.ring - middle)), *part.panels[1:]))
    parts = tuple(shrunk if one.id == part.id else one for one in outcome.parts)
    assert any("lacks" in sentence for sentence in lost_sizes(BUILDING.solid, replace(outcome, parts=parts)))


def test_a_panel_that_is_stretched_changes_its_lengths(outcome: Outcome) -> None:
    part = next(part for part in outcome.parts if part.kind is PartKind.WALL)
    panel = part.panels[0]
    longer = replace(part, panels=(replace(panel, corners=panel.corners * [1.01, 1.0]), *part.panels[1:]))
    parts = tuple(longer if one.id == part.id else one for one in outcome.parts)
    assert any("length" in sentence for sentence in lost_sizes(BUILDING.solid, replace(outcome, parts=parts)))


def test_a_tab_that_moved_stands_beside_its_slot(outcome: Outcome) -> None:
    tab = outcome.tabs[0]
    off = replace(outcome, tabs=(replace(tab, tab=tab.tab + np.array([2.0, 2.0, 0.0])), *outcome.tabs[1:]))
    assert any("beside its slot" in sentence for sentence in stray_tabs(off))


def test_a_bent_lattice_has_the_volume_of_its_board(outcome: Outcome) -> None:
    """By Pappus: a band bent about any axis keeps its section times the way of the section's centre."""
    part = next(part for part in outcome.parts if part.lattices)
    lattice = part.lattices[0]
    shell = round_shell(part, lattice, part.panels[lattice.parent].stands)
    flat = lattice.lattice.flat_width * lattice.lattice.axis_length * part.thickness
    assert shell.volume() == pytest.approx(flat, rel=2e-3)
    other = np.array(round_shell(part, lattice, Pose.identity()).bounding_box())
    assert (other[3:] - other[:3]).max() >= lattice.lattice.axis_length - 1e-6


@pytest.mark.slow
def test_a_building_is_looked_at_twice_and_in_another_order() -> None:
    seen = look_at(Asked(1, "lean-to", 0, None, again=1))
    assert (seen.end, seen.varies) == ("cut", False)
