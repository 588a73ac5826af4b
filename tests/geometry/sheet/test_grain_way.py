"""Which way slits run against the grain of the sheet: by turning the sheet, by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import Grain, find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.settings import HingeSettings
from stowfold.geometry.solid.solid import make_solid

WOOD = find_stock("basswood-3.2", read_stocks())
PLY = find_stock("birch-plywood-3", read_stocks())


def _codes(stock, **hinge):
    block = block_out([(0, 0), (160, 0), (160, 100), (0, 100)], breaks=[(80.0, 0.0), (80.0, 100.0)])
    laser = Laser(bed=(620.0, 620.0))
    settings = Settings(stock, stock, stock, stock, laser=laser, hinge=HingeSettings(**hinge))
    outcome = run(make_solid(block.points, block.faces, roles=dict(block.roles)), settings, title="shed")
    return [finding.code for finding in outcome.findings], outcome


@pytest.mark.slow
def test_plywood_has_no_say():
    codes, _ = _codes(PLY)
    assert not {"grain-across-links", "board-warp"} & set(codes)


@pytest.mark.parametrize("along", [True, False])
def test_slits_across_the_grain_of_solid_wood_are_told_and_slits_along_it_are_not(along):
    stock = replace(WOOD, grain=Grain.LENGTH, sheet=(610.0, 600.0))
    codes, outcome = _codes(stock, along_grain=along)
    walls = {part.id: part for part in outcome.parts if part.lattices}
    across = set()
    for placed in outcome.layout.placements:
        if placed.part in walls:
            # slits stand up the wall; the grain runs along x of a sheet that lies lengthwise
            up = placed.place([[0.0, 1.0]]) - placed.place([[0.0, 0.0]])
            if abs(float(up[0, 0])) < 0.5:
                across.add(placed.part)
    assert bool(across) == ("grain-across-links" in codes)
    if along:
        assert not across


@pytest.mark.slow
def test_long_boards_of_solid_wood_may_warp():
    codes, outcome = _codes(replace(WOOD, sheet=(610.0, 600.0)))
    longest = max(max(part.size) for part in outcome.parts)
    # the threshold is about 250 mm, common practice
    assert ("board-warp" in codes) == (longest > 250.0)
