"""Clearance against closed forms of a long wall, against shapely, and against rays through a swept cylinder."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from stowfold.geometry.play.clearance import approaches, measure_clearance

GRIP = 20.0


def _way(azimuth_deg, elevation_deg):
    ways = np.degrees(approaches())
    (found,) = np.flatnonzero(np.isclose(ways, (azimuth_deg, elevation_deg)).all(axis=1))
    return found


@pytest.fixture(scope="module")
def long_wall(sheet):
    """A wall along y at x = 0, so long that its ends count nowhere here."""
    return lambda height: sheet("wall", [(0, -5000, 0), (0, 5000, 0), (0, 5000, height), (0, -5000, height)])


def test_ways_are_all_round_and_straight_down_once():
    ways = approaches()
    assert len(ways) == 1 + 24 * 4
    assert len(np.unique(np.round(ways, 9), axis=0)) == len(ways)
    assert (ways[:, 1] > 0.0).all()


@pytest.mark.parametrize(
    ("height", "off", "beta", "elevation", "expected"),
    [
        (62, 63.5, 0, 45, (63.5 - 42) / math.sqrt(2)),  # 15.2028
        (62, 63.5, 30, 60, 38.0132),
        (62, 38.1, 0, 60, 38.1 * math.sin(math.pi / 3) - 42 * math.cos(math.pi / 3)),
        (62, 12.7, 0, 90, 12.7),
        (125, 190.0, 45, 45, (190 - 105 * math.cos(math.pi / 4)) * math.sin(math.pi / 4) / math.sqrt(0.75)),
        (62, 12.7, 0, 30, 0.0),  # the way itself pierces the wall
    ],
)
def test_wall_between_hand_and_player(long_wall, spot, height, off, beta, elevation, expected):
    """Distance of the grip point from a long straight top edge, k = H - z_g above it, along a way at an angle beta
    to the wall's normal: (d sin phi - k cos phi cos beta) / sqrt(sin^2 phi + cos^2 phi cos^2 beta)."""
    clearance = measure_clearance(spot(-off, 0.0), [long_wall(height)], starts=[0.0], grip=GRIP)
    assert clearance.distance[0, _way(beta, elevation), 0] == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize(
    ("height", "off", "radius", "least_deg"),
    [
        (62, 63.5, 45, 69.714),
        (62, 63.5, 20, 48.712),
        (62, 38.1, 20, 68.440),
        (62, 12.7, 12.5, 89.727),
        (62, 38.1, 45, 100.307),  # beyond 90: nearer than the radius, so from no elevation
        (125, 63.5, 45, 80.350),
    ],
)
def test_least_elevation_over_a_wall(long_wall, spot, height, off, radius, least_deg):
    """phi_min = atan2(k, d) + asin(r / sqrt(d^2 + k^2)): tangent from a point to a circle. The measured room is
    positive for steeper ways and negative for flatter ones."""
    k = height - GRIP
    least = math.atan2(k, off) + math.asin(radius / math.hypot(off, k))
    assert math.degrees(least) == pytest.approx(least_deg, abs=5e-4)
    clearance = measure_clearance(spot(-off, 0.0), [long_wall(height)], starts=[0.0], grip=GRIP)
    for elevation in (90, 75, 60, 45, 30):
        room = clearance.distance[0, _way(0, elevation), 0] - radius
        assert (room > 0.0) == (math.radians(elevation) > least)


def test_stages_pass_over_what_ends_below_them(long_wall, spot, crate):
    """A stage that begins 50 up a way straight down begins at 70: walls of 70 never stop it, of 71 they do."""
    place = spot(-12.7, 0.0)
    for height, near in ((70.0, math.inf), (71.0, 12.7)):
        clearance = measure_clearance(place, [long_wall(height)], starts=[50.0], grip=GRIP)
        assert clearance.distance[0, 0, 0] == pytest.approx(near)
    for height, near in ((22.0, 12.7), (15.0, math.inf), (20.0, math.inf)):
        box = crate("box", (0, -50, 0), (30, 100, height))
        clearance = measure_clearance(place, [box], starts=[0.0], grip=GRIP)
        assert clearance.distance[0, 0, 0] == pytest.approx(near)
        assert clearance.nearest[0, 0, 0] == (0 if math.isfinite(near) else -1)


