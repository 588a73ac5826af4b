"""Time of straight skeletons and of roofs over plans: ``pytest tests/bench/bench_roofs.py``.

Plans of 12, 30 and 60 corners. The reference in the same run is what proj-polyskel takes for the skeleton of the same
plan. Report ratios, not seconds.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from proj_polyskel import skeletonize
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.roof_kinds import roof_over
from stowfold.geometry.plan.skeleton import straight_skeleton

COUNTS = (12, 30, 60)


def star(count: int) -> list[tuple[float, float]]:
    """Corners round a middle at distances drawn by chance, so that about every third points inward."""
    chance = np.random.default_rng(count)
    reach = chance.uniform(90.0, 130.0, count)
    turns = [math.tau * k / count for k in range(count)]
    return [(float(r * math.cos(t)), float(r * math.sin(t))) for r, t in zip(reach, turns, strict=True)]


@pytest.mark.parametrize("count", COUNTS)
def test_reference_polyskel(benchmark, count):
    plan = [list(corner) for corner in star(count)[::-1]]
    benchmark(skeletonize, plan)


@pytest.mark.parametrize("count", COUNTS)
def test_skeleton(benchmark, count):
    skeleton = benchmark(straight_skeleton, star(count))
    assert len(skeleton.faces) == count


@pytest.mark.parametrize("kind", [RoofKind.GABLE, RoofKind.MANSARD, RoofKind.CROSSING])
def test_roof_over_a_plus(benchmark, kind):
    corners = [(1, 0), (2, 0), (2, 1), (3, 1), (3, 2), (2, 2), (2, 3), (1, 3), (1, 2), (0, 2), (0, 1), (1, 1)]
    plan = tuple((80.0 * x, 80.0 * y) for x, y in corners)
    surface = benchmark(roof_over, plan, Roof(kind), 60.0)
    assert surface.faces
