"""A break put across a wall by arithmetic: shapely's own cut is the oracle."""

from __future__ import annotations

import math

import numpy as np
import pytest
from block_outs import L_PLAN, area_of, assert_sound, loop_of_walls, windowed_box
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from shapely.geometry import LineString, Polygon
from shapely.ops import split
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.part_wall import part_wall
from stowfold.geometry.solid.solid import Role, make_solid


def _polygon(facets: Facets, facet_id: int) -> Polygon:
    facet = facets.facets[facet_id]
    return Polygon(facets.ring(facet), [facets.ring(facet, r) for r in range(1, len(facet.rings))])


def _gabled(turn: float = 0.0) -> Facets:
    """A grain store in one shell: gable walls of five corners, eaves walls, two slopes; open below."""
    points = np.array([(x, y, z) for x in (0, 200) for y, z in ((0, 0), (0, 60), (40, 90), (80, 60), (80, 0))], float)
    faces = [(0, 1, 2, 3, 4), (5, 9, 8, 7, 6), (0, 5, 6, 1), (3, 8, 9, 4), (1, 6, 7, 2), (2, 7, 8, 3)]
    return find_facets(make_solid(Rotation.from_euler("z", turn).apply(points), faces))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 3), st.floats(0.02, 0.98), st.floats(-math.pi, math.pi))
def test_both_parts_are_what_shapely_cuts(wall: int, share: float, turn: float) -> None:
    facets = _gabled(turn)
    whole = _polygon(facets, wall)
    left, low, right, high = whole.bounds
    u = left + share * (right - left)
    if np.abs(facets.ring(facets.facets[wall])[:, 0] - u).min() < 0.02:
        return
    parted = part_wall(facets, wall, u)
    assert_sound(parted)
    pieces = sorted(split(whole, LineString([(u, low - 1), (u, high + 1)])).geoms, key=lambda p: p.centroid.x)
    new = len(facets.facets)
    for piece, facet in zip(pieces, (wall, new), strict=True):
        # both parts keep the frame of the whole
        assert _polygon(parted, facet).symmetric_difference(piece).area < 1e-7
    assert area_of(parted, wall) + area_of(parted, new) == pytest.approx(whole.area, rel=1e-12)
    for facet in facets.facets:
        if facet.id != wall:
            assert area_of(parted, facet.id) == pytest.approx(area_of(facets, facet.id), rel=1e-12)
    (line,) = (edge for edge in parted.edges if edge.role is Role.BREAK)
    assert (line.left, line.right, line.angle, line.host_edges) == (wall, new, 0.0, ())
    assert np.allclose(parted.points[line.start][:2], parted.points[line.end][:2], atol=1e-9)


def test_angles_and_neighbours_of_cut_lines_stay() -> None:
    facets = _gabled()
    parted = part_wall(facets, 2, 70.0)
    eaves = [edge for edge in parted.edges if {edge.left, edge.right} in ({2, 4}, {6, 4})]
    before = next(edge for edge in facets.edges if {edge.left, edge.right} == {2, 4})
    assert [edge.angle for edge in eaves] == [before.angle] * 2
    assert all(edge.host_edges == before.host_edges for edge in eaves)
    lengths = sorted(float(np.linalg.norm(parted.points[e.end] - parted.points[e.start])) for e in eaves)
    assert lengths == pytest.approx([70.0, 130.0])
    assert parted.shells[0].facets == (0, 1, 2, 3, 4, 5, 6)
    assert len(parted.points) == len(facets.points) + 2
    # slope and wall corner still meet their own parts
    assert {edge.right if edge.left == 4 else edge.left for edge in parted.edges if 4 in (edge.left, edge.right)} >= {
        2,
        6,
    }


def test_openings_go_to_their_own_side() -> None:
    facets = find_facets(windowed_box(27, 4))
    front = next(facet.id for facet in facets.facets if len(facet.rings) == 5)
    whole = facets.facets[front]
    spans = sorted((facets.ring(whole, r)[:, 0].min(), facets.ring(whole, r)[:, 0].max()) for r in range(1, 5))
    u = (spans[2][1] + spans[3][0]) / 2
    parted = part_wall(facets, front, u)
    assert_sound(parted)
    assert [len(parted.facets[k].rings) for k in (front, len(facets.facets))] == [4, 2]
    assert area_of(parted, front) + area_of(parted, 6) == pytest.approx(area_of(facets, front), rel=1e-12)
    with pytest.raises(GeometryError, match="opening"):
        part_wall(facets, front, sum(spans[1]) / 2)


def test_a_wall_is_parted_again_and_again() -> None:
    facets = find_facets(loop_of_walls(L_PLAN, bottom=True))
    once = part_wall(facets, 0, 50.0)
    twice = part_wall(once, 7, 120.0)
    other = part_wall(twice, 5, 60.0)
    assert_sound(other)
    assert [area_of(other, k) for k in (0, 7, 8)] == pytest.approx([50 * 70, 70 * 70, 80 * 70])
    assert other.shells[0].bottom == 6
    assert len(other.facets[6].rings[0]) == 6 + 3
    assert sum(edge.role is Role.BREAK for edge in other.edges) == 3


def test_where_no_break_can_run() -> None:
    facets = _gabled()
    with pytest.raises(GeometryError, match="corner"):
        part_wall(facets, 0, 40.005)  # under the ridge
    with pytest.raises(GeometryError, match="cross its outline 0 times"):
        part_wall(facets, 2, 260.0)
    with pytest.raises(GeometryError, match="does not stand upright"):
        part_wall(facets, 4, 70.0)
    hook = [(0, 0), (90, 0), (90, 50), (60, 50), (60, 30), (45, 30), (45, 20), (30, 20), (30, 40), (70, 40), (70, 60)]
    notched = make_solid([(x, 0, z) for x, z in [*hook, (0, 60)]], [tuple(range(12))])
    with pytest.raises(GeometryError, match="4 times"):
        part_wall(find_facets(notched), 0, 52.0)
