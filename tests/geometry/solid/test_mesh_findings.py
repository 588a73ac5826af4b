"""What is wrong with a mesh is said with its place and size, and the rest is still read."""

from __future__ import annotations

import re

import numpy as np
import pytest
from block_outs import L_PLAN, area_of, assert_sound, box_of, break_in_the_middle, loop_of_walls
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.findings import Finding, Severity
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, join_solids, make_solid


def _only(facets: Facets) -> Finding:
    (finding,) = facets.findings
    return finding


def test_a_clean_model_has_no_findings() -> None:
    assert find_facets(make_solid(*box_of())).findings == ()
    assert find_facets(loop_of_walls(L_PLAN)).findings == ()


@pytest.mark.parametrize(("lift", "told"), [(0.01, False), (0.4, True), (1.6, True)])
def test_a_corner_a_little_astray_is_moved(lift: float, told: bool) -> None:
    """One corner of a rectangle lifted by h stands h / 4 off the mean plane, like the other three."""
    points = [(0, 0, 0), (100, 0, 0), (100, lift, 60), (0, 0, 60)]
    facets = find_facets(make_solid(points, [(0, 1, 2, 3)]))
    assert facets.noise < 1e-9
    assert facets.read_noise == pytest.approx(lift / 4, rel=1e-3)
    assert facets.facets[0].frame.n[2] == pytest.approx(0.0, abs=1e-15)
    assert [finding.code for finding in facets.findings] == (["corners-moved"] if told else [])
    moved = np.linalg.norm(facets.points - np.array(sorted(map(list, points))), axis=1).max()
    assert moved < 0.8 * lift
    if told:
        stated = re.search(r"up to (\d+\.\d+) mm", facets.findings[0].message)
        assert stated is not None and float(stated[1]) == pytest.approx(moved, abs=6e-3)


@pytest.mark.parametrize(("sides", "told"), [((0.4,) * 5, ["corners-moved"]), ((0.4, *(25.0,) * 4), [])])
def test_a_face_leans_on_purpose_where_its_neighbours_do(sides: tuple[float, ...], told: list[str]) -> None:
    """A prism of five sides, 40 mm high, whose sides lean by so many mm: by a slip all, or one of a solid of slopes."""
    turns = 2.0 * np.pi * np.arange(5) / 5
    normals = np.column_stack([np.cos(turns), np.sin(turns)])
    rings = [
        [np.linalg.solve(normals[[k - 1, k]], [60.0 - lean[k - 1], 60.0 - lean[k]]) for k in range(5)]
        for lean in (np.zeros(5), np.array(sides))
    ]
    points = np.array([[*corner, z] for ring, z in zip(rings, (0.0, 40.0), strict=True) for corner in ring])
    walls = [(k, (k + 1) % 5, 5 + (k + 1) % 5, 5 + k) for k in range(5)]
    facets = find_facets(make_solid(points, [(4, 3, 2, 1, 0), (5, 6, 7, 8, 9), *walls]))
    assert [finding.code for finding in facets.findings if finding.code == "corners-moved"] == told
    moved = np.linalg.norm(facets.points[:, None] - points[None], axis=2).min(axis=1).max()
    assert (moved > 0.1) == bool(told)


def test_a_corner_far_astray_is_told_by_how_much() -> None:
    points = [(0, 0, 0), (100, 0, 0), (100, 4.0, 60), (0, 0, 60)]
    facets = find_facets(make_solid(points, [(0, 1, 2, 3)]))
    finding = _only(facets)
    assert (finding.code, finding.severity, finding.where.faces) == ("non-planar-facet", Severity.ERROR, (0,))
    stated = re.search(r"by (\d+\.\d+) mm", finding.message)
    assert stated is not None
    assert float(stated[1]) == pytest.approx(facets.noise, abs=6e-4)
    assert facets.noise == pytest.approx(1.0, abs=2e-3)
    assert np.array_equal(facets.points, sorted(map(list, points)))


