"""Time of the fit of a house, beside drawing as many numbers by chance: ``pytest tests/bench/bench_fit.py``.

The reference draws, with numpy alone, one normal number for every build and joint: what no assessment by 10,000 builds
can do without is of that order. The goal is 50 ms for a house on a maker's machine; report ratios, not seconds.
"""

from __future__ import annotations

import numpy as np
import pytest
from sample_solids import NAMES, solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.fit.assess import assess
from stowfold.geometry.fit.draws import BUILDS
from stowfold.geometry.fit.gather import find_joints
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings


@pytest.fixture(scope="module", params=NAMES)
def house(request) -> Outcome:
    birch = find_stock("birch-plywood-3", read_stocks())
    return run(solid_of(request.param), Settings(birch, birch, birch, birch), title=request.param)


@pytest.fixture(scope="module")
def joints(house):
    return find_joints(house.parts, house.joiners, house.tabs, house.settings.as_cut)


@pytest.mark.benchmark(group="fit of a house")
def test_reference_draw_a_number_for_every_build_and_joint(benchmark, joints):
    chance = np.random.default_rng(1)
    benchmark(lambda: [chance.standard_normal(BUILDS, dtype=np.float32) for _ in joints])


@pytest.mark.benchmark(group="fit of a house")
def test_gather(benchmark, house):
    settings = house.settings.as_cut
    assert benchmark(find_joints, house.parts, house.joiners, house.tabs, settings)


@pytest.mark.benchmark(group="fit of a house")
def test_assess(benchmark, house, joints):
    assert benchmark(assess, joints, house.settings.as_cut.stocks).share is not None