def test_wall_behind_the_hand(long_wall, spot):
    """Leaning away from a wall, a stage is as near it as where it begins: d + l cos phi from its foot, found here by
    minimising the distance from the axis's line over the part of the wall that rises above that."""
    for elevation, start in ((60, 30.0), (45, 40.0)):
        clearance = measure_clearance(spot(-20.0, 0.0), [long_wall(500.0)], starts=[start], grip=GRIP)
        gap = 20.0
        away = clearance.distance[0, _way(180, elevation), 0]
        assert away == pytest.approx(_least_distance(gap, elevation, start), abs=1e-6)


def _least_distance(gap, elevation_deg, start):
    """The wall stands ``gap`` beside the grip point; scipy minimises over where on it the nearest point is."""
    axis = np.array([-math.cos(math.radians(elevation_deg)), 0.0, math.sin(math.radians(elevation_deg))])

    def off(at):
        return float(np.linalg.norm(np.cross(np.array([gap, at[0], at[1]]), axis)))

    lowest = start * axis[2]
    return minimize(off, [3.0, lowest + 50.0], bounds=[(-500, 500), (lowest, 480.0)]).fun


def test_a_hand_comes_through_a_window_but_not_through_its_lintel(sheet, spot):
    """A window 100 wide over the whole reach of the way: the nearest edge is what the hand has around it."""
    window = [(0, -50, 20), (0, 50, 20), (0, 50, 120), (0, -50, 120)]
    wall = [(0, -500, 0), (0, 500, 0), (0, 500, 300), (0, -500, 300)]
    shut, open_ = sheet("wall", wall), sheet("wall", wall, window)
    place = spot(-50.0, 0.0)
    way = _way(0, 45)
    assert measure_clearance(place, [shut], starts=[0.0], grip=GRIP).distance[0, way, 0] == 0.0
    # The way meets the wall 50 above the sill: 50 sin 45 from sill and lintel, 50 from either side.
    gap = measure_clearance(place, [open_], starts=[0.0], grip=GRIP).distance[0, way, 0]
    assert gap == pytest.approx(50 * math.sin(math.pi / 4))


def test_doorway_drawn_as_a_hole_down_to_the_floor(sheet, spot):
    """A hole that shares its foot with the outline is no valid polygon; it means the same as a notch."""
    outline = [(0, -50, 0), (0, 50, 0), (0, 50, 62), (0, -50, 62)]
    hole = [(0, -20, 0), (0, 20, 0), (0, 20, 45), (0, -20, 45)]
    notched = [*outline[:1], hole[0], hole[3], hole[2], hole[1], *outline[1:]]
    place = spot(-30.0, 5.0)
    one = measure_clearance(place, [sheet("wall", outline, hole)], starts=[0.0, 20.0])
    other = measure_clearance(place, [sheet("wall", notched)], starts=[0.0, 20.0])
    np.testing.assert_allclose(one.distance, other.distance, atol=1e-9)


