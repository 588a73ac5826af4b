"""Time of a map of sight for 8 seats, 3 heights and 140 squares: ``pytest tests/bench/bench_sight.py``.

The reference in the same run is what Embree's rays take, called directly, for the first lattice of samples whose
worst square is within 0.01 of the exact shares, both in processor time of one thread. Demands: 25 ms up to some 30
faces, 60 ms up to some 65, 15 ms while a figure is dragged; faster than the rays by the factors below, which leave
room for other work on the machine: on two busy cores it was 115 to 185 times for four planar walls, 40 to
50 for walls of board, 85 to 145 for a furnished room.
"""

from __future__ import annotations

import time

import numpy as np
import pytest
import rooms_to_look_into as rooms
from stowfold.geometry.play.compare import rank_occluders
from stowfold.geometry.play.sight import HEIGHTS, find_occlusion, see


def faces(blockers):
    return sum(len(blocker.faces) for blocker in blockers)


def median(run, *, rounds=11):
    times = []
    for _ in range(rounds):
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
    return float(np.median(times))


@pytest.mark.parametrize("name", sorted(rooms.ROOMS))
def test_full_map(benchmark, name):
    blockers = rooms.ROOMS[name]()
    benchmark.extra_info["faces"] = faces(blockers)
    benchmark(see, blockers, rooms.squares(), rooms.SEATS, HEIGHTS)


@pytest.mark.parametrize("name", sorted(rooms.ROOMS))
def test_drag_frame(benchmark, name):
    occlusion = find_occlusion(rooms.ROOMS[name](), rooms.squares(), rooms.SEATS, HEIGHTS)
    piece = rooms.box("figure", (10.0, 10.0, 0.0), (35.0, 35.0, 35.0))
    benchmark(occlusion.with_moved, [piece])


def test_what_each_blocker_takes(benchmark):
    benchmark(rank_occluders, rooms.furnished(), rooms.squares(), rooms.SEATS, HEIGHTS)


def test_growth_to_forty_by_forty_squares(benchmark):
    benchmark(see, rooms.furnished(), rooms.squares(40, 40), rooms.SEATS, HEIGHTS)


def test_growth_to_500_faces(benchmark):
    blockers = rooms.furnished(83)
    benchmark.extra_info["faces"] = faces(blockers)
    benchmark(see, blockers, rooms.squares(), rooms.SEATS, HEIGHTS)


def caster_of(blockers, height):
    """Return Embree's scene over the triangles of all faces that rise above a height: others would hide themselves."""
    scenes = pytest.importorskip("embreex.rtcore_scene", reason="Embree has no wheel here")
    meshes = pytest.importorskip("embreex.mesh_construction", reason="Embree has no wheel here")
    risen = (rings for blocker in blockers for rings in blocker.faces if rings[0][:, 2].max() > height)
    scene = scenes.EmbreeScene()
    meshes.TriangleMesh(scene, rooms.triangles_of(risen).astype(np.float32))
    return scene


def rays(casters, squares, eyes, heights, n):
    """Return the shares that n x n rays per square find, and the seconds spent in Embree alone."""
    at = (np.arange(n) + 0.5) / n
    x = squares.origin[0] + (np.arange(squares.columns)[:, None] + at).ravel() * squares.size
    y = squares.origin[1] + (np.arange(squares.rows)[:, None] + at).ravel() * squares.size
    grid = np.meshgrid(x, y)
    shares, spent = np.zeros((len(eyes), len(heights), squares.rows, squares.columns)), 0.0
    for h, height in enumerate(heights):
        points = np.column_stack([grid[0].ravel(), grid[1].ravel(), np.full(grid[0].size, height)]).astype(np.float32)
        for k, eye in enumerate(eyes):
            ways = (eye.point - points).astype(np.float32)
            start = time.process_time()
            hit = casters[h].run(points, ways, query="OCCLUDED")
            spent += time.process_time() - start
            shares[k, h] = 1.0 - (hit >= 0).reshape(squares.rows, n, squares.columns, n).mean(axis=(1, 3))
    return shares, spent


@pytest.mark.parametrize(("name", "times"), [("A", 75.0), ("D", 30.0), ("C", 50.0)])
def test_reference_rays_of_embree(record_property, name, times):
    blockers, squares = rooms.ROOMS[name](), rooms.squares()
    casters = [caster_of(blockers, height) for height in HEIGHTS]
    exact = see(blockers, squares, rooms.SEATS, HEIGHTS).share
    for n in (40, 50, 60, 70, 80, 100, 120):
        shares, spent = rays(casters, squares, rooms.SEATS, HEIGHTS, n)
        error = float(np.abs(shares - exact).max())
        if error <= 0.01:
            break
    ours = median(lambda: see(blockers, squares, rooms.SEATS, HEIGHTS))
    for key, value in (("samples", n), ("error", error), ("rays_s", spent), ("ours_s", ours), ("ratio", spent / ours)):
        record_property(key, value)
    print(
        f"\n{name}: {faces(blockers)} faces, {n} x {n} rays per square, error {error:.4f}, {spent:.2f} s by rays, "
        f"{ours * 1e3:.1f} ms exactly: {spent / ours:.0f} times faster"
    )
    assert error <= 0.01
    assert spent / ours >= times
