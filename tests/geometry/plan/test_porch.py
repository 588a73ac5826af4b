"""Porches: their bodies as closed toward the outside, their place before a wall, and sizes that give none."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.placing import WallSpot, nearest_wall, snap_spot
from stowfold.geometry.plan.porch import USUAL_PORCH, PorchRoof, PorchSize, check_porch, peak_of_porch, porch_body
from stowfold.geometry.plan.porch_placing import check_at_wall
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import join_solids, make_solid
from upstand_samples import LENGTH, gable_house, gable_roof

PITCH = math.radians(40.0)
LEAN_TO = USUAL_PORCH
GABLE = replace(USUAL_PORCH, roof=PorchRoof.GABLE)


def house(*, roofed: bool = True) -> Facets:
    return find_facets(join_solids([gable_house(PITCH), *([gable_roof(PITCH)] if roofed else [])]))


def spot_at(facets: Facets, x: float, y: float = 0.0, *, width: float = 0.0) -> WallSpot:
    spot = nearest_wall(facets, np.array([x, y, 0.0]))
    assert spot is not None
    return snap_spot(spot, step=0.0, width=width)


@pytest.mark.parametrize(
    ("size", "faces", "roof_area"),
    [
        (LEAN_TO, 2, 50.8 * 30.4 / math.cos(LEAN_TO.pitch)),
        (replace(LEAN_TO, closed=True), 4, 50.8 * 30.4 / math.cos(LEAN_TO.pitch)),
        (GABLE, 3, 50.8 * 30.4 / math.cos(GABLE.pitch)),
        (replace(GABLE, closed=True), 5, 50.8 * 30.4 / math.cos(GABLE.pitch)),
    ],
)
def test_a_porch_is_its_front_its_slopes_and_its_closed_sides(size: PorchSize, faces: int, roof_area: float) -> None:
    points, rings = porch_body(size)
    assert len(rings) == faces
    solid = make_solid(points, rings)
    facets = find_facets(solid)
    assert len(facets.facets) == faces and facets.noise < 1e-9
    # area of a roof: that of its plan, which reaches 5 mm into the wall, over the cosine of its pitch
    areas = [_area(points[list(ring)]) for ring in rings]
    normals = [_normal(points[list(ring)]) for ring in rings]
    assert sum(area for area, n in zip(areas, normals, strict=True) if n[2] > 0.1) == pytest.approx(roof_area)
    assert normals[0] == pytest.approx([0.0, -1.0, 0.0])
    # every face looks away from what the porch encloses
    middle = points.mean(axis=0)
    assert all((points[list(ring)].mean(axis=0) - middle) @ n > 0.0 for ring, n in zip(rings, normals, strict=True))
    assert points[:, 2].max() == pytest.approx(peak_of_porch(size), abs=5.0 * math.tan(size.pitch) + 1e-9)


def _normal(ring: np.ndarray) -> np.ndarray:
    # Newell's method
    cross = np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0)
    return cross / np.linalg.norm(cross)


def _area(ring: np.ndarray) -> float:
    return float(np.linalg.norm(np.cross(ring - ring[0], np.roll(ring - ring[0], -1, axis=0)).sum(axis=0)) / 2.0)


@pytest.mark.parametrize("size", [LEAN_TO, GABLE])
@pytest.mark.parametrize("roofed", [True, False])
def test_the_usual_porch_stands_before_every_wall_of_a_house(size: PorchSize, roofed: bool) -> None:
    facets = house(roofed=roofed)
    for x, y in ((LENGTH / 2, 0.0), (0.0, 80.0), (LENGTH, 80.0), (LENGTH / 2, 160.0)):
        check_at_wall(size, spot_at(facets, x, y), facets)


@pytest.mark.parametrize(
    ("size", "x", "said"),
    [
        (replace(LEAN_TO, width=LENGTH + 10.0), 120.0, "250 mm wide and its wall 240 mm; make it 10.0 mm narrower"),
        (LEAN_TO, 10.0, "reaches 15.4 mm beyond the end of its wall"),
        (replace(LEAN_TO, width=200.0, reach=100.0, pitch=0.1), 120.0, "covers more than 35 per cent of its house"),
        (replace(LEAN_TO, height=60.0), 120.0, "too near to the top of its wall; make the porch lower"),
        (replace(GABLE, height=50.0, pitch=math.radians(60.0)), 120.0, "too near to the top of its wall"),
    ],
)
def test_a_porch_that_does_not_stand_against_its_wall_is_said(size: PorchSize, x: float, said: str) -> None:
    facets = house()
    with pytest.raises(BadSettingError, match=said) as caught:
        check_at_wall(size, spot_at(facets, x), facets)
    assert len(str(caught.value)) <= 120


def test_a_porch_before_a_gable_may_be_as_high_as_its_wall_is_there() -> None:
    """The eaves are 70 mm high; in the middle of the gable the wall is 67 mm higher."""
    facets = house()
    high = replace(GABLE, height=90.0)
    check_at_wall(high, spot_at(facets, LENGTH, 80.0), facets)
    with pytest.raises(BadSettingError, match="too near"):
        check_at_wall(high, spot_at(facets, 120.0, 0.0), facets)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"width": 0.0}, "0 mm wide"),
        ({"height": math.nan}, "nan mm high"),
        ({"reach": 5.0}, "5 mm deep; make it 12 mm or more"),
        ({"width": 15.0}, "with its posts it needs 21 mm"),
        ({"height": 8.0}, "8 mm high; make it 11 mm"),
        ({"post": 2.0}, "posts of the porch are 2 mm wide"),
        ({"pitch": math.pi / 2}, "90 degrees; choose between 0 and 70"),
        ({"pitch": 0.0, "roof": PorchRoof.GABLE}, "0 degrees; choose between 1 and 70"),
    ],
)
def test_sizes_that_give_no_porch_are_said_in_one_sentence(changes: dict[str, object], said: str) -> None:
    with pytest.raises(BadSettingError, match=said) as caught:
        check_porch(replace(USUAL_PORCH, **changes))
    assert len(str(caught.value)) <= 120
