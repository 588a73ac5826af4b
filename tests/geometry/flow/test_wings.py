"""Houses with lower wings, from their sizes to parts that stand: proved, and judged by solids that we did not write."""

from __future__ import annotations

import math

import numpy as np
import pytest
from boards_as_solids import board_solids, shared_volumes
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.plan.wings import Wing

BOARD = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BOARD, BOARD, BOARD, BOARD)
SQUARE = 25.4

CASES = [
    (PlanKind.L, RoofKind.GABLE),
    (PlanKind.T, RoofKind.LEAN_TO),
    (PlanKind.U, RoofKind.FLAT),
    (PlanKind.PLUS, RoofKind.HIP),
]


@pytest.mark.parametrize(("plan", "kind"), one_quick(CASES, CASES[0]))
def test_lower_wings_are_cut_and_proved_and_their_roofs_end_at_the_house(plan: PlanKind, kind: RoofKind) -> None:
    count = 2 if plan in (PlanKind.U, PlanKind.PLUS) else 1
    wing = Wing(45.0, Roof(kind, math.radians(30.0)))
    width = 10.0 if plan is PlanKind.PLUS else 7.0
    sizes = BuildingSizes(plan, 10, width, bar=4, wing=3, height=95.0, roof=Roof(RoofKind.GABLE), wings=(wing,) * count)
    outcome = make_parts(as_solid(add_building(sizes, SETTINGS)), SETTINGS, title="Grain store").outcome
    assert outcome.proof.holds
    assert not [finding for finding in outcome.findings if finding.severity is not Severity.NOTE]
    assert sum(part.kind is PartKind.FLOOR for part in outcome.parts) == 1
    roofs = [part for part in outcome.parts if part.kind is PartKind.ROOF]
    walls = [part for part in outcome.parts if part.kind in (PartKind.WALL, PartKind.PANEL)]
    low = [part for part in roofs if _heights(part)[1] < 95.0]
    assert len(low) >= count
    boards = board_solids([*roofs, *walls])
    assert max(shared_volumes(boards).values(), default=0.0) < 1e-2
    house = [solid for name, solid in boards if name.split("/")[0] in _names(walls) and solid.bounding_box()[5] > 90.0]
    under = [solid for name, solid in boards if name.split("/")[0] in _names(low)]
    # all but closed toward the house: a hand's clearance is left, and no more
    gap = min(one.min_gap(other, 10.0) for one in under for other in house)
    assert 0.1 < gap < 0.5


def _names(parts) -> set[str]:
    return {part.id for part in parts}


def _heights(part) -> tuple[float, float]:
    heights = np.concatenate([panel.stands.apply(panel.ring)[:, 2] for panel in part.panels])
    return float(heights.min()), float(heights.max())
