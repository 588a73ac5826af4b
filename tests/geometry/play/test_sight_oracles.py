"""Sight against other people's code: shapely's own overlays, square by square, and rays of Embree through trimesh."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import rooms_to_look_into as rooms
import shapely
from stowfold.geometry.play.compare import rank_occluders
from stowfold.geometry.play.coverage import coverage
from stowfold.geometry.play.sight import HEIGHTS, NEVER_SEEN, SEEN, Eye, find_occlusion, see
from stowfold.geometry.play.table_top import Blocker, BlockerKind


def plainly(blockers, squares, eye, height):
    """Project every face point by point, unite, and intersect with every square: slow, and written apart."""
    shades = []
    for blocker in blockers:
        for rings in blocker.faces:
            plane = [np.array(ring) for ring in rings]
            normal = np.cross(plane[0][1] - plane[0][0], plane[0][2] - plane[0][0])
            drop = int(np.argmax(np.abs(normal)))
            keep = [axis for axis in range(3) if axis != drop]
            flat = shapely.Polygon(plane[0][:, keep], [ring[:, keep] for ring in plane[1:]])
            if plane[0][:, 2].max() <= height:
                continue
            top = eye[2] - 0.02
            if drop != 2:
                z = keep.index(2)
                low, high = np.full(2, -1e4), np.full(2, 1e4)
                low[z], high[z] = height, top
                flat = flat.intersection(shapely.box(*low, *high))
            elif plane[0][0, 2] > top:
                continue
            for part in shapely.get_parts(flat):
                if part.geom_type != "Polygon" or part.is_empty:
                    continue
                rings = [part.exterior, *part.interiors]
                placed = [back(np.array(r.coords), keep, drop, normal, plane[0][0], eye, height) for r in rings]
                shades.append(shapely.Polygon(placed[0], placed[1:]).buffer(0))
    hidden = shapely.union_all(shades)
    u, v, size = squares.u, squares.v, squares.size
    share = np.zeros((squares.rows, squares.columns))
    for row in range(squares.rows):
        for column in range(squares.columns):
            corner = squares.origin + column * size * u + row * size * v
            square = shapely.Polygon(
                [(corner + a * size * u + b * size * v)[:2] for a, b in [(0, 0), (1, 0), (1, 1), (0, 1)]]
            )
            share[row, column] = 1.0 - square.intersection(hidden).area / square.area
    return share


def back(flat, keep, drop, normal, anchor, eye, height):
    space = np.zeros((len(flat), 3))
    space[:, keep] = flat
    space[:, drop] = anchor[drop] - (space[:, keep] - anchor[keep]) @ normal[keep] / normal[drop]
    return eye[:2] + (space[:, :2] - eye[:2]) * ((eye[2] - height) / (eye[2] - space[:, 2]))[:, None]


@pytest.mark.parametrize("name", sorted(rooms.ROOMS))
def test_shares_agree_with_shapely_square_by_square(name):
    squares, blockers = rooms.squares(), rooms.ROOMS[name]()
    sight = see(blockers, squares, rooms.SIX_SEATS[1:5:3], (20.0,))
    for k, eye in enumerate(rooms.SIX_SEATS[1:5:3]):
        assert sight.share[k, 0] == pytest.approx(plainly(blockers, squares, eye.point, 20.0), abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_shares_of_a_random_room_agree_with_shapely(seed):
    rng = np.random.default_rng(seed)
    blockers = [*rooms.of_board(float(rng.uniform(1.0, 6.0)))]
    for k in range(6):
        low = np.array([*rng.uniform(-170, 120, 2), rng.choice([0.0, 30.0])])
        blockers.append(rooms.box(f"box {k}", low, low + rng.uniform(5, 60, 3)))
    start, end = rng.uniform(-120, 120, (2, 2))
    length = float(np.linalg.norm(end - start))
    hole = [(length * 0.3, 15), (length * 0.3, 50), (length * 0.6, 50), (length * 0.6, 15)]
    # the partition reaches above the lower of the two eyes
    top = float(rng.uniform(70, 400))
    blockers.append(rooms.upright("partition", start, end, [(0, 0), (length, 0), (length, top), (0, top)], hole))
    eyes = [Eye("high", np.array([60.0, -700.0, 450.0])), Eye("low", np.array([-700.0, 90.0, 150.0]))]
    squares = rooms.squares(7, 5)
    sight = see(blockers, squares, eyes, (0.0, 30.0))
    for k, eye in enumerate(eyes):
        for h, height in enumerate(sight.heights):
            assert sight.share[k, h] == pytest.approx(plainly(blockers, squares, eye.point, height), abs=1e-6)


def test_cover_of_random_outlines_agrees_with_shapely():
    rng = np.random.default_rng(5)
    shapes = [shapely.MultiPoint(rng.uniform(-20, 90, (9, 2))).convex_hull for _ in range(12)]
    shapes += [one.difference(two) for one, two in pairwise(list(shapes))]
    shapes += [shapely.box(10, 20, 30, 40), shapely.Polygon(), shapely.box(-9, -9, 200, 200)]
    cells = shapely.box(
        *np.meshgrid(np.arange(8) * 10.0, np.arange(6) * 10.0),
        *np.meshgrid(np.arange(1, 9) * 10.0, np.arange(1, 7) * 10.0),
    )
    expected = shapely.area(shapely.intersection(np.array(shapes)[:, None, None], cells)) / 100.0
    assert coverage(np.array(shapes), 8, 6, 10.0) == pytest.approx(expected, abs=1e-12)


def test_shares_are_what_rays_find_the_more_exactly_the_more_there_are():
    trimesh = pytest.importorskip("trimesh")
    embree = pytest.importorskip("trimesh.ray.ray_pyembree", reason="Embree has no wheel here")
    squares, blockers = rooms.squares(), rooms.furnished()
    eye, height = rooms.SIX_SEATS[1], 20.0
    corners = rooms.triangles_of(rings for blocker in blockers for rings in blocker.faces).reshape(-1, 3)
    mesh = trimesh.Trimesh(corners, np.arange(len(corners)).reshape(-1, 3), process=False)
    caster = embree.RayMeshIntersector(mesh)
    exact = see(blockers, squares, [eye], (height,)).share[0, 0]
    errors = []
    for n in (4, 12, 36):
        at = (np.arange(n) + 0.5) / n * squares.size
        spots = np.arange(14)[:, None] * squares.size + at, np.arange(10)[:, None] * squares.size + at
        x, y = np.meshgrid(squares.origin[0] + spots[0].ravel(), squares.origin[1] + spots[1].ravel())
        points = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, height)])
        hit = caster.intersects_any(points, eye.point - points)
        seen = 1.0 - hit.reshape(10, n, 14, n).mean(axis=(1, 3))
        errors.append(float(np.abs(seen - exact).max()))
    assert errors[0] > errors[1] > errors[2]
    # the error of a lattice of n x n samples falls like 1 / n
    assert errors[2] < 1.0 / 36.0


def test_shares_of_two_roof_designs():
    """Against the figures that an earlier prototype, written apart, gave for these rooms."""
    squares = rooms.squares()
    level, gabled = (see(rooms.planar(top), squares, rooms.SIX_SEATS, HEIGHTS) for top in (None, 125.0))
    room = [sight.in_room for sight in (level, gabled)]
    assert room[0].mean(axis=(0, 2)) == pytest.approx([0.588, 0.715, 0.811], abs=6e-4)
    assert room[1].mean(axis=(0, 2)) == pytest.approx([0.468, 0.595, 0.690], abs=6e-4)
    worst = [shares[:, 0].mean(axis=1).min() for shares in room]
    assert worst == pytest.approx([0.554, 0.323], abs=6e-4)
    seen_by_all = [(shares.min(axis=0) >= SEEN).sum(axis=1).tolist() for shares in room]
    assert seen_by_all == [[8, 37, 60], [0, 0, 4]]
    dark_for_one = [(shares.min(axis=0) < NEVER_SEEN).sum(axis=1).tolist() for shares in room]
    assert [dark[0::2] for dark in dark_for_one] == [[121, 58], [138, 114]]
    assert (gabled.share - level.share).max() <= 1e-12


def test_what_one_blocker_takes_is_what_is_seen_without_it():
    squares, blockers = rooms.squares(), rooms.furnished(5)
    eyes = rooms.SIX_SEATS[:2]
    alone = {occluder.name: occluder.squares for occluder in rank_occluders(blockers, squares, eyes, (0.0, 20.0))}
    whole = see(blockers, squares, eyes, (0.0, 20.0)).share
    for blocker in blockers:
        others = [other for other in blockers if other is not blocker]
        more = (see(others, squares, eyes, (0.0, 20.0)).share - whole).sum(axis=(2, 3))
        assert alone[blocker.name] == pytest.approx(more, abs=1e-9)


def test_a_dragged_figure_gives_the_map_of_all():
    squares, blockers = rooms.squares(), rooms.furnished()
    occlusion = find_occlusion(blockers, squares, rooms.SIX_SEATS, HEIGHTS)
    for x in (-100.0, 3.0, 90.0):
        piece = rooms.box("figure", (x, -30, 0), (x + 22, -8, 35), BlockerKind.MINIATURE)
        moved = occlusion.with_moved([piece]).share
        assert moved == pytest.approx(see([*blockers, piece], squares, rooms.SIX_SEATS, HEIGHTS).share, abs=1e-9)


def test_boards_hide_what_their_faces_hide_as_sheets():
    squares, solid = rooms.squares(), rooms.of_board()
    sheets = [Blocker(blocker.name, blocker.kind, blocker.faces) for blocker in solid]
    one, two = (see(room, squares, rooms.SIX_SEATS, HEIGHTS).share for room in (solid, sheets))
    assert one == pytest.approx(two, abs=1e-12)