@pytest.mark.parametrize(("lift", "count"), [(0.4, 1), (4.0, 2)])
def test_the_same_wall_in_triangles_bends_from_two_degrees_on(lift: float, count: int) -> None:
    points = [(0, 0, 0), (100, 0, 0), (100, lift, 60), (0, 0, 60)]
    facets = find_facets(make_solid(points, [(0, 1, 2), (0, 2, 3)]))
    assert len(facets.facets) == count
    assert facets.noise < 1e-9


def test_duplicate_faces_are_dropped() -> None:
    points, faces = box_of()
    extra = make_solid(points, [*faces, faces[2][2:] + faces[2][:2], faces[3][::-1]], face_ids=range(10, 18))
    facets = find_facets(extra)
    assert_sound(facets)
    assert [(f.code, f.severity, f.where.faces) for f in facets.findings] == [
        ("duplicate-face", Severity.NOTE, (16,)),
        ("duplicate-face", Severity.NOTE, (17,)),
    ]
    assert len(facets.facets) == 6


def test_faces_without_area_are_dropped() -> None:
    points, faces = box_of()
    flat = [(0, 4, 0, 4), (0, 1, 1)]
    facets = find_facets(make_solid(points, [*flat, *faces]))
    assert_sound(facets)
    assert [(f.code, f.severity, f.where.faces) for f in facets.findings] == [
        ("zero-area-face", Severity.NOTE, (0,)),
        ("zero-area-face", Severity.NOTE, (1,)),
    ]
    assert sorted(facet.faces for facet in facets.facets) == [(k,) for k in range(2, 8)]


def test_three_faces_on_an_edge_are_named_and_parted() -> None:
    points, faces = box_of()
    partition = [(0.0, 0.0, 50.0), (0.0, 40.0, 50.0)]
    # the mark there is not told a second time
    solid = make_solid(np.vstack([points, partition]), [*faces, (1, 3, 9, 8)], roles={(1, 3): Role.FLEX})
    facets = find_facets(solid)
    assert_sound(facets)
    finding = _only(facets)
    assert (finding.code, finding.severity) == ("open-or-crossing-solid", Severity.ERROR)
    assert [set(solid.edges[edge]) for edge in finding.where.edges] == [{1, 3}]
    assert finding.where.point == pytest.approx((0.0, 20.0, 30.0))
    line = points[[1, 3]].tolist()
    assert sum(edge.right is None and sorted(facets.ends(edge).tolist()) == line for edge in facets.edges) == 3


def test_a_crossing_of_two_objects_names_the_object() -> None:
    points, faces = box_of()
    fin = make_solid([(0, 0, 30), (0, 40, 30), (-20, 0, 60)], [(0, 1, 2)], source="fin")
    facets = find_facets(join_solids([make_solid(points, faces, source="store"), fin]))
    assert [finding.where.source for finding in facets.findings] == ["store"]


def test_a_twisted_band_has_no_sides() -> None:
    """A band of Moebius: no way of turning its faces makes them agree."""
    count = 9
    turn = 2 * np.pi * np.arange(count) / count
    middle = 50 * np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    reach = 10 * np.column_stack([np.cos(turn / 2) * np.cos(turn), np.cos(turn / 2) * np.sin(turn), np.sin(turn / 2)])
    points = np.vstack([middle - reach, middle + reach])
    faces = []
    for k in range(count):
        last = k == count - 1
        low, high = k, k + count
        next_low, next_high = (count, 0) if last else (k + 1, k + 1 + count)
        faces += [(low, next_low, next_high), (low, next_high, high)]
    facets = find_facets(make_solid(points, faces))
    assert_sound(facets)
    assert ("open-or-crossing-solid", Severity.ERROR) in [(f.code, f.severity) for f in facets.findings]


