"""Grain as a cost: how many joiners the maker takes so that slits run along it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from slow_cases import one_quick
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import Grain, find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.settings import HingeSettings
from stowfold.geometry.solid.solid import make_solid

WOOD = replace(find_stock("basswood-3.2", read_stocks()), grain=Grain.LENGTH, sheet=(610.0, 305.0))


def _run(**hinge):
    block = block_out([(0, 0), (304.8, 0), (304.8, 177.8), (0, 177.8)])
    settings = Settings(
        walls=WOOD,
        roof=WOOD,
        floor=WOOD,
        joiners=WOOD,
        laser=Laser(bed=(620.0, 310.0)),
        hinge=HingeSettings(**hinge),
        propose=Proposal.ALL,
    )
    return run(make_solid(block.points, block.faces, roles=dict(block.roles)), settings, title="barn")


def _walls(outcome):
    return [part for part in outcome.parts if part.kind == "wall"]


@pytest.mark.slow
def test_free_walls_take_the_length_of_the_sheet():
    walls = _walls(_run())
    assert len(walls) == 2
    assert all(part.grain is None for part in walls)


@pytest.mark.parametrize("worth", one_quick([2, 5]))
def test_kept_grain_takes_the_width_of_the_sheet_and_stands_up_the_walls(worth):
    outcome = _run(along_grain=True, grain_joiners=worth)
    walls = _walls(outcome)
    # 965 mm of wall on sheets 305 mm wide across the grain: four sections at least
    assert len(walls) == 4
    assert max(part.size[0] for part in walls) <= 305.0
    assert outcome.proof.holds
    for part in walls:
        placed = next(placement for placement in outcome.layout.placements if placement.part == part.id)
        # the wall's height runs along the sheet's longer side, as the grain does
        up = placed.place(np.array([[0.0, 1.0]])) - placed.place(np.array([[0.0, 0.0]]))
        assert abs(up[0] @ [1.0, 0.0]) == pytest.approx(1.0)


@pytest.mark.slow
def test_grain_that_costs_more_joiners_than_it_is_worth_is_let_go_with_a_word():
    outcome = _run(along_grain=True, grain_joiners=1)
    assert len(_walls(outcome)) == 2
    assert "grain-not-kept" in {finding.code for finding in outcome.findings}
