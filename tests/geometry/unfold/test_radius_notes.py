"""A radius that the board does not reach is told to the maker who set one, and to nobody else."""

from __future__ import annotations

from dataclasses import replace

import pytest
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.settings import HingeSettings
from stowfold.geometry.solid.solid import make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())


@pytest.mark.parametrize("asked", [HingeSettings().inside_radius, 11.0])
def test_only_a_radius_that_was_set_is_remarked_on(asked: float) -> None:
    block = block_out([(0, 0), (228.6, 0), (228.6, 152.4), (0, 152.4)], breaks=((110.0, 0.0), (110.0, 152.4)))
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    settings = replace(Settings(BIRCH, BIRCH, BIRCH, BIRCH), hinge=HingeSettings(inside_radius=asked))
    outcome = make_parts(solid, settings, title="House").outcome
    bent = [placed.lattice.inside_radius for part in outcome.parts for placed in part.lattices]
    assert min(bent) > asked + 0.5  # in both cases the board bends wider
    told = [finding.code for finding in outcome.findings].count("corner-radius-wide")
    assert told == (1 if asked == 11.0 else 0)