def test_distances_agree_with_shapely(crate, sheet, grid, walls):
    """The same projection by shapely's polygons and its distance, on a cluttered room: GEOS is not ours."""
    chance = np.random.default_rng(7)
    clutter = [
        crate(f"crate {k}", (*chance.uniform(-160, 120, 2), 0), chance.uniform(5, 60, 3), turn=chance.uniform(0, 3))
        for k in range(8)
    ]
    slope = sheet(
        "lean-to", [(-60, -40, 30), (60, -40, 30), (60, 20, 90), (-60, 20, 90)], [(0, 0, 70), (30, 0, 70), (0, 10, 80)]
    )
    blockers = [*walls(), *clutter, slope]
    place = grid()
    clearance = measure_clearance(place, blockers, starts=[0.0], grip=2.0)
    spots = place.centres.reshape(-1, 3)
    for way in range(0, len(clearance.ways), 8):
        azimuth, elevation = clearance.ways[way]
        expected = np.full(len(spots), np.inf)
        for blocker in blockers:
            for rings in blocker.faces:
                # Upright faces are cut at the grip by lifting their feet to it; level ones below are left out.
                height = [np.clip(ring[:, 2] - 2.0, 0.0, None) for ring in rings]
                if max(h.max() for h in height) <= 0.0:
                    continue
                flat = []
                for ring, rise in zip(rings, height, strict=True):
                    along = ring[:, 0] * math.cos(azimuth) + ring[:, 1] * math.sin(azimuth)
                    across = ring[:, 1] * math.cos(azimuth) - ring[:, 0] * math.sin(azimuth)
                    flat.append(np.stack([along * math.sin(elevation) - rise * math.cos(elevation), across], axis=1))
                shape = shapely.Polygon(flat[0], flat[1:])
                shape = shape if shape.area > 1e-6 else shapely.LineString(flat[0])
                along = spots[:, 0] * math.cos(azimuth) + spots[:, 1] * math.sin(azimuth)
                across = spots[:, 1] * math.cos(azimuth) - spots[:, 0] * math.sin(azimuth)
                points = shapely.points(along * math.sin(elevation), across)
                expected = np.minimum(expected, shapely.distance(shape, points))
        np.testing.assert_allclose(clearance.distance[0, way], expected, atol=1e-9)


@settings(max_examples=25, deadline=None)
@given(
    x=st.floats(-60, 60),
    y=st.floats(-60, 60),
    turn=st.floats(0, math.pi),
    height=st.floats(5, 90),
    start=st.sampled_from([0.0, 30.0]),
    way=st.integers(0, 96),
)
def test_swept_cylinder_against_sampled_boxes(crate, spot, x, y, turn, height, start, way):
    """Brute force: dense points on the box's surface (trimesh), those above the stage's beginning, and how near the
    nearest comes to the axis. Sampling finds no nearer point, and one not much farther."""
    box = crate("box", (x, y, 0.0), (30.0, 20.0, height), turn=turn)
    clearance = measure_clearance(spot(0.0, 0.0), [box], starts=[start], grip=GRIP)
    azimuth, elevation = clearance.ways[way]
    measured = clearance.distance[0, way, 0]
    axis = np.array(
        [math.cos(azimuth) * math.cos(elevation), math.sin(azimuth) * math.cos(elevation), math.sin(elevation)]
    )
    corners = np.concatenate([rings[0] for rings in box.faces])
    hull = trimesh.convex.convex_hull(corners)
    dense, _ = trimesh.remesh.subdivide_to_size(hull.vertices, hull.faces, max_edge=4.0)
    cut = trimesh.intersections.slice_mesh_plane(hull, (0, 0, 1), (0, 0, GRIP + start * axis[2]), cap=False)
    rim = np.empty((0, 3))
    if len(cut.faces):
        dense, _ = trimesh.remesh.subdivide_to_size(cut.vertices, cut.faces, max_edge=4.0)
        rim = cut.vertices
    above = np.concatenate([dense, rim])
    above = above[above[:, 2] >= GRIP + start * axis[2] - 1e-9] - np.array([0.0, 0.0, GRIP])
    if not len(cut.faces):
        assert measured == math.inf or height - GRIP - start * axis[2] < 1e-3
        return
    sampled = np.linalg.norm(np.cross(above, axis), axis=1).min()
    assert sampled - 4.0 <= measured <= sampled + 1e-6


def test_what_moves_beside_what_stays_is_both(crate, grid, walls):
    place, moving = grid(), crate("chest", (10, 10, 0), (20, 20, 40))
    starts = [0.0, 40.0]
    still, moved = (measure_clearance(place, blockers, starts=starts) for blockers in (walls(), [moving]))
    both, joined = measure_clearance(place, [*walls(), moving], starts=starts), still.beside(moved)
    np.testing.assert_array_equal(joined.distance, both.distance)
    named = [[("none", *measured.names)[k + 1] for k in measured.nearest[0, 9]] for measured in (both, joined)]
    assert named[0] == named[1]
    assert "chest" in named[0]


def test_nothing_in_the_way(grid):
    clearance = measure_clearance(grid(), [], starts=[0.0, 50.0])
    assert np.isinf(clearance.distance).all()
    assert (clearance.nearest == -1).all()
