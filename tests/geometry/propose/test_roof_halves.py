"""Roofs that fit no sheet come in halves; one that fits stays whole."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from hips_by_rectangles import PLANS, house
from marked_roofs import marked_block_out
from shapely.geometry import Polygon
from slow_cases import one_quick
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.limits import largest_piece
from stowfold.geometry.flow.run import run
from stowfold.geometry.flow.unfolding import unfold_solid
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import Part
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
    under = {part.panels[0].facet for part in outcome.parts if part.kind == "stop"}
    assert under >= {facet.id for facet in outcome.facets.facets if not facet.upright}


@pytest.mark.slow
@pytest.mark.parametrize("plan", ["L"])
def test_a_large_roof_with_wings_comes_in_pieces_that_all_fit(plan: str) -> None:
    """Slopes that are too large once the roof is halved are parted again; no piece is a chip, and none is lost."""
    solid = house([(3.5 * x, 3.5 * y) for x, y in PLANS[plan]])
    largest = largest_piece(WOOD, SETTINGS.lasers)
    unfolded = unfold_solid(solid, replace(SETTINGS, propose=Proposal.ALL))
    roofs = [part for part in unfolded.sections.parts if part.kind == "roof"]
    assert all(max(part.size) <= max(largest) and min(part.size) <= min(largest) for part in roofs)
    assert all(max(part.size) > 30.0 for part in roofs)
    plans = [
        Polygon(unfolded.facets.corners(unfolded.facets.facets[k])[:, :2]) for part in roofs for k in facets_in(part)
    ]
    # seen from above the slopes cover plan and eaves, without gap or overlap
    whole = Polygon([(3.5 * x, 3.5 * y) for x, y in PLANS[plan]]).buffer(6.0, join_style="mitre")
    assert sum(piece.area for piece in plans) == pytest.approx(whole.area, rel=1e-6)
    assert shapely.union_all(plans, grid_size=1e-6).area == pytest.approx(whole.area, rel=1e-6)


def facets_in(part: Part) -> list[int]:
    return [panel.facet for panel in part.panels]


def test_a_slope_too_large_both_ways_is_cut_where_its_halves_fit() -> None:
    """A triangle of 580 x 320 mm, one slope of a great pyramid: two halves of 290 x 320 fit 604 x 299, no third."""
    points = [(0.0, 0.0, 60.0), (580.0, 0.0, 60.0), (290.0, 256.0, 252.0)]
    unfolded = unfold_solid(make_solid(points, [(0, 1, 2)]), SETTINGS)
    sizes = sorted(part.size for part in unfolded.sections.parts)
    assert sizes == [pytest.approx((290.0, 320.0), abs=1e-6)] * 2
    assert [finding.code for finding in unfolded.findings].count("roof-in-halves") == 1
