"""What lies below the ground is told with its depth, and only from above the rounding of a model."""

from __future__ import annotations

import numpy as np
import pytest
from stowfold.geometry.findings import Severity
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.ground import check_ground
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.tolerance import SNAP


def ring(bottom: float, top: float):
    points = np.array([(x, y, z) for z in (bottom, top) for x, y in ((0, 0), (120, 0), (120, 90), (0, 90))], float)
    faces = [(k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k) for k in range(4)]
    return find_facets(make_solid(points, faces, source="Shed"))


@pytest.mark.parametrize("bottom", [0.0, 25.0, -SNAP / 2])
def test_what_stands_on_the_ground_or_above_is_no_news(bottom):
    assert check_ground(ring(bottom, 80.0)) == ()


@pytest.mark.parametrize(
    ("bottom", "top", "words"), [(-40.0, 40.0, "in part"), (-90.0, -10.0, "all"), (-2 * SNAP, 60.0, "in part")]
)
def test_what_lies_below_is_told_with_its_depth(bottom, top, words):
    (finding,) = check_ground(ring(bottom, top))
    assert finding.severity is Severity.NOTE and finding.code == "below-ground"
    assert f"lies {words} below the ground, {-bottom:.1f} mm deep" in finding.message
    assert finding.where.source == "Shed" and finding.where.point[2] == bottom
