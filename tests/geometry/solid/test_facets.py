"""Facets of known solids: areas and angles against closed forms, framing tables and trimesh."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from block_outs import L_PLAN, area_of, assert_sound, box_of, degrees, loop_of_walls, windowed_box
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from stowfold.geometry.errors import BadSettingError, UnreadableError
from stowfold.geometry.findings import Severity
from stowfold.geometry.solid.facets import Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, join_solids, make_solid
from stowfold.geometry.tolerance import STRAY

TETRAHEDRON = np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]]) * 40.0
OCTAHEDRON = np.vstack([np.eye(3), -np.eye(3)]) * 50.0


def _codes(facets: Facets) -> list[tuple[str, Severity]]:
    return [(finding.code, finding.severity) for finding in facets.findings]


def _hull(points: np.ndarray) -> Solid:
    hull = trimesh.convex.convex_hull(points)
    return make_solid(hull.vertices, hull.faces.tolist())


@pytest.mark.parametrize(
    ("points", "count", "interior"),
    # Interior dihedral angles of the regular solids: Coxeter, Regular Polytopes, table I.
    [(TETRAHEDRON, 4, math.acos(1 / 3)), (box_of(50, 50, 50)[0], 6, math.pi / 2), (OCTAHEDRON, 8, math.acos(-1 / 3))],
    ids=["tetrahedron", "cube", "octahedron"],
)
def test_regular_solids(points: np.ndarray, count: int, interior: float) -> None:
    facets = find_facets(_hull(points))
    assert_sound(facets)
    assert not facets.findings
    assert len(facets.facets) == count
    assert [edge.angle for edge in facets.edges] == pytest.approx([math.pi - interior] * len(facets.edges), abs=1e-14)
    hull = trimesh.convex.convex_hull(points)
    assert sum(area_of(facets, k) for k in range(count)) == pytest.approx(hull.area, rel=1e-12)
    assert facets.shells[0].closed
    assert facets.shells[0].kind is ShellKind.SOLID
    assert facets.noise < 1e-12


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.booleans())
@pytest.mark.slow
def test_any_convex_solid_moved_and_turned(seed: int, inside_out: bool) -> None:
    """Area, volume and dihedral angles as trimesh has them; reversed faces change nothing."""
    random = np.random.default_rng(seed)
    hull = trimesh.convex.convex_hull(random.normal(size=(random.integers(5, 14), 3)) * 60.0)
    hull.apply_transform(trimesh.transformations.random_rotation_matrix(random.random(3)))
    hull.apply_translation(random.normal(size=3) * 200.0)
    faces = [face[::-1] if inside_out else face for face in hull.faces.tolist()]
    facets = find_facets(make_solid(hull.vertices, faces))
    assert_sound(facets)
    # two of the random triangles may lie flat enough to be merged, by up to one degree and the noise
    exact = len(facets.facets) == len(hull.faces) and facets.read_noise < 1e-9
    area = sum(area_of(facets, k) for k in range(len(facets.facets)))
    assert area == pytest.approx(hull.area, rel=1e-9 if exact else 5e-3)
    outward = [facet.frame.n @ (facet.frame.origin - hull.center_mass) for facet in facets.facets]
    volume = sum(area_of(facets, k) * height for k, height in enumerate(outward)) / 3
    assert volume == pytest.approx(hull.volume, rel=1e-9, abs=0.0 if exact else hull.area * STRAY)
    if exact:
        # arccos is poor near flat, so trimesh's angles are compared by their cosines
        expected = sorted(np.cos(hull.face_adjacency_angles))
        assert sorted(math.cos(edge.angle) for edge in facets.edges) == pytest.approx(expected, abs=1e-9)
    assert all(edge.angle > 0 for edge in facets.edges)


@pytest.mark.parametrize("flips", [(), (0,), (1, 3), (0, 1, 2, 3, 4, 5)])
def test_a_closed_box_grows_outward_whatever_its_normals_say(flips: tuple[int, ...]) -> None:
    points, faces = box_of()
    given_faces = [face[::-1] if k in flips else face for k, face in enumerate(faces)]
    facets = find_facets(make_solid(points, given_faces))
    assert_sound(facets)
    assert not facets.findings
    for facet in facets.facets:
        assert facet.frame.n @ (facet.frame.origin - points.mean(axis=0)) > 0
    assert degrees(facets) == pytest.approx([90.0] * 12, abs=1e-12)
    assert facets.facets[facets.shells[0].bottom].frame.n[2] == -1.0


def test_a_flexed_bottom_edge_makes_the_bottom_an_ordinary_panel() -> None:
    points, faces = box_of()
    assert find_facets(make_solid(points, faces, roles={(0, 4): Role.FLEX})).shells[0].bottom is None
    # on top it changes nothing
    assert find_facets(make_solid(points, faces, roles={(1, 5): Role.FLEX})).shells[0].bottom is not None


def test_triangulated_box_with_windows() -> None:
    solid = windowed_box(27, 4)
    facets = find_facets(solid)
    assert_sound(facets)
    assert not facets.findings
    assert len(facets.facets) == 6
    assert sum(len(facet.rings) for facet in facets.facets) == 10
    assert all(len(ring) == 4 for facet in facets.facets for ring in facet.rings)
    mesh = trimesh.Trimesh(solid.points, solid.faces, process=False)
    assert sum(area_of(facets, k) for k in range(6)) == pytest.approx(mesh.area, rel=1e-12)
    assert sum(edge.right is None for edge in facets.edges) == 16
    assert sorted(face for facet in facets.facets for face in facet.faces) == list(range(len(solid.faces)))


@pytest.mark.parametrize("bottom", [False, True])
@pytest.mark.parametrize("reverse", [(), (2,), (0, 1, 2, 3, 4, 5)])
@pytest.mark.parametrize(("wall_face", "sign"), [("inside", 1), ("outside", -1)])
def test_walls_on_an_l_plan(bottom: bool, reverse: tuple[int, ...], wall_face: str, sign: int) -> None:
    """One of six corners is re-entrant and bends the other way; the board grows away from the rooms."""
    walls = loop_of_walls(L_PLAN, bottom=bottom)
    faces = [face[::-1] if k in reverse else face for k, face in enumerate(walls.faces)]
    facets = find_facets(make_solid(walls.points, faces), wall_face=wall_face)
    assert_sound(facets)
    assert not facets.findings
    (shell,) = facets.shells
    assert shell.kind is ShellKind.WALLS
    assert shell.bottom == (6 if bottom else None)
    upright = [edge for edge in facets.edges if edge.right is not None and max(edge.left, edge.right) < 6]
    turns = sorted(math.degrees(edge.angle) for edge in upright)
    assert turns == pytest.approx(sorted([-90.0 * sign] + [90.0 * sign] * 5))
    # side k of a counter-clockwise plan looks away from the rooms when its normal lies to the right
    for k, (here, there) in enumerate(zip(L_PLAN, (*L_PLAN[1:], L_PLAN[0]), strict=True)):
        run = np.subtract(there, here)
        assert facets.facets[k].frame.n[:2] == pytest.approx(sign * np.array([run[1], -run[0]]) / np.hypot(*run))


def test_frames_of_walls_read_left_to_right_from_the_board_side() -> None:
    facets = find_facets(loop_of_walls(L_PLAN))
    front = facets.facets[0].frame
    assert front.origin.tolist() == [0, 0, 0]
    assert (front.u.tolist(), front.v.tolist(), front.n.tolist()) == ([1, 0, 0], [0, 0, 1], [0, -1, 0])


@pytest.mark.parametrize("lean", [1e-3, 1e-2, 0.3])
def test_frames_of_nearly_level_planes_lose_no_digits(lean: float) -> None:
    points = np.array([(0, 0, 0), (300, 0, 300 * lean), (300, 200, 300 * lean), (0, 200, 0)]) + 123.4
    facets = find_facets(make_solid(points, [(0, 1, 2, 3)]))
    back = facets.facets[0].frame.raise_(facets.ring(facets.facets[0]))
    assert np.abs(back - facets.corners(facets.facets[0])).max() < 2e-13


def test_a_lid_without_a_bottom_is_no_ring_of_walls() -> None:
    points, faces = box_of()
    facets = find_facets(make_solid(points, [face for k, face in enumerate(faces) if k != 4]), wall_face="outside")
    assert facets.shells[0].kind is ShellKind.SOLID
    (left,) = (facet for facet in facets.facets if facet.faces == (0,))
    assert left.frame.n[0] == -1.0


# Interior dihedral angles at ridge and hip, roofs of equal pitch over square corners. Closed forms of
# roof framing: ridge 180 - 2 theta, hip 180 - acos(cos^2 theta), with tan theta = rise / 12; the lengths
# per foot of common and hip rafter are those stamped on framing squares (6/12: 13.42 and 18.00;
# 8/12: 14.42 and 18.76; 12/12: 16.97 and 20.78).
FRAMING = [
    (3, 151.9275, 160.2501, 12.37, 17.23),
    (6, 126.8699, 143.1301, 13.42, 18.00),
    (8, 112.6199, 133.8131, 14.42, 18.76),
    (12, 90.0, 120.0, 16.97, 20.78),
    (24, 53.1301, 101.5370, 26.83, 29.39),
]


@pytest.mark.parametrize("down", [False, True])
@pytest.mark.parametrize(("rise", "ridge", "hip", "common_length", "hip_length"), FRAMING)
def test_hip_roof(rise: int, ridge: float, hip: float, common_length: float, hip_length: float, down: bool) -> None:
    long, deep = 240.0, 144.0
    top = rise / 12 * deep / 2
    points = [(0, 0, 0), (long, 0, 0), (long, deep, 0), (0, deep, 0)]
    points += [(deep / 2, deep / 2, top), (long - deep / 2, deep / 2, top)]
    faces = [(0, 1, 5, 4), (1, 2, 5), (2, 3, 4, 5), (3, 0, 4)]
    facets = find_facets(make_solid(points, [face[::-1] if down else face for face in faces]))
    assert_sound(facets)
    assert not facets.findings
    assert facets.shells[0].kind is ShellKind.ROOF
    assert all(facet.frame.n[2] > 0 for facet in facets.facets)
    at = [tuple(map(float, point)) for point in points]
    known = [at.index(tuple(point)) for point in facets.points.tolist()]
    bends = {
        frozenset((known[e.start], known[e.end])): 180.0 - math.degrees(e.angle)
        for e in facets.edges
        if e.right is not None
    }
    assert bends[frozenset((4, 5))] == pytest.approx(ridge, abs=6e-5)
    hips = [bends[frozenset(pair)] for pair in ((0, 4), (1, 5), (2, 5), (3, 4))]
    assert hips == pytest.approx([hip] * 4, abs=6e-5)
    slope = facets.ring(facets.facets[0])
    assert np.ptp(slope[:, 1]) * 12 / (deep / 2) == pytest.approx(common_length, abs=0.006)
    assert np.linalg.norm(np.subtract(points[4], points[0])) * 12 / (deep / 2) == pytest.approx(hip_length, abs=0.006)


@pytest.mark.parametrize("rise", [4, 9])
def test_gable_roof(rise: int) -> None:
    """Ridge 180 - 2 theta: 143.1301 at 4/12 and 106.2602 at 9/12, from the same closed form."""
    top = 60.0 * rise / 12
    points = [(0, 0, 50), (200, 0, 50), (200, 60, 50 + top), (0, 60, 50 + top), (200, 120, 50), (0, 120, 50)]
    facets = find_facets(make_solid(points, [(0, 1, 2, 3), (2, 3, 5, 4)]))  # the second one faces down
    assert_sound(facets)
    assert not facets.findings
    assert facets.shells[0].kind is ShellKind.ROOF
    assert 180.0 - degrees(facets)[0] == pytest.approx({4: 143.1301, 9: 106.2602}[rise], abs=6e-5)


def test_a_valley_bends_towards_the_board() -> None:
    points = [(0, 0, 40), (100, 0, 40), (100, 50, 0), (0, 50, 0), (100, 100, 40), (0, 100, 40)]
    facets = find_facets(make_solid(points, [(0, 1, 2, 3), (3, 2, 4, 5)]))
    assert degrees(facets) == pytest.approx([-2 * math.degrees(math.atan2(40, 50))])


def test_a_house_with_walls_and_roof_in_one_grows_outward() -> None:
    points = [(x, y, z) for x in (0, 100) for y, z in ((0, 0), (0, 60), (40, 90), (80, 60), (80, 0))]
    faces = [(0, 1, 2, 3, 4), (5, 9, 8, 7, 6), (0, 5, 6, 1), (3, 8, 9, 4), (1, 6, 7, 2), (2, 7, 8, 3)]
    facets = find_facets(make_solid(points, [face[::-1] for face in faces]))
    assert_sound(facets)
    assert facets.shells[0].kind is ShellKind.SOLID
    middle = np.array([50, 40, 45])
    assert all(facet.frame.n @ (facet.frame.origin - middle) > 0 for facet in facets.facets)


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6))
def test_reversed_faces_come_out_the_same(seed: int) -> None:
    """Any faces of walls, boxes and roofs may be reversed: rings, edges and frames stay as they are."""
    random = np.random.default_rng(seed)
    walls = loop_of_walls(L_PLAN, bottom=bool(random.integers(2)))
    points, box = box_of()
    hill = make_solid([(0, 0, 9), (80, 0, 9), (80, 80, 9), (0, 80, 9), (40, 40, 50)], [(0, 1, 4), (1, 2, 4), (2, 3, 4)])
    for solid in (walls, make_solid(points, box), hill):
        faces = [face[::-1] if random.integers(2) else face for face in solid.faces]
        one, two = find_facets(solid), find_facets(make_solid(solid.points, faces))
        assert_sound(two)
        assert not two.findings
        for a, b in zip(one.facets, two.facets, strict=True):
            assert a.faces == b.faces
            for axis in ("u", "v", "n", "origin"):
                assert np.allclose(getattr(a.frame, axis), getattr(b.frame, axis), atol=1e-12)
            assert sorted(map(sorted, a.rings)) == sorted(map(sorted, b.rings))
        assert {(frozenset((e.start, e.end)), round(e.angle, 12)) for e in one.edges} == {
            (frozenset((e.start, e.end)), round(e.angle, 12)) for e in two.edges
        }


@settings(max_examples=25, deadline=None)
@given(st.floats(-math.pi, math.pi), st.tuples(*[st.floats(-300, 300)] * 3), st.integers(0, 10**6))
def test_turning_the_plan_turns_the_facets(turn: float, shift: tuple[float, float, float], seed: int) -> None:
    """Areas, angles and planes follow a turn about the vertical, in whatever order the faces come."""
    walls = loop_of_walls(L_PLAN, bottom=True)
    order = np.random.default_rng(seed).permutation(len(walls.faces))
    moved = Rotation.from_euler("z", turn).apply(walls.points.copy()) + np.array(shift)
    one = find_facets(walls)
    two = find_facets(make_solid(moved, [walls.faces[k] for k in order]))
    assert_sound(two)
    assert two.noise < 1e-12 * 1000
    assert degrees(two) == pytest.approx(degrees(one), abs=1e-10)
    areas = {facet.faces: area_of(one, facet.id) for facet in one.facets}
    for facet in two.facets:
        was = tuple(int(order[k]) for k in facet.faces)
        assert area_of(two, facet.id) == pytest.approx(areas[was], rel=1e-12)


def test_two_objects_keep_their_names_and_numbers() -> None:
    walls = loop_of_walls(L_PLAN)
    points = [(0, 0, 90), (60, 0, 90), (60, 30, 110), (0, 30, 110)]
    roof = make_solid(points, [(0, 1, 2, 3)], face_ids=[17], source="toll house roof")
    facets = find_facets(join_solids([walls, roof]))
    assert_sound(facets)
    assert [shell.kind for shell in facets.shells] == [ShellKind.WALLS, ShellKind.ROOF]
    assert facets.facets[6].faces == (17,)
    assert facets.sources[facets.facets[6].source] == "toll house roof"
    assert {facets.sources[edge.source] for edge in facets.edges if edge.left == 6} == {"toll house roof"}


def test_objects_that_touch_are_welded() -> None:
    one = make_solid([(0, 0, 0), (50, 0, 0), (50, 0, 40), (0, 0, 40)], [(0, 1, 2, 3)], source="a")
    two = make_solid([(50, 0, 0), (50, 60, 0), (50, 60, 40), (50, 3e-5, 40)], [(0, 1, 2, 3)], source="b")
    facets = find_facets(join_solids([one, two]))
    assert degrees(facets) == pytest.approx([90.0], abs=1e-4)


def test_single_precision_counts_as_flat() -> None:
    solid = windowed_box(27, 4)
    turned = Rotation.from_euler("xyz", [0.3, 0.2, 0.9]).apply(solid.points + np.array([431.7, 212.3, 77.1]))
    rounded = turned.astype(np.float32).astype(float)
    facets = find_facets(make_solid(rounded, solid.faces))
    assert_sound(facets)
    assert (len(facets.facets), facets.findings) == (6, ())
    assert 1e-7 < facets.noise < 1e-4


@pytest.mark.parametrize("lean", [0.0, 1.0])
def test_thin_triangles_join_the_wall_they_lie_in(lean: float) -> None:
    """A sliver 0.002 mm wide, turned by 1.7 degrees through the rounding of one corner; its neighbour stands at 90."""
    points = [(0, 0, 0), (100, 0, 0), (100, 0, 50), (0, 0, 50), (50, 6e-5 * lean, 50.002), (0, 40, 50), (100, 40, 50)]
    facets = find_facets(make_solid(points, [(0, 1, 2, 3), (3, 2, 4), (3, 4, 2, 6, 5)]))
    assert_sound(facets)
    assert not facets.findings
    # its tip goes to the line, so nothing of it is left
    assert [facet.faces for facet in facets.facets] == [(0,), (2,)]
    assert degrees(facets) == pytest.approx([90.0], abs=2e-3)


def test_windows_that_touch_at_a_corner_stay_two() -> None:
    """A wall of 4 x 4 cells with two open cells that meet in a point, and one that meets the outline in a point."""
    points = [(10.0 * i, 0.0, 10.0 * j) for j in range(5) for i in range(5)]
    cells = [(i, j) for j in range(4) for i in range(4) if (i, j) not in ((1, 1), (2, 2), (3, 3))]
    faces = [(5 * j + i, 5 * j + i + 1, 5 * j + i + 6, 5 * j + i + 5) for i, j in cells]
    facets = find_facets(make_solid(points, faces))
    assert_sound(facets)
    (wall,) = facets.facets
    assert sorted(len(ring) for ring in wall.rings) == [4, 4, 6]
    assert area_of(facets, 0) == pytest.approx(1300.0)


@pytest.mark.parametrize("count", [24, 200, 2000])
def test_a_finely_drawn_arch_keeps_its_shape(count: int) -> None:
    """However short its sides, a round opening is drawn within 0.0005 mm of what was modelled."""
    angles = np.linspace(0, 2 * math.pi, count, endpoint=False)
    circle = np.column_stack([50 + 20 * np.cos(angles), np.zeros(count), 40 + 20 * np.sin(angles)])
    # a plate with a round hole, cut at its sides so that every face is a simple ring
    square = np.array([(0, 0, 0), (100, 0, 0), (100, 0, 80), (0, 0, 80)], float)
    points = np.vstack([square, circle])
    half = count // 2
    upper = [4 + k for k in range(half + 1)]
    lower = [4 + k % count for k in range(half, count + 1)]
    faces = [(1, 2, 3, 0, *reversed(upper)), (0, 1, *reversed(lower))]
    facets = find_facets(make_solid(points, faces))
    assert_sound(facets)
    (plate,) = facets.facets
    exact = 8000 - 0.5 * count * 400 * math.sin(2 * math.pi / count)
    assert area_of(facets, 0) == pytest.approx(exact, abs=5e-4 * 2 * math.pi * 20)
    hole = facets.ring(plate, 1)
    assert len(hole) <= count
    middle = plate.frame.flatten(np.array([[50.0, 0.0, 40.0]]))
    assert np.hypot(*(hole - middle).T) == pytest.approx(np.full(len(hole), 20.0), abs=1e-9)


@pytest.mark.slow
def test_a_finely_faceted_tower_is_not_taken_for_flat() -> None:
    """Normals of neighbours differ by less than the merging angle, yet the whole turns round."""
    count = 8000
    angles = np.linspace(0, math.pi / 2, count // 4 + 1)
    plan = 300 * np.column_stack([np.cos(angles), np.sin(angles)])
    points = [(x, y, z) for x, y in plan for z in (0.0, 10.0)]
    faces = [(2 * k, 2 * k + 2, 2 * k + 3, 2 * k + 1) for k in range(len(plan) - 1)]
    facets = find_facets(make_solid(points, faces))
    assert_sound(facets)
    assert not facets.findings
    assert facets.noise <= 0.01
    # a strip within 0.01 mm of its plane spans at most 2 sqrt(8 r 0.01) of the arc
    assert len(facets.facets) >= 300 * (math.pi / 2) / (2 * math.sqrt(8 * 300 * 0.01))
    assert sum(edge.angle for edge in facets.edges if edge.right is not None) == pytest.approx(math.pi / 2, rel=0.05)


def test_what_cannot_be_read() -> None:
    with pytest.raises(UnreadableError, match="has no faces"):
        make_solid([(0, 0, 0)], [])
    with pytest.raises(UnreadableError, match="Vertex 1 of store"):
        make_solid([(0, 0, 0), (0, math.nan, 0), (1, 0, 0)], [(0, 1, 2)], source="store")
    with pytest.raises(UnreadableError, match="vertex that it does not have"):
        make_solid([(0, 0, 0), (0, 1, 0), (1, 0, 0)], [(0, 1, 3)])
    with pytest.raises(UnreadableError, match="three coordinates"):
        make_solid([(0, 0), (0, 1), (1, 0)], [(0, 1, 2)])
    with pytest.raises(UnreadableError, match="no edge between vertices 0 and 2"):
        make_solid([(0, 0, 0), (9, 0, 0), (9, 9, 0), (0, 9, 0)], [(0, 1, 2, 3)], roles={(2, 0): Role.FLEX})
    with pytest.raises(UnreadableError, match="nothing to read"):
        join_solids([])
    with pytest.raises(UnreadableError, match="has an area"):
        find_facets(make_solid([(0, 0, 0), (1, 0, 0), (2, 0, 0)], [(0, 1, 2)]))
    with pytest.raises(BadSettingError, match="inside or outside"):
        find_facets(loop_of_walls(L_PLAN), wall_face="middle")


def test_a_solid_is_its_own_copy_and_frozen() -> None:
    points, faces = box_of()
    solid = make_solid(points, faces)
    points[0] = 99.0
    assert solid.points[0].tolist() == [0, 0, 0]
    with pytest.raises(ValueError, match="read-only"):
        solid.points[0] = 1.0
    for pair, edge in zip(solid.edges, solid.edge_ids, strict=True):
        assert solid.edges[edge] == pair
    assert len(solid.edges) == 12
