"""Roofs that fit no sheet come in halves; one that fits stays whole."""

from __future__ import annotations

from dataclasses import replace

import pytest
from marked_roofs import marked_block_out
from slow_cases import one_quick
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.walls import PlanKind, Roof, RoofKind, outline_of
from stowfold.geometry.solid.solid import make_solid

WOOD = replace(find_stock("basswood-3.2", read_stocks()), sheet=(610.0, 305.0))
SETTINGS = Settings(walls=WOOD, roof=WOOD, floor=WOOD, joiners=WOOD, laser=Laser(bed=(620.0, 310.0)))


def _solid(kind, length, width):
    plan = outline_of(PlanKind.RECTANGLE, length=length, width=width, square=25.4)
    # breaks so that the walls fit as well
    breaks = [(length * 25.4 / 3, 0.0), (length * 25.4 / 3, width * 25.4)]
    block = marked_block_out(plan, roof=Roof(kind), breaks=breaks)
    return make_solid(block.points, block.faces, roles=dict(block.roles))


def _roofs(outcome):
    return [part for part in outcome.parts if part.kind == "roof"]


@pytest.mark.slow
def test_the_roof_of_eleven_by_seven_squares_is_one_part_on_a_sheet_of_24_by_12_inches():
    outcome = run(_solid(RoofKind.HIP, 11, 7), SETTINGS, title="lock-keeper's house")
    assert len(_roofs(outcome)) == 1
    assert "roof-in-halves" not in {finding.code for finding in outcome.findings}
    assert outcome.proof.holds


@pytest.mark.parametrize(("kind", "length", "width"), one_quick([(RoofKind.HIP, 18, 10), (RoofKind.GABLE, 26, 8)]))
def test_a_larger_roof_comes_in_two_halves_that_fold_back(kind, length, width):
    solid = _solid(kind, length, width)
    outcome = run(solid, SETTINGS, title="barge house")
    roofs = _roofs(outcome)
    assert len(roofs) == 2
    assert [f.code for f in outcome.findings].count("roof-in-halves") == 1
    # a part keeps within the sheet's margins
    assert all(max(part.size) <= 604.0 and min(part.size) <= 299.0 for part in roofs)
    assert not [f for f in outcome.findings if f.code == "part-longer-than-sheet" and f.where.part in ("R1", "R2")]
    assert outcome.proof.holds
    # mirror images of each other
    assert roofs[0].area == pytest.approx(roofs[1].area, rel=1e-3)
    stops = [part for part in outcome.parts if part.kind == "stop"]
    assert len(stops) == len({facet.id for facet in outcome.facets.facets if not facet.upright})
