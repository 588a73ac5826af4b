"""Dormers and chimneys on roofs: the roof stays a roof, and what stands on it ends on its slopes."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from block_outs import assert_sound
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from stowfold.geometry.solid.facets import Facets, Shell, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid, join_solids, make_solid
from upstand_samples import (
    EAVES,
    WIDTH,
    chimney_body,
    dormer_body,
    gable_house,
    gable_roof,
    house_with,
    roof_with_dormer,
)

PITCH = math.radians(40.0)
RISE = math.tan(PITCH)


def upstands(facets: Facets) -> list[Shell]:
    return [shell for shell in facets.shells if shell.stands_on]


def roofs(facets: Facets) -> list[Shell]:
    return [shell for shell in facets.shells if shell.kind is ShellKind.ROOF]


def height_of_slopes(points: np.ndarray) -> np.ndarray:
    """The roof's own formula: it falls from the ridge to both sides."""
    return EAVES + RISE * (WIDTH / 2 - np.abs(points[:, 1] - WIDTH / 2))


def area(facets: Facets, facet: int) -> float:
    found = facets.facets[facet]
    rings = [facets.ring(found, r) for r in range(len(found.rings))]
    return Polygon(rings[0], rings[1:]).area


@pytest.mark.parametrize(
    ("body", "faces", "slopes"),
    [
        (chimney_body((70, 45), (30, 24), 80, 150), 5, 1),
        (chimney_body((70, 45), (30, 24), 80, 150, capped=False), 4, 1),
        (chimney_body((70, 45), (30, 24), 80, 150, turn=0.4), 5, 1),
        (chimney_body((70, WIDTH / 2), (30, 30), 100, 190), 5, 2),
        (dormer_body(120, 25, 60, EAVES + 25 * RISE, 18, math.radians(30), 50), 5, 1),
    ],
    ids=["chimney", "open chimney", "turned chimney", "over the ridge", "dormer"],
)
def test_a_body_pushed_through_a_roof_ends_on_its_slopes(body: Solid, faces: int, slopes: int) -> None:
    facets = find_facets(house_with(PITCH, body))
    assert_sound(facets)
    (upstand,) = upstands(facets)
    assert len(upstand.facets) == faces and not upstand.closed and upstand.bottom is None
    assert len(upstand.stands_on) == slopes and set(upstand.stands_on) <= set(roofs(facets)[0].facets)
    assert [shell.kind for shell in facets.shells if not shell.stands_on] == [ShellKind.WALLS, ShellKind.ROOF]
    points = facets.outline_points(upstand)
    over = points[:, 2] - height_of_slopes(points)
    assert over.min() == pytest.approx(0.0, abs=1e-9)
    rim = [edge for edge in facets.edges if edge.right is None and edge.left in upstand.facets]
    on = [edge for edge in rim if np.abs((e := facets.ends(edge))[:, 2] - height_of_slopes(e)).max() < 1e-9]
    # an open chimney has its upper rim as well
    assert len(rim) - len(on) == (4 if faces == 4 else 0)
    normals = np.array([facets.facets[k].frame.n for k in upstand.facets])
    middle = points.mean(axis=0)
    centres = np.array([facets.corners(facets.facets[k]).mean(axis=0) for k in upstand.facets])
    assert (np.einsum("ij,ij->i", centres - middle, normals) > 0.0).all()


def test_a_dormer_in_the_surface_of_a_roof_comes_off_and_the_slope_is_closed() -> None:
    plain = find_facets(gable_roof(PITCH))
    facets = find_facets(roof_with_dormer(PITCH, 120, 25, 60, 20, math.radians(35)))
    assert_sound(facets)
    (upstand,), (roof,) = upstands(facets), roofs(facets)
    assert len(upstand.facets) == 5 and len(roof.facets) == 2 and len(upstand.stands_on) == 1
    assert [len(facets.facets[k].rings) for k in roof.facets] == [1, 1]
    assert sorted(area(facets, k) for k in roof.facets) == pytest.approx(sorted(area(plain, k) for k in (0, 1)))
    assert {facets.source_of(facets.facets[k]) for k in upstand.facets} == {"Roof"}


def test_a_chimney_over_the_ridge_in_the_surface_of_a_roof_leaves_both_slopes_whole() -> None:
    solid = _ridge_with_stack()
    facets = find_facets(solid)
    assert_sound(facets)
    (upstand,), (roof,) = upstands(facets), roofs(facets)
    assert len(upstand.facets) == 5 and len(upstand.stands_on) == 2
    assert len(roof.facets) == 2 and all(len(facets.facets[k].rings) == 1 for k in roof.facets)
    plan = shapely.union_all([Polygon(facets.corners(facets.facets[k])[:, :2]) for k in roof.facets])
    assert plan.area == pytest.approx(200 * 100)


