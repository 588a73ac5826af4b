"""Pointing at walls, held against trimesh's rays; snapping to the squares, against the inch."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.opening import DEFAULT_SIZES, OpeningKind, OpeningSize, opening_ring
from stowfold.geometry.plan.placing import hit_wall, nearest_wall, snap_spot
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid

PLAN = [(0, 0), (203.2, 0), (203.2, 76.2), (101.6, 76.2), (101.6, 177.8), (0, 177.8)]


@pytest.fixture(scope="module")
def house():
    block = block_out(PLAN)
    return block, find_facets(make_solid(block.points, block.faces, roles=dict(block.roles)))


def test_the_first_wall_on_a_ray_is_the_one_that_trimesh_finds(house):
    block, facets = house
    mesh = trimesh.Trimesh(block.points, [t for f in block.faces for t in ((f[0], f[1], f[2]), (f[0], f[2], f[3]))])
    rng = np.random.default_rng(2)
    hits = 0
    for _ in range(200):
        origin = rng.uniform([-200, -200, 5], [400, 400, 200])
        direction = rng.uniform([0, 0, 5], [203, 178, 60]) - origin
        spot = hit_wall(facets, origin, direction)
        places, _, _ = mesh.ray.intersects_location([origin], [direction], multiple_hits=True)
        if spot is None:
            assert len(places) == 0
            continue
        hits += 1
        first = places[np.argmin(np.linalg.norm(places - origin, axis=1))]
        assert np.allclose(spot.foot, [first[0], first[1], 0.0], atol=1e-6)
    assert hits > 100


def test_spots_snap_to_half_squares_of_an_inch_and_stay_on_the_wall(house):
    _, facets = house
    spot = nearest_wall(facets, np.array([60.0, -8.0, 30.0]))
    snapped = snap_spot(spot, step=25.4 / 2, width=30.0)
    assert snapped.foot == pytest.approx([63.5, 0.0, 0.0])  # 2.5 in
    edge = snap_spot(nearest_wall(facets, np.array([1.0, -8.0, 30.0])), step=25.4 / 2, width=30.0)
    assert edge.foot == pytest.approx([15.0, 0.0, 0.0])


@pytest.mark.parametrize(("ends", "at"), [(16.0, 3 * 12.7), (10.0, 2 * 12.7), (1000.0, 114.3)])
def test_what_snaps_leaves_the_ends_of_its_wall_to_bends_and_joiners(house, ends, at):
    _, facets = house
    low, high = nearest_wall(facets, np.array([1.0, -8.0, 30.0])).reach
    near = snap_spot(nearest_wall(facets, np.array([1.0, -8.0, 30.0])), step=25.4 / 2, width=30.0, ends=ends)
    wanted = at if ends < 1000.0 else (high - low) / 2  # no room for that: the middle of the wall
    assert near.foot == pytest.approx([wanted, 0.0, 0.0])
    assert min(near.foot[0], high - low - near.foot[0]) - 15.0 >= min(ends, (high - low - 30.0) / 2) - 1e-9


def test_the_nearest_wall_along_a_direction_runs_that_way(house):
    _, facets = house
    spot = nearest_wall(facets, np.array([100.0, 20.0, 0.0]), along=np.array([0.0, 1.0, 0.0]))
    assert abs(spot.along[1]) == pytest.approx(1.0)


def test_default_doors_pass_a_base_and_a_miniature():
    # 25 mm base and 35 mm height: footprints of the trade
    for kind in (OpeningKind.DOOR, OpeningKind.ARCH):
        assert DEFAULT_SIZES[kind].width > 25.4
        assert DEFAULT_SIZES[kind].height > 35.0


@pytest.mark.parametrize(
    ("kind", "size", "words"),
    [
        (OpeningKind.DOOR, OpeningSize(0.0, 40.0), "width of the door is 0 mm"),
        (OpeningKind.WINDOW, OpeningSize(20.0, 20.0, -1.0), "cannot be below"),
        (OpeningKind.ARCH, OpeningSize(40.0, 15.0), "at least 20 mm"),
        (OpeningKind.HATCH, OpeningSize(20.0, float("nan")), "must be more than 0"),
    ],
)
def test_sizes_that_are_no_opening_are_refused(kind, size, words):
    with pytest.raises(BadSettingError, match=words):
        opening_ring(kind, size)
