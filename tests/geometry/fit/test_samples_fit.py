"""The samples in every packaged board: what their joints are, and in how many builds they go together."""

from __future__ import annotations

import pytest
from sample_solids import NAMES, solid_of
from slow_cases import one_quick
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings

STOCKS = read_stocks()


@pytest.mark.parametrize(("name", "stock"), one_quick([(name, stock) for name in NAMES for stock in STOCKS]))
def test_a_sample_goes_together_in_nearly_every_build(name, stock):
    outcome = run(solid_of(name), Settings(stock, stock, stock, stock), title=name)
    fit = outcome.fit
    assert fit.share > 0.95
    assert "joint-fit" not in {finding.code for finding in outcome.findings}
    kinds = dict(fit.kinds)
    assert JointKind.CLOSES in kinds and JointKind.HOLDS in kinds
    tabs = [joint for joint in fit.joints if joint.kind is JointKind.TAB_ACROSS]
    assert len(tabs) == len(outcome.tabs)
    # play as the slots on the sheet have it, measured between the two rectangles themselves
    assert {round(joint.clearance, 6) for joint in tabs} == {round(tab.play[0], 6) for tab in outcome.tabs}
