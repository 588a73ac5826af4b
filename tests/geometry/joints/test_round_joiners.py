"""Round walls: they bend as one strip with a lattice all round, and two bent cheeks hold their seam.

The standing boards are made and intersected by manifold3d, which shares no code with ours; radii are those of sheet
metal, with the neutral line in the middle of the board.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from boards_as_solids import board_solids, shared_volumes
from slow_cases import one_quick
from standing_solids import shared_places
from stowfold.geometry.assembly.find import find_assembly
from stowfold.geometry.assembly.plan import Assembly, Stage
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.fit.clearances import Clearance
from stowfold.geometry.fit.gather import find_joints
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.fold.fold import fold
from stowfold.geometry.joints.glue_places import find_bearers
from stowfold.geometry.joints.round_joiner import card_between, is_round_cheek
from stowfold.geometry.joints.tie import is_ring
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.part import Part
from stowfold.geometry.settings import BoardFace
from stowfold.geometry.solid.solid import Solid, make_solid
from stowfold.geometry.unfold.round_walls import least_radius


def settings_in(board: str) -> Settings:
    stock = find_stock(board, read_stocks())
    return Settings(stock, stock, stock, stock, propose=Proposal.ALL)


def tower(sides: int, radius: float, height: float = 90.0) -> Solid:
    """Return the walls of a round tower, mm."""
    turns = 2.0 * np.pi * np.arange(sides) / sides
    points = [
        np.column_stack([radius * np.cos(turns), radius * np.sin(turns), np.full(sides, z)]) for z in (0.0, height)
    ]
    faces = [(k, (k + 1) % sides, sides + (k + 1) % sides, sides + k) for k in range(sides)]
    return make_solid(np.vstack(points), faces)


def cheeks_of(outcome: Outcome) -> dict[str, Part]:
    return {part.id: part for part in outcome.parts if is_round_cheek(part)}


def troubles(outcome: Outcome) -> list[str]:
    return [finding.message for finding in outcome.findings if finding.severity is not Severity.NOTE]


SIZES = [(sides, radius) for sides in (12, 16, 24, 32) for radius in (30.0, 45.0, 60.0)]


@pytest.mark.parametrize("board", ["birch-plywood-3", "grey-board-2"])
@pytest.mark.parametrize(("sides", "radius"), one_quick(SIZES, (24, 30.0)))
def test_a_round_tower_is_one_strip_with_a_round_joiner(sides: int, radius: float, board: str) -> None:
    outcome = make_parts(tower(sides, radius), settings_in(board), title="Tower").outcome
    assert troubles(outcome) == [] and outcome.proof.holds
    assert not outcome.hold.pieces and not outcome.hold.open_corners
    walls = [part for part in outcome.parts if part.id == "W1"]
    assert [len(part.lattices) for part in walls] == [sides - 1]
    assert set(cheeks_of(outcome)) == {"B1-outer", "B1-inner"}
    assert {tab.part for tab in outcome.tabs} == {"W1"}
    assert shared_places(outcome) == []


def test_cheeks_fold_to_where_they_stand_and_touch_the_wall_without_entering_it() -> None:
    outcome = make_parts(tower(16, 45.0), settings_in("birch-plywood-3"), title="Tower").outcome
    wall = next(part for part in outcome.parts if part.id == "W1")
    cheeks = cheeks_of(outcome)
    for cheek in cheeks.values():
        for folded, panel in zip(fold(cheek), cheek.panels, strict=True):
            assert folded.matrix == pytest.approx(panel.stands.matrix, abs=1e-9)
    bearers = find_bearers(outcome.parts)
    assert {bearers[name] for name in cheeks} == {("W1", bearers["B1-outer"][1])}
    volumes = shared_volumes(board_solids((wall, *cheeks.values())))
    assert max((v for (one, two), v in volumes.items() if one[0] != two[0]), default=0.0) < 1e-3
    # faces parallel to the wall's meet farther out by their distance times tan(a / 2), on both sides of a corner
    apart, bends = 6.0, len(cheeks["B1-outer"].lattices)
    longer = cheeks["B1-outer"].size[0] - cheeks["B1-inner"].size[0]
    assert longer == pytest.approx(2.0 * apart * math.tan(math.pi / 16) * bends)


def test_a_painted_end_slides_between_the_cheeks() -> None:
    outcome = make_parts(tower(24, 45.0), settings_in("birch-plywood-3"), title="Tower").outcome
    joints = find_joints(outcome.parts, outcome.joiners, outcome.tabs, outcome.settings.as_cut)
    channel = [joint for joint in joints if joint.parts == ("B1-inner",) and isinstance(joint, Clearance)]
    # board + 0.12 to slide + 0.08 a painted face, of which the paint takes its share
    assert [joint.drawn_as for joint in channel] == pytest.approx([0.12])


@pytest.mark.parametrize("sides", one_quick([24, 32], 32))
def test_a_wall_too_tight_to_bend_says_from_which_radius_it_would(sides: int) -> None:
    settings = settings_in("birch-plywood-3")
    least = least_radius(settings.walls, sides, 90.0, settings.hinge)
    tight, wide = (
        make_parts(tower(sides, radius), settings, title="Tower").outcome for radius in (least - 1.0, least + 0.1)
    )
    (said,) = troubles(tight)
    assert f"from {math.ceil(least)} mm on" in said and not cheeks_of(tight)
    assert troubles(wide) == [] and len(cheeks_of(wide)) == 2


def test_the_guide_tells_how_a_round_wall_is_closed() -> None:
    outcome = run(tower(16, 45.0), settings_in("grey-board-2"), title="Tower")
    assert troubles(outcome) == []
    guide = render_guide(outcome)
    assert "Round joiners" in guide and "Close the round wall" in guide and "B1-outer" in guide


@pytest.mark.parametrize("sides", one_quick([12, 24]))
def test_the_end_of_a_round_wall_is_moved_between_its_cheeks_with_half_of_the_play_on_either_side(sides: int) -> None:
    outcome = make_parts(tower(sides, 30.0), settings_in("birch-plywood-3"), title="Tower").outcome
    cut, given = outcome.settings.as_cut, (outcome.joiners, outcome.tabs, ())
    play = card_between(cut)

    def moved(thicker: float) -> Assembly:
        parts = [replace(p, thickness=p.thickness + thicker) if p.id == "W1" else p for p in outcome.parts]
        return find_assembly(parts, *given, cut)

    for thicker in (0.0, play / 4):
        (closing,) = (move for move in moved(thicker).moves if move.parts == ("W1",) and move.stage is Stage.FOLD)
        assert closing.blocked is None and closing.clearance == pytest.approx(play / 2 - thicker, abs=1e-6)
    (told,) = moved(play / 2 + 0.4).findings
    assert told.code == "assembly-blocked" and "0.4 mm into B1-outer" in str(told.message)


def said_of_floor(outcome: Outcome) -> float:
    """Return from which radius on a tower would get a floor, mm, as its one note on that says."""
    (said,) = (str(found.message) for found in outcome.findings if found.code == "no-floor")
    stated = re.search(r"from a radius of (\d+) mm on", said)
    assert stated is not None and not outcome.tabs
    return float(stated[1])


@pytest.mark.parametrize("board", one_quick(["birch-plywood-3", "grey-board-2"]))
@pytest.mark.parametrize("sides", one_quick([12, 16, 20, 24, 28, 32], 24))
def test_a_tower_too_tight_for_tabs_says_from_which_radius_on_it_gets_a_floor(sides: int, board: str) -> None:
    settings = settings_in(board)
    least = least_radius(settings.walls, sides, 90.0, settings.hinge)
    stated = said_of_floor(make_parts(tower(sides, least + 0.1), settings, title="Tower").outcome)
    enough, below = (make_parts(tower(sides, stated - less), settings, title="Tower").outcome for less in (0.0, 1.0))
    assert len(enough.tabs) == sides and not below.tabs
    assert not any(found.code == "no-floor" for found in enough.findings)


@pytest.mark.slow
def test_a_tower_modelled_by_its_outside_needs_a_larger_radius_for_its_tabs() -> None:
    settings = settings_in("birch-plywood-3")
    outside = replace(settings, face=BoardFace.OUTSIDE)
    stated = said_of_floor(make_parts(tower(24, 20.0), outside, title="Tower").outcome)
    assert stated > said_of_floor(make_parts(tower(24, 20.0), settings, title="Tower").outcome)
    assert len(make_parts(tower(24, stated), outside, title="Tower").outcome.tabs) == 24


def test_a_tight_tower_modelled_by_its_outside_says_to_model_its_inside() -> None:
    outside = replace(settings_in("birch-plywood-3"), face=BoardFace.OUTSIDE)
    (said,) = troubles(make_parts(tower(24, 30.0), outside, title="Tower").outcome)
    assert str(said).endswith("model the inside face of this round wall.")
    wide = make_parts(tower(24, 45.0), outside, title="Tower").outcome
    assert troubles(wide) == [] and any(is_ring(part) for part in wide.parts)