def _ridge_with_stack() -> Solid:
    """A roof 200 x 100 mm, 50 mm high, with a stack of 30 x 30 mm in the middle of its ridge."""
    points = [
        *((0, 0, 0), (200, 0, 0), (200, 50, 50), (0, 50, 50), (200, 100, 0), (0, 100, 0)),
        *((85, 35, 35), (115, 35, 35), (115, 50, 50), (115, 65, 35), (85, 65, 35), (85, 50, 50)),
        *((85, 35, 80), (115, 35, 80), (115, 65, 80), (85, 65, 80)),
    ]
    faces = [
        *((0, 1, 7, 6), (1, 2, 8, 7), (3, 0, 6, 11)),
        *((4, 5, 10, 9), (2, 4, 9, 8), (5, 3, 11, 10)),
        *((6, 7, 13, 12), (7, 8, 9, 14, 13), (9, 10, 15, 14), (10, 11, 6, 12, 15), (12, 13, 14, 15)),
    ]
    return make_solid(np.array(points, dtype=float), faces, source="Roof")


@pytest.mark.parametrize(
    "other",
    [
        chimney_body((70, 45), (30, 24), 0, 60),  # furniture below the roof
        chimney_body((70, -60), (30, 24), 0, 150),  # a stack beside the house
        chimney_body((120, 80), (130, 100), 0, 240),  # a tower through the roof
        chimney_body((70, 45), (30, 24), 180, 220),  # a body in the air
    ],
    ids=["below", "beside", "tower", "above"],
)
def test_what_does_not_stand_on_the_roof_is_left_as_it_is(other: Solid) -> None:
    facets = find_facets(house_with(PITCH, other))
    assert upstands(facets) == []
    assert sorted(shell.closed for shell in facets.shells) == [False, False, True]


def test_a_wing_that_meets_the_main_roof_in_valleys_stays_part_of_it() -> None:
    # a cross wing with its upright gable, in one surface with the slope that it runs into
    points = [
        *((0, 0, 0), (200, 0, 0), (200, 60, 60), (0, 60, 60)),
        *((70, 0, 0), (130, 0, 0), (100, 30, 30), (70, -40, 0), (130, -40, 0), (100, -40, 30)),
    ]
    faces = [(0, 4, 6, 5, 1, 2, 3), (4, 7, 9, 6), (5, 6, 9, 8), (7, 8, 9)]
    facets = find_facets(make_solid(np.array(points, dtype=float), faces))
    assert upstands(facets) == [] and len(facets.shells) == 1


def test_a_dormer_pushed_through_is_the_same_as_one_that_ends_in_the_attic() -> None:
    long = dormer_body(120, 25, 60, EAVES + 25 * RISE, 20, math.radians(20), 50)
    short = dormer_body(120, 25, 60, EAVES + 25 * RISE, 20, math.radians(20), 42, below=1.0)
    corners = []
    for body in (long, short):
        facets = find_facets(join_solids([gable_house(PITCH), gable_roof(PITCH), body]))
        (upstand,) = upstands(facets)
        corners.append(np.unique(np.round(facets.outline_points(upstand), 6), axis=0))
    assert np.allclose(*corners, atol=1e-5)


@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    at=st.tuples(st.floats(30, 210), st.floats(25, WIDTH - 25)),
    size=st.tuples(st.floats(12, 30), st.floats(12, 30)),
    degrees=st.floats(20, 55),
    turn=st.floats(-1.5, 1.5),
    capped=st.booleans(),
)
def test_any_chimney_ends_on_the_roof_also_over_its_ridge(
    at: tuple[float, float], size: tuple[float, float], degrees: float, turn: float, capped: bool
) -> None:
    pitch = math.radians(degrees)
    facets = find_facets(house_with(pitch, chimney_body(at, size, 60, 260, turn=turn, capped=capped)))
    assert_sound(facets)
    (upstand,) = upstands(facets)
    points = facets.outline_points(upstand)
    slopes = EAVES + math.tan(pitch) * (WIDTH / 2 - np.abs(points[:, 1] - WIDTH / 2))
    over = points[:, 2] - slopes
    assert over.min() > -1e-6 and points[:, 2].max() == pytest.approx(260.0)
    # every corner is on the roof or at the top, and what straddles the ridge stands on both slopes
    assert (np.minimum(np.abs(over), np.abs(points[:, 2] - 260.0)) < 1e-6).all()
    foot = points[np.abs(over) < 1e-6, 1]
    assert len(upstand.stands_on) == (2 if foot.min() < WIDTH / 2 - 0.1 and foot.max() > WIDTH / 2 + 0.1 else 1)
