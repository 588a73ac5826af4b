"""Outlines with moved sides: shapely's mitred buffer where all distances are equal, closed forms elsewhere."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon
from stowfold.geometry.unfold.outline import clean_ring, corner_arc, move_sides, signed_area

SQUARE = np.array([(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)])


@st.composite
def star_shaped(draw: st.DrawFn) -> np.ndarray:
    """A simple counter-clockwise polygon, often with re-entrant corners."""
    radii = draw(st.lists(st.floats(20.0, 60.0), min_size=4, max_size=10))
    turns = np.arange(len(radii)) + [draw(st.floats(-0.3, 0.3)) for _ in radii]
    angles = turns * 2 * math.pi / len(radii)
    return np.column_stack([np.cos(angles), np.sin(angles)]) * np.array(radii)[:, None]


@settings(max_examples=200, deadline=None)
@given(star_shaped(), st.integers(-200, 600).map(lambda hundredths: hundredths / 100))
def test_equal_distances_are_a_mitred_buffer(ring: np.ndarray, distance: float) -> None:
    moved = move_sides(ring, np.full(len(ring), distance))
    shape = Polygon(moved.points)
    # where a side vanished or the shape fell apart a buffer goes on without it, and we report it instead
    assume(not moved.vanished and shape.is_valid and shape.exterior.is_ccw)
    expected = Polygon(ring).buffer(-distance, join_style="mitre", mitre_limit=1e6)
    assume(expected.geom_type == "Polygon")
    # a buffer drops corners that are all but straight: on average the two run within 1e-7 mm of each other. On a
    # grid, because without one GEOS 3.14 may return both shapes whole where they all but coincide
    apart = shapely.symmetric_difference(shape, expected, grid_size=1e-8)
    assert apart.area < 1e-7 * expected.length


@settings(max_examples=100, deadline=None)
@given(star_shaped(), st.data())
def test_every_side_stays_parallel_at_its_own_distance(ring: np.ndarray, data: st.DataObject) -> None:
    distances = np.array([data.draw(st.floats(0.0, 3.0)) for _ in ring])
    for k, (start, end) in enumerate(move_sides(ring, distances).sides):
        along = np.roll(ring, -1, axis=0)[k] - ring[k]
        inward = np.array([-along[1], along[0]]) / np.hypot(*along)
        assert (start - ring[k]) @ inward == pytest.approx(distances[k], abs=1e-9)
        assert (end - ring[k]) @ inward == pytest.approx(distances[k], abs=1e-9)


def test_a_hole_grows_when_its_sides_move() -> None:
    hole = move_sides(SQUARE[::-1], np.full(4, 2.0)).points
    assert signed_area(hole) == pytest.approx(-44.0 * 34.0)


def test_neighbours_on_one_line_get_a_square_step() -> None:
    ring = np.array([(0.0, 0.0), (25.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)])
    moved = move_sides(ring, np.array([5.0, 2.0, 0.0, 0.0, 0.0]))
    np.testing.assert_allclose(moved.points, [(0, 5), (25, 5), (25, 2), (40, 2), (40, 30), (0, 30)], rtol=0, atol=1e-12)
    assert signed_area(moved.points) == pytest.approx(40 * 30 - 25 * 5 - 15 * 2)


def test_a_side_that_its_neighbours_eat_up_is_named_with_what_it_lost() -> None:
    moved = move_sides(SQUARE, np.array([0.0, 21.0, 0.0, 20.0]))
    assert moved.vanished == (0, 2)
    assert moved.lost[0] == pytest.approx(41.0)
    assert move_sides(SQUARE, np.array([0.0, 19.0, 0.0, 20.0])).vanished == ()


@settings(max_examples=100, deadline=None)
@given(star_shaped(), st.lists(st.floats(0.1, 0.9), min_size=1, max_size=4))
def test_cleaning_drops_points_but_no_area(ring: np.ndarray, shares: list[float]) -> None:
    ahead = np.roll(ring, -1, axis=0)
    points: list[np.ndarray] = []
    for k, point in enumerate(ring):
        between = [point + (ahead[k] - point) * share for share in sorted(set(shares))]
        points += [point, point, *between]
    cleaned = clean_ring(np.array(points))
    assert len(cleaned) <= len(ring)
    assert signed_area(cleaned) == pytest.approx(signed_area(ring), rel=1e-9)
    assert len(clean_ring(np.array(points), straighten=False)) >= len(cleaned)


@settings(max_examples=100, deadline=None)
@given(st.floats(0.4, 2.7), st.floats(2.0, 12.0))
def test_a_corner_s_arc_touches_both_sides(inner: float, radius: float) -> None:
    reach = 2 * radius / math.tan(inner / 2)
    ring = np.array([(0.0, 0.0), (reach, 0.0), (reach * math.cos(inner), reach * math.sin(inner))])
    arc = corner_arc(ring, 0, radius=radius)
    # the centre of the circle that touches both sides lies on the bisector, radius from each of them
    centre = radius / math.sin(inner / 2) * np.array([math.cos(inner / 2), math.sin(inner / 2)])
    np.testing.assert_allclose(np.hypot(*(arc - centre).T), radius, atol=1e-9)
    tangent = radius / math.tan(inner / 2)
    np.testing.assert_allclose(arc[0], tangent * np.array([math.cos(inner), math.sin(inner)]), atol=1e-9)
    np.testing.assert_allclose(arc[-1], (tangent, 0.0), atol=1e-9)


def test_a_side_without_length_vanishes() -> None:
    """It has no direction, so nothing can be said of where it moves; it must not pass as a side that is left."""
    moved = move_sides(np.array([(0.0, 0.0), (40.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0)]), np.full(5, 2.0))
    assert 1 in moved.vanished
