"""Dormers and chimneys from their sizes: closed bodies, and where on a roof they come to stand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.roof_placing import check_on_slope, hit_slope, lowered, nearest_slope
from stowfold.geometry.plan.upstand import DEFAULT_SIZES, UpstandKind, UpstandSize, depth_of, upstand_body
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid
from upstand_samples import EAVES, LENGTH, OVERHANG, WIDTH, house_with

PITCH = math.radians(40.0)
RISE = math.tan(PITCH)


@pytest.mark.parametrize("kind", list(UpstandKind))
def test_a_body_is_closed_and_looks_outward(kind: UpstandKind) -> None:
    points, faces = upstand_body(kind, DEFAULT_SIZES[kind], rise=RISE)
    triangles = [(face[0], face[k], face[k + 1]) for face in faces for k in range(1, len(face) - 1)]
    mesh = trimesh.Trimesh(points, triangles, process=False)
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0.0


def test_a_dormer_reaches_back_to_where_its_ridge_meets_the_slope() -> None:
    size = UpstandSize(40.0, 22.0, pitch=math.radians(35.0))
    ridge = 22.0 + 20.0 * math.tan(math.radians(35.0))
    assert depth_of(UpstandKind.DORMER, size, RISE) == pytest.approx(ridge / RISE)


@pytest.mark.parametrize("kind", list(UpstandKind))
@pytest.mark.parametrize("side", [1.0, -1.0], ids=["front", "rear"])
def test_a_body_set_on_a_slope_is_read_as_standing_on_it(kind: UpstandKind, side: float) -> None:
    size = DEFAULT_SIZES[kind]
    depth = depth_of(kind, size, RISE)
    aim = np.array([LENGTH / 2, WIDTH / 2 - side * WIDTH / 4, 0.0])
    spot = nearest_slope(find_facets(house_with(PITCH)), aim, width=size.width, depth=depth)
    assert spot is not None
    assert spot.along == pytest.approx([side, 0.0, 0.0], abs=1e-12) and spot.rise == pytest.approx(RISE)
    assert spot.top == pytest.approx(EAVES + WIDTH / 2 * RISE)
    points, faces = upstand_body(kind, size, rise=spot.rise)
    axes = np.array([spot.along, np.cross([0.0, 0.0, 1.0], spot.along), [0.0, 0.0, 1.0]])
    body = make_solid(points @ axes + spot.foot(depth), faces, source="Body")
    facets = find_facets(house_with(PITCH, body))
    (upstand,) = (shell for shell in facets.shells if shell.stands_on)
    assert len(upstand.facets) == 5
    middle = facets.outline_points(upstand)[:, :2]
    assert (middle.min(axis=0) + middle.max(axis=0)) / 2 == pytest.approx(spot.middle[:2], abs=1e-6)


@pytest.mark.parametrize("over", [-0.1, 0.1])
def test_a_dormer_ends_below_the_top_of_its_slope(over: float) -> None:
    """Its ridge is level: it ends as high over the foot of its front as it begins."""
    spot = hit_slope(find_facets(house_with(PITCH)), np.array([100.0, 40.0, 500.0]), np.array([0.0, 0.0, -1.0]))
    assert spot is not None
    # of a flat roof the foot lies half its height below the middle
    size = UpstandSize(40.0, 2.0 * (spot.top - float(spot.middle[2]) + over))
    if over < 0.0:
        check_on_slope(UpstandKind.DORMER, size, spot)
    else:
        with pytest.raises(BadSettingError, match=r"would end 0\.1 mm above the top"):
            check_on_slope(UpstandKind.DORMER, size, spot)
    check_on_slope(UpstandKind.CHIMNEY, UpstandSize(20.0, 500.0, 20.0), spot)


def test_a_dormer_is_lowered_until_it_ends_at_the_top_of_its_slope() -> None:
    spot = hit_slope(find_facets(house_with(PITCH)), np.array([100.0, 50.0, 500.0]), np.array([0.0, 0.0, -1.0]))
    assert spot is not None
    usual = DEFAULT_SIZES[UpstandKind.DORMER]
    low = lowered(replace(usual, height=200.0), spot)
    check_on_slope(UpstandKind.DORMER, low, spot)
    assert low.height < 200.0 and low.pitch < usual.pitch
    ends = spot.foot(depth_of(UpstandKind.DORMER, low, spot.rise))[2] + low.height + 20.0 * math.tan(low.pitch)
    assert ends == pytest.approx(spot.top)
    tiny = replace(usual, height=5.0, pitch=0.0)
    assert lowered(tiny, spot) == tiny


@pytest.mark.parametrize("kind", list(UpstandKind))
def test_a_front_beyond_the_eaves_is_refused_by_how_far(kind: UpstandKind) -> None:
    """A body 20 mm deep reaches 10 mm down the slope from a spot that lies 8 mm from the eaves on the plan."""
    spot = hit_slope(
        find_facets(house_with(PITCH)), np.array([100.0, 8.0 - OVERHANG, 500.0]), np.array([0.0, 0.0, -1.0])
    )
    assert spot is not None
    size = UpstandSize(20.0, 20.0 * RISE if kind is UpstandKind.DORMER else 40.0, 20.0)
    with pytest.raises(BadSettingError, match=rf"{kind.value}'s front would stand 2\.0 mm beyond"):
        check_on_slope(kind, size, spot)


def test_a_spot_keeps_roof_all_round_and_a_ray_meets_the_slope_that_shows() -> None:
    facets = find_facets(house_with(PITCH))
    corner = nearest_slope(facets, np.array([-50.0, -50.0, 0.0]), width=24.0, depth=20.0)
    assert corner is not None and corner.middle[0] > 12.0 and corner.middle[1] > 10.0
    spot = hit_slope(facets, np.array([100.0, 40.0, 500.0]), np.array([0.0, 0.0, -1.0]))
    assert spot is not None and spot.middle == pytest.approx([100.0, 40.0, EAVES + 40.0 * RISE])
    assert hit_slope(facets, np.array([100.0, -40.0, 500.0]), np.array([0.0, 0.0, -1.0])) is None


@pytest.mark.parametrize(
    ("kind", "size", "rise", "words"),
    [
        (UpstandKind.DORMER, UpstandSize(0.0, 20.0), 0.8, "width of the dormer is 0 mm"),
        (UpstandKind.DORMER, UpstandSize(40.0, 20.0), 0.05, "rises by 3 degrees"),
        (UpstandKind.DORMER, UpstandSize(40.0, 2.0), 0.8, "front is 2 mm high"),
        (UpstandKind.CHIMNEY, UpstandSize(20.0, 20.0, 24.0), 0.8, "make it 4.2 mm higher"),
        (UpstandKind.CHIMNEY, UpstandSize(20.0, 20.0), 0.8, "depth of the chimney is 0 mm"),
    ],
)
def test_sizes_that_are_no_body_are_told_in_one_sentence(
    kind: UpstandKind, size: UpstandSize, rise: float, words: str
) -> None:
    with pytest.raises(BadSettingError, match=words):
        upstand_body(kind, size, rise=rise)