@pytest.mark.parametrize(("reverse", "odd"), [((1,), (1,)), ((0,), (0,)), ((0, 2), (1,))])
def test_an_open_screen_needs_normals_that_agree(reverse: tuple[int, ...], odd: tuple[int, ...]) -> None:
    """Three faces in a row, two of them upright: neither closed, nor a ring of walls, nor a roof."""
    points = [(0, 0, 0), (0, 0, 50), (60, 0, 0), (60, 0, 50), (60, 60, 0), (60, 60, 50), (0, 80, 0), (0, 80, 50)]
    faces = [(0, 2, 3, 1), (2, 4, 5, 3), (4, 6, 7, 5)]
    assert find_facets(make_solid(points, faces)).findings == ()
    mixed = [face[::-1] if k in reverse else face for k, face in enumerate(faces)]
    facets = find_facets(make_solid(points, mixed))
    assert_sound(facets)
    finding = _only(facets)
    assert (finding.code, finding.severity) == ("unclear-board-side", Severity.ERROR)
    assert finding.where.faces == odd
    # the other faces had it right
    wanted = 1 if len(reverse) == 1 else -1
    assert facets.facets[0].frame.n[1] == pytest.approx(-wanted)


def test_breaks_part_a_wall() -> None:
    facets = find_facets(break_in_the_middle())
    assert_sound(facets)
    assert facets.findings == ()
    assert len(facets.facets) == 5
    (line,) = (edge for edge in facets.edges if edge.role is Role.BREAK)
    assert {facets.facets[line.left].faces, facets.facets[line.right].faces} == {(0,), (1,)}
    assert line.angle == 0.0
    assert len(line.host_edges) == 2
    ends = facets.points[[line.start, line.end]]
    assert np.ptp(ends[:, 2]) == 70.0
    # an angle of exactly 0 is for breaks; all other lines between walls are corners
    assert all(edge.angle != 0.0 for edge in facets.edges if edge.right is not None and edge is not line)


def test_both_sides_of_a_crooked_break_have_the_same_corners() -> None:
    """Of two points equally far out one is enough; which one stays does not depend on the way along the line."""
    line = [(60 + swing, 0, 10 * k) for k, swing in enumerate((0, 6e-4, 6e-4, 0))]
    points = [*line, (0, 0, 0), (0, 0, 30), (120, 0, 0), (120, 0, 30)]
    faces = [(4, *range(4), 5), (6, 7, *reversed(range(4)))]
    facets = find_facets(make_solid(points, faces, roles={(k, k + 1): Role.BREAK for k in range(3)}))
    assert_sound(facets)
    assert len(facets.facets) == 2


def test_a_mark_on_one_of_two_welded_edges_counts() -> None:
    one = make_solid([(0, 0, 0), (50, 0, 0), (50, 0, 40), (0, 0, 40)], [(0, 1, 2, 3)], source="a")
    points = [(50, 0, 0), (50, 60, 0), (50, 60, 40), (50, 0, 40)]
    two = make_solid(points, [(0, 1, 2, 3)], roles={(0, 3): Role.FLEX}, source="b")
    facets = find_facets(join_solids([one, two]))
    (corner,) = (edge for edge in facets.edges if edge.right is not None)
    assert corner.role is Role.FLEX
    assert facets.sources[corner.source] == "b"


def test_a_break_at_a_corner_keeps_its_angle() -> None:
    walls = loop_of_walls(L_PLAN, roles={(0, 1): Role.BREAK})
    facets = find_facets(walls)
    (line,) = (edge for edge in facets.edges if edge.role is Role.BREAK)
    assert line.angle == pytest.approx(np.pi / 2)


def test_a_break_that_ends_in_the_wall() -> None:
    whole = break_in_the_middle()
    solid = make_solid(whole.points, whole.faces, roles={(3, 4): Role.BREAK})
    facets = find_facets(solid)
    assert_sound(facets)
    finding = _only(facets)
    assert (finding.code, finding.severity) == ("bad-break-line", Severity.ERROR)
    assert [set(solid.edges[edge]) for edge in finding.where.edges] == [{3, 4}]
    assert "40.0 mm" in finding.message
    assert len(facets.facets) == 4
    assert not any(edge.role is Role.BREAK for edge in facets.edges)
    assert area_of(facets, 0) == pytest.approx(120 * 70)


def test_a_bend_mark_in_the_flat_has_no_effect() -> None:
    whole = break_in_the_middle()
    facets = find_facets(make_solid(whole.points, whole.faces, roles={(2, 3): Role.FLEX, (3, 4): Role.FLEX}))
    assert_sound(facets)
    finding = _only(facets)
    assert (finding.code, finding.severity, len(finding.where.edges)) == ("mark-without-bend", Severity.NOTE, 2)
    assert len(facets.facets) == 4


