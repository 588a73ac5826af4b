"""Buildings that stand on their heads are told in one sentence; others never are."""

from __future__ import annotations

import numpy as np
import pytest
from block_outs import L_PLAN, box_of, loop_of_walls
from sample_solids import NAMES, solid_of
from scipy.spatial.transform import Rotation
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid, make_solid


def _turned(solid: Solid, about: str, angle: float) -> Solid:
    points = Rotation.from_euler(about, angle, degrees=True).apply(solid.points.copy())
    return make_solid(np.round(points, 9), solid.faces)


def _codes(solid: Solid) -> list[str]:
    return [finding.code for finding in find_facets(solid, over=3.0).findings]


@pytest.mark.parametrize("about", ["x", "y"])
@pytest.mark.parametrize("name", ["grain_store", "lock_keepers_house"])
def test_a_roof_below_its_walls_is_told(name: str, about: str) -> None:
    assert "upside-down" in _codes(_turned(solid_of(name), about, 180.0))


@pytest.mark.parametrize("name", NAMES)
def test_a_building_turned_on_its_square_is_not(name: str) -> None:
    assert "upside-down" not in _codes(_turned(solid_of(name), "z", 90.0))


def test_what_is_the_same_both_ways_up_is_not() -> None:
    points, faces = box_of()
    for solid in (make_solid(points, faces), loop_of_walls(L_PLAN), loop_of_walls(L_PLAN, bottom=True)):
        assert "upside-down" not in _codes(_turned(solid, "x", 180.0))
