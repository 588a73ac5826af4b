"""Porches against a wall: parted from it, proved, on one floor with the house."""

from __future__ import annotations

import math

import numpy as np
import pytest
from block_outs import assert_sound
from board_solids import standing_solid
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.solid.facets import ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid, join_solids, make_solid
from upstand_samples import LENGTH, gable_house, house_with, porch_body

PITCH = math.radians(40.0)


@pytest.mark.parametrize(
    "porch",
    [
        porch_body(120, 70, 40, 40, 58),
        porch_body(120, 70, 40, 40, 58, floor=False),
        porch_body(120, 70, 40, 40, 58, into=12.0),
        porch_body(120, 70, 40, 50, 50),
    ],
    ids=["closed", "no floor", "into the house", "flat top"],
)
def test_a_porch_ends_at_the_wall_and_leaves_its_own_floor_out(porch: Solid) -> None:
    facets = find_facets(house_with(PITCH, porch))
    assert_sound(facets)
    (found,) = (shell for shell in facets.shells if shell.stands_on)
    assert facets.is_porch(found) and found.kind is ShellKind.SOLID and not found.closed
    # front, two sides and the roof; it ends in the plane of the front wall
    assert len(found.facets) == 4
    (wall,) = (facets.facets[k] for k in found.stands_on)
    assert wall.frame.n == pytest.approx([0.0, -1.0, 0.0], abs=1e-9)
    assert facets.outline_points(found)[:, 1].max() == pytest.approx(0.0, abs=1e-9)
    assert sorted(shell.kind for shell in facets.shells if not shell.stands_on) == [ShellKind.ROOF, ShellKind.WALLS]


@pytest.mark.parametrize(
    "other",
    [porch_body(120, 220, 150, 40, 58), porch_body(0, 70, 40, 40, 58), porch_body(LENGTH / 2, 70, 6, 40, 58)],
    ids=["a wing", "beyond the corner", "a plinth"],
)
def test_what_is_no_porch_is_left_as_it_is(other: Solid) -> None:
    facets = find_facets(house_with(PITCH, other))
    assert not any(shell.stands_on for shell in facets.shells)


def test_walls_alone_that_end_at_a_wall_are_a_wing() -> None:
    walls = [(80.0, -60.0), (140.0, -60.0)]
    ring = [(80.0, 0.0), *walls, (140.0, 0.0)]
    points = np.array([(x, y, z) for z in (0.0, 40.0) for x, y in ring])
    wing = make_solid(points, [(k, k + 1, k + 5, k + 4) for k in range(3)], source="Wing")
    facets = find_facets(join_solids([gable_house(PITCH), wing]))
    assert not any(shell.stands_on for shell in facets.shells)
    assert [shell.kind for shell in facets.shells] == [ShellKind.WALLS] * 2


def test_a_porch_is_cut_and_proved_on_the_floor_of_the_house() -> None:
    board = find_stock("birch-plywood-3", read_stocks())
    settings = Settings(board, board, board, board, propose=Proposal.ALL)
    outcome = run(join_solids([gable_house(PITCH), porch_body(120, 70, 40, 40, 52)]), settings, title="Toll house")
    assert not [finding for finding in outcome.findings if finding.severity is not Severity.NOTE]
    assert outcome.proof.holds
    boards = [part for part in outcome.parts if part.kind is PartKind.UPSTAND]
    assert {part.label for part in boards} == {f"Porch 1, {side}" for side in ("front", "left side", "right side")} | {
        "Porch 1, front slope"
    }
    (floor,) = (part for part in outcome.parts if part.kind is PartKind.FLOOR)
    own = {part.id for part in boards}
    tabs = [tab for tab in outcome.tabs if tab.part in own]
    assert len(tabs) >= 3 and {tab.floor for tab in outcome.tabs} == {floor.id}
    # the boards end at the outer face of the wall, 3 mm before the modelled one
    back = max(float(panel.stands.apply(panel.ring)[:, 1].max()) for part in boards for panel in part.panels)
    assert back == pytest.approx(-3.0, abs=1e-6)
    solids = [standing_solid(part) for part in boards]
    shared = [(one ^ two).volume() for k, one in enumerate(solids) for two in solids[k + 1 :]]
    assert np.max(shared) < 1e-2