def test_a_closure_mark_in_the_flat_parts_the_surface() -> None:
    whole = break_in_the_middle()
    plain = find_facets(make_solid(whole.points, whole.faces))
    facets = find_facets(make_solid(whole.points, whole.faces, roles={(2, 3): Role.CLOSURE, (3, 4): Role.CLOSURE}))
    assert_sound(facets)
    assert not facets.findings
    assert len(facets.facets) == len(plain.facets) + 1
    assert all(edge.angle == 0.0 for edge in facets.edges if edge.role is Role.CLOSURE)


def test_corners_stay_where_role_or_neighbour_changes() -> None:
    """The top of a wall meets one roof over half its length and another over the rest; part of it is flexed."""
    points = [(0, 0, 0), (120, 0, 0), (120, 0, 50), (80, 0, 50), (40, 0, 50), (20, 0, 50), (0, 0, 50)]
    points += [(0, 40, 80), (40, 40, 80), (120, 40, 60), (80, 40, 60), (20, 40, 80)]
    faces = [(0, 1, 2, 3, 4, 5, 6), (6, 5, 11, 7), (5, 4, 8, 11), (3, 2, 9, 10)]
    solid = make_solid(points, faces, roles={(5, 6): Role.FLEX})
    facets = find_facets(solid)
    assert_sound(facets)
    wall, left, right = (next(facet for facet in facets.facets if face in facet.faces) for face in (0, 1, 3))
    along_top = [
        edge
        for edge in (facets.edges[e] for e in wall.ring_edges[0])
        if {tuple(facets.points[p])[2] for p in (edge.start, edge.end)} == {50.0}
    ]
    assert [(edge.right, edge.role) for edge in along_top] == [
        (right.id, Role.PLAIN), (None, Role.PLAIN), (left.id, Role.PLAIN), (left.id, Role.FLEX)
    ]  # fmt: skip
    assert sorted(facets.corners(wall).tolist()) == sorted(list(map(float, point)) for point in points[:7])
    # the roof over the left part is one facet although the wall's edge changes its role
    assert left.faces == (1, 2)


@pytest.mark.parametrize(
    ("role", "told"),
    [
        (Role.FLEX, [("mark-without-bend", Severity.NOTE)]),
        (Role.BREAK, [("bad-break-line", Severity.ERROR)]),
        (Role.CLOSURE, []),
        (Role.PLAIN, []),
    ],
)
def test_a_mark_at_the_end_of_the_surface_is_told(role: Role, told: list[tuple[str, Severity]]) -> None:
    """The top edge of an open wall; a closure may lie there, since a roof of its own can rest on it."""
    facets = find_facets(loop_of_walls(L_PLAN, roles={(1, 3): role}))
    assert [(f.code, f.severity) for f in facets.findings] == told


def test_a_mark_on_an_edge_that_welding_takes_is_told() -> None:
    """Edge 4 runs over 5e-5 mm, less than one vertex is wide, and edge 5 lies on no face at all."""
    points = [(0, 0, 0), (100, 0, 0), (100, 0, 60), (0, 0, 60), (5e-5, 0, 60), (0, 80, 0)]
    edges = [(0, 1), (1, 2), (2, 4), (0, 3), (3, 4), (0, 5)]
    for role, code, severity in (
        (Role.BREAK, "bad-break-line", Severity.ERROR),
        (Role.FLEX, "mark-without-bend", Severity.NOTE),
    ):
        solid = make_solid(
            points, [(0, 1, 2, 4, 3)], edges=edges, edge_ids=range(6), roles={(3, 4): role, (0, 5): role}
        )
        found = find_facets(solid).findings
        assert [(f.code, f.severity, f.where.edges) for f in found] == [(code, severity, (4,)), (code, severity, (5,))]
        assert "0.00005 mm long" in found[0].message and "no face" in found[1].message
        assert "x 0.0, y 0.0, z 60.0 mm" in found[0].message
        assert found[1].where.point == pytest.approx((0, 40, 0))


