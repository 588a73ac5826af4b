"""Faces cut by a plane: shapely's own cut, and trimesh's slices, are the oracles."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from block_outs import L_PLAN, area_of, assert_sound, loop_of_walls, windowed_box
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from shapely.geometry import LineString, Polygon
from shapely.ops import split
from stowfold.geometry.solid.cut_faces import cut_faces
from stowfold.geometry.solid.facets import Facets, Frame
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, Straightened, make_solid


def _polygon(facets: Facets, facet_id: int) -> Polygon:
    facet = facets.facets[facet_id]
    return Polygon(facets.ring(facet), [facets.ring(facet, r) for r in range(1, len(facet.rings))])


def _parted(solid: Solid, facets: Facets, facet_id: int, u: float) -> Solid:
    """Part a wall of a solid with one object along the upright line at its coordinate u."""
    facet = facets.facets[facet_id]
    return cut_faces(solid, facet.faces, facet.frame.raise_(np.array([u, 0.0])), facet.frame.u, role=Role.BREAK)


def _along(facets: Facets, facet: int, frame: Frame) -> float:
    """Return how far a facet reaches to the left along another frame, mm."""
    return float(frame.flatten(facets.corners(facets.facets[facet]))[:, 0].min())


def _gabled(turn: float = 0.0) -> Solid:
    """A grain store in one shell: gable walls of five corners, eaves walls, two slopes; open below."""
    points = np.array([(x, y, z) for x in (0, 200) for y, z in ((0, 0), (0, 60), (40, 90), (80, 60), (80, 0))], float)
    faces = [(0, 1, 2, 3, 4), (5, 9, 8, 7, 6), (0, 5, 6, 1), (3, 8, 9, 4), (1, 6, 7, 2), (2, 7, 8, 3)]
    return make_solid(Rotation.from_euler("z", turn).apply(points), faces)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 3), st.floats(0.02, 0.98), st.floats(-math.pi, math.pi))
def test_both_parts_of_a_wall_are_what_shapely_cuts(wall: int, share: float, turn: float) -> None:
    solid = _gabled(turn)
    facets = find_facets(solid)
    whole = _polygon(facets, wall)
    left, low, right, high = whole.bounds
    u = left + share * (right - left)
    if np.abs(facets.ring(facets.facets[wall])[:, 0] - u).min() < 0.02:
        return
    parted = find_facets(_parted(solid, facets, wall, u))
    assert_sound(parted)
    pieces = sorted(split(whole, LineString([(u, low - 1), (u, high + 1)])).geoms, key=lambda p: p.centroid.x)
    frame = facets.facets[wall].frame
    made = [facet.id for facet in parted.facets if facet.faces == facets.facets[wall].faces]
    made.sort(key=lambda facet: _along(parted, facet, frame))
    for piece, facet in zip(pieces, made, strict=True):
        ring = frame.flatten(parted.points[list(parted.facets[facet].rings[0])])
        assert Polygon(ring).symmetric_difference(piece).area < 1e-7
    assert sum(area_of(parted, facet) for facet in made) == pytest.approx(whole.area, rel=1e-9)
    for facet in facets.facets:
        if facet.id != wall:
            (same,) = (other.id for other in parted.facets if other.faces == facet.faces)
            assert area_of(parted, same) == pytest.approx(area_of(facets, facet.id), rel=1e-9)
    (line,) = (edge for edge in parted.edges if edge.role is Role.BREAK)
    assert {line.left, line.right} == set(made)
    assert (line.angle, line.host_edges) == (0.0, ())
    assert np.allclose(parted.points[line.start][:2], parted.points[line.end][:2], atol=1e-9)


def test_angles_and_neighbours_of_cut_lines_stay() -> None:
    solid = _gabled()
    facets = find_facets(solid)
    wall, slope = (facet.id for face in (2, 4) for facet in facets.facets if facet.faces == (face,))
    parted = find_facets(_parted(solid, facets, wall, 70.0))
    walls = [facet.id for facet in parted.facets if facet.faces == (2,)]
    (roof,) = (facet.id for facet in parted.facets if facet.faces == (4,))
    eaves = [edge for edge in parted.edges if {edge.left, edge.right} in ({walls[0], roof}, {walls[1], roof})]
    before = next(edge for edge in facets.edges if {edge.left, edge.right} == {wall, slope})
    assert [edge.angle for edge in eaves] == pytest.approx([before.angle] * 2)
    assert all(edge.host_edges == before.host_edges for edge in eaves)
    lengths = sorted(float(np.linalg.norm(parted.points[e.end] - parted.points[e.start])) for e in eaves)
    assert lengths == pytest.approx([70.0, 130.0])
    assert len(parted.points) == len(facets.points) + 2
    assert len(walls) == 2


def test_openings_go_to_their_own_side() -> None:
    solid = windowed_box(27, 4)
    facets = find_facets(solid)
    front = next(facet.id for facet in facets.facets if len(facet.rings) == 5)
    whole = facets.facets[front]
    spans = sorted((facets.ring(whole, r)[:, 0].min(), facets.ring(whole, r)[:, 0].max()) for r in range(1, 5))
    u = (spans[2][1] + spans[3][0]) / 2
    parted = find_facets(_parted(solid, facets, front, u))
    assert_sound(parted)
    pieces = [facet for facet in parted.facets if len(facet.rings) > 1]
    assert sorted(len(facet.rings) for facet in pieces) == [2, 4]
    assert sum(area_of(parted, facet.id) for facet in pieces) == pytest.approx(area_of(facets, front), rel=1e-9)


def test_a_wall_is_parted_again_and_again() -> None:
    solid = loop_of_walls(L_PLAN, bottom=True)
    facets = find_facets(solid)
    for wall, u in ((0, 50.0), (0, 120.0), (5, 60.0)):
        facet = facets.facets[wall]
        mine = [k for k, face in enumerate(solid.face_ids) if face in facet.faces]
        solid = cut_faces(solid, mine, facet.frame.raise_(np.array([u, 0.0])), facet.frame.u, role=Role.BREAK)
    parted = find_facets(solid)
    assert_sound(parted)
    of_first = [facet.id for facet in parted.facets if facet.faces == facets.facets[0].faces]
    widths = [float(np.ptp(parted.ring(parted.facets[facet])[:, 0])) for facet in of_first]
    # round the ring, from the left to the right
    assert widths == pytest.approx([50.0, 70.0, 80.0])
    assert parted.shells[0].bottom == len(parted.facets) - 1 == 9
    assert len(parted.facets[9].rings[0]) == 6 + 3
    assert sum(edge.role is Role.BREAK for edge in parted.edges) == 3


def test_a_face_that_the_plane_enters_more_than_once_falls_into_all_its_pieces() -> None:
    ring = [(0, 0), (90, 0), (90, 20), (30, 20), (30, 40), (90, 40), (90, 60), (0, 60)]
    solid = make_solid([(x, 0, z) for x, z in ring], [tuple(range(len(ring)))])
    cut = cut_faces(solid, [0], np.array([52.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]), role=Role.BREAK)
    wanted = split(Polygon(ring), LineString([(52, -1), (52, 61)])).geoms
    pieces = [Polygon(cut.points[list(face)][:, [0, 2]]) for face in cut.faces]
    assert sorted(piece.area for piece in pieces) == pytest.approx(sorted(piece.area for piece in wanted))
    assert all(piece.is_valid for piece in pieces)
    assert sum(role is Role.BREAK for role in cut.edge_roles) == len(pieces) - 1 == 2


def test_an_edge_on_the_plane_between_two_faces_bears_the_role() -> None:
    points = np.array([(x, 0.0, z) for z in (0.0, 60.0) for x in (0.0, 100.0, 250.0)])
    solid = make_solid(points, [(0, 1, 4, 3), (1, 2, 5, 4)])
    cut = cut_faces(solid, [0, 1], np.array([100.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]), role=Role.BREAK)
    assert (cut.faces, len(cut.points)) == (solid.faces, 6)
    assert [cut.edges[k] for k, role in enumerate(cut.edge_roles) if role is Role.BREAK] == [(1, 4)]


def test_cut_faces_keep_every_area_as_trimesh_slices_it():
    rng = np.random.default_rng(5)
    base = trimesh.creation.box((80.0, 50.0, 30.0))
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    for _ in range(25):
        normal = rng.normal(size=3)
        normal /= np.linalg.norm(normal)
        point = rng.uniform(-10.0, 10.0, 3)
        solid = make_solid(base.vertices, quads)
        cut = cut_faces(solid, range(6), point, normal, role=Role.CLOSURE)
        whole, parted = find_facets(solid), find_facets(cut)
        expected = trimesh.intersections.slice_mesh_plane(base, normal, point).area
        got = 0.0
        for facet in parted.facets:
            points = parted.points[list(facet.rings[0])]
            if ((points - point) @ normal).mean() > 0.0:
                x, y = parted.ring(facet).T
                got += abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
        assert got == pytest.approx(expected, rel=1e-6)
        assert len(parted.facets) > len(whole.facets)
        marked = [edge for edge in parted.edges if edge.role is Role.CLOSURE]
        assert all(edge.right is not None and edge.angle == 0.0 for edge in marked)


def test_a_cut_along_a_diagonal_of_corners_makes_no_new_points():
    solid = make_solid(np.array([[0.0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]]), [(0, 1, 2, 3)])
    cut = cut_faces(solid, [0], np.zeros(3), np.array([1.0, -1.0, 0.0]), role=Role.CLOSURE)
    assert len(cut.points) == 4
    assert sorted(map(sorted, cut.faces)) == [[0, 1, 2], [0, 2, 3]]
    assert [cut.edges[k] for k, role in enumerate(cut.edge_roles) if role is Role.CLOSURE] == [(0, 2)]


def test_a_cut_across_noisy_triangles_is_one_line() -> None:
    """By construction: a cut passes from one triangle of a wall to the other, whose shared edge lies off the plane."""
    plan = [(0.0, 0.0), (160.0, 0.0), (160.0, 110.0), (0.0, 110.0)]
    points = np.array([(x, y, z) for z in (0.0, 55.0) for x, y in plan])
    points += np.random.default_rng(3).uniform(-0.02, 0.02, points.shape)
    quads = [(k, (k + 1) % 4, (k + 1) % 4 + 4, k + 4) for k in range(4)]
    triangles = [ring for a, b, c, d in quads for ring in ((a, b, c), (a, c, d))]
    # noise that the straightening left, as it does below gables of triangles
    solid = replace(make_solid(points, triangles, source="Store"), straightened=Straightened(0.0, 0.0))
    walls = find_facets(solid)
    parted = solid
    for wall in walls.facets:
        if abs(wall.frame.n[1]) > 0.9:
            parted = cut_faces(
                parted, wall.faces, np.array([60.0, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]), role=Role.BREAK
            )
    facets = find_facets(parted)
    breaks = [edge for edge in facets.edges if edge.role is Role.BREAK]
    assert len(walls.facets) == 4 and len(facets.facets) == 6
    assert len(breaks) == 2
    assert all(abs(facets.length(edge) - 55.0) < 0.05 for edge in breaks)
    assert all(len(facet.rings[0]) == 4 for facet in facets.facets)


def _bent_strip(top: float, bottom: float) -> Solid:
    """A wall of two triangulated halves under a slope that leans against its top; corners in its middle are astray."""
    points = np.array([(x, y, z) for y, z in ((0, 0), (0, 60), (40, 90)) for x in (0, 100, 200)], float)
    points[[1, 4], 0] += bottom, top
    rings = [(0, 1, 4), (0, 4, 3), (1, 2, 5), (1, 5, 4), (3, 4, 7, 6), (4, 5, 8, 7)]
    return make_solid(points, rings)


@pytest.mark.parametrize(("top", "bottom"), [(0.0, 0.009), (-0.008, 0.0), (0.007, -0.009)])
def test_a_wall_parts_upright_between_corners_that_lie_a_little_off_the_plane(top: float, bottom: float) -> None:
    """By construction: both corners lie in the middle of straight lines, so that no face changes its outline."""
    solid = _bent_strip(top, bottom)
    cut = cut_faces(solid, [0, 1, 2, 3], np.array([100.0, 0, 0]), np.array([1.0, 0, 0]), role=Role.BREAK)
    assert (cut.faces, len(cut.points)) == (solid.faces, 9)
    assert [cut.edges[k] for k, role in enumerate(cut.edge_roles) if role is Role.BREAK] == [(1, 4)]
    assert cut.points[[1, 4]] == pytest.approx(np.array([(100.0, 0, 0), (100.0, 0, 60)]), abs=1e-9)
    others = [k for k in range(9) if k not in (1, 4)]
    assert np.array_equal(cut.points[others], solid.points[others])


def test_a_corner_that_shapes_a_face_stays_where_it_is() -> None:
    gabled = _gabled()
    peak = gabled.points[2]
    cut = cut_faces(gabled, [0], peak + np.array([0.0, 0.006, 0.0]), np.array([0.0, 1.0, 0.0]), role=Role.BREAK)
    assert np.array_equal(cut.points[2], peak)
    assert sum(role is Role.BREAK for role in cut.edge_roles) == 1