def test_a_vanished_piece_of_a_break_line_that_goes_on_is_no_loss() -> None:
    """The lower half of the line has a second vertex 5e-5 mm above its lower end."""
    whole = break_in_the_middle()
    points = np.vstack([whole.points, whole.points[2] + [0.0, 0.0, 5e-5]])
    extra = len(points) - 1
    faces = []
    for face in whole.faces:
        pairs = list(zip(face, (*face[1:], face[0]), strict=True))
        faces.append(tuple(p for a, b in pairs for p in ((a, extra) if {a, b} == {2, 3} else (a,))))
    roles = {(2, extra): Role.BREAK, (3, extra): Role.BREAK, (3, 4): Role.BREAK}
    facets = find_facets(make_solid(points, faces, roles=roles))
    assert facets.findings == ()
    assert sum(edge.role is Role.BREAK for edge in facets.edges) == 1


@pytest.mark.parametrize(
    ("scale", "said"),
    [
        ((1, 1, 0), "4 of the 5 faces of solid have no area, since it measures 200 x 150 x 0 mm"),
        ((0, 1, 1), "3 of the 5 faces of solid have no area, since it measures 0 x 150 x 70 mm"),
        ((0, 0, 0), "No face of solid has an area, since it measures 0 x 0 x 0 mm"),
        ((1, 0, 0), "No face of solid has an area, since it measures 200 x 0 x 0 mm"),
    ],
)
def test_an_object_flattened_to_nothing_is_one_sentence(scale: tuple[int, int, int], said: str) -> None:
    room = loop_of_walls([(0, 0), (200, 0), (200, 150), (0, 150)], bottom=True)
    with pytest.raises(UnreadableError, match=f"^{said}; check its scale"):
        find_facets(make_solid(room.points * scale, room.faces, roles={(0, 1): Role.BREAK}))


def test_a_flattened_object_is_named_among_others() -> None:
    store, lean_to = loop_of_walls(L_PLAN), loop_of_walls([(300, 0), (400, 0), (400, 50), (300, 50)])
    flat = make_solid(lean_to.points * [1, 1, 0], lean_to.faces, source="lean-to")
    with pytest.raises(UnreadableError, match=r"^4 of the 4 faces of lean-to have no area, .* 100 x 50 x 0 mm"):
        find_facets(join_solids([store, flat]))


def test_a_needle_is_one_sentence() -> None:
    """100 mm by 3e-8 mm: 1.5e-6 mm^2 is an area, but its corners lie on one line."""
    points, faces = box_of()
    needle = [(300.0, 0.0, 0.0), (400.0, 0.0, 0.0), (350.0, 3e-8, 0.0)]
    with pytest.raises(
        UnreadableError, match=r"Face 6 of solid at x 350\.0, y 0\.0, z 0\.0 mm is 2e-08 mm wide.*merge"
    ):
        find_facets(make_solid(np.vstack([points, needle]), [*faces, (8, 9, 10)]))
    flat = np.vstack([points, [(300.0, 0.0, 0.0), (400.0, 0.0, 0.0), (350.0, 2e-14, 0.0)]])
    (finding,) = find_facets(make_solid(flat, [*faces, (8, 9, 10)])).findings
    assert (finding.code, finding.where.faces) == ("zero-area-face", (6,))


def test_two_faces_back_to_back_are_one_too_many() -> None:
    """On the same points, and on points of their own."""
    front = [(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 0.0, 60.0), (0.0, 0.0, 60.0)]
    for points, back in ((front, (3, 2, 1, 0)), (front * 2, (7, 6, 5, 4))):
        facets = find_facets(make_solid(points, [(0, 1, 2, 3), back]))
        assert [(note.code, note.where.faces) for note in facets.findings] == [("duplicate-face", (1,))]
        assert len(facets.facets) == 1


def test_a_single_face_is_a_model() -> None:
    facets = find_facets(make_solid([(0, 0, 0), (100, 0, 0), (100, 0, 60), (0, 0, 60)], [(0, 1, 2, 3)]))
    assert (facets.findings, len(facets.facets), len(facets.shells)) == ((), 1, 1)
