"""Rooms: boards as closed bodies (volume by the divergence theorem), squares on the plan, pieces, figures."""

from __future__ import annotations

import math

import numpy as np
import pytest
from marked_roofs import marked_block_out
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.plan.walls import PlanKind, Roof, RoofKind, outline_of
from stowfold.geometry.play.pieces import blocker_of_leaf, blocker_of_mesh, blocker_of_miniature
from stowfold.geometry.play.room import room_blockers, room_squares
from stowfold.geometry.play.sight import Eye, see
from stowfold.geometry.play.table_top import BlockerKind, Miniature, Squares
from stowfold.geometry.settings import BoardFace, BuildSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.unfold.section import unfold

SQUARE = 25.4
BIRCH = find_stock("birch-plywood-3", read_stocks())


def read(plan, face=BoardFace.INSIDE, roof=RoofKind.NONE, turn=0.0, breaks=()):
    shape = marked_block_out(plan, roof=Roof(roof), breaks=breaks)
    matrix = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1.0]])
    solid = make_solid(shape.points @ matrix.T, shape.faces, roles=dict(shape.roles))
    return find_facets(solid, wall_face=face.value), BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH, face=face)


def volume(blocker):
    fans = ((ring[0], ring[k], ring[k + 1]) for face in blocker.faces for ring in face for k in range(1, len(ring) - 1))
    return sum(float(np.linalg.det(fan)) for fan in fans) / 6.0


@pytest.mark.parametrize("face", list(BoardFace))
def test_walls_stand_as_boards_mitred_at_the_corners(face):
    plan = outline_of(PlanKind.RECTANGLE, length=9, width=6, square=SQUARE)
    walls = room_blockers(*read(plan, face))
    t, a, b = 3.0, 9 * SQUARE, 6 * SQUARE
    ring = (a + 2 * t) * (b + 2 * t) - a * b if face is BoardFace.INSIDE else a * b - (a - 2 * t) * (b - 2 * t)
    assert sum(map(volume, walls)) == pytest.approx(ring * 62.0, rel=1e-9)
    assert [wall.kind for wall in walls] == [BlockerKind.WALL] * 4
    assert [wall.name for wall in walls] == [f"the {side} wall" for side in ("front", "right", "back", "left")]


def test_gables_are_accounted_for_apart_and_roofs_lifted_off():
    plan = outline_of(PlanKind.RECTANGLE, length=9, width=6, square=SQUARE)
    facets, settings = read(plan, roof=RoofKind.GABLE, breaks=[(9 * SQUARE, 3 * SQUARE)])
    lifted = room_blockers(facets, settings)
    gables = [blocker for blocker in lifted if blocker.kind is BlockerKind.GABLE]
    rise = 3 * SQUARE * 8 / 12
    assert [gable.name for gable in gables] == ["the gable of the right wall", "the gable of the left wall"]
    assert [volume(gable) for gable in gables] == pytest.approx([3 * SQUARE * rise * 3.0] * 2, rel=1e-9)
    assert max(ring[:, 2].max() for blocker in lifted[:4] for face in blocker.faces for ring in face) == pytest.approx(
        62.0
    )
    covered = room_blockers(facets, settings, roof=True)
    assert [blocker.kind for blocker in covered if blocker not in lifted].count(BlockerKind.ROOF) == 2
    squares = room_squares(facets, settings)
    eye = Eye("front", np.array([114.0, -600.0, 450.0]))
    assert see(covered, squares, [eye], [0.0]).share.max() < 0.2 < see(lifted, squares, [eye], [0.0]).share.max()


def test_cheeks_of_joiners_stand_into_the_room():
    plan = outline_of(PlanKind.RECTANGLE, length=9, width=6, square=SQUARE)
    facets, settings = read(plan, breaks=[(4 * SQUARE, 0.0)])
    cheeks = make_joiners(facets, unfold(facets, settings), settings).parts
    joiners = [
        blocker for blocker in room_blockers(facets, settings, cheeks=cheeks) if blocker.kind is BlockerKind.JOINER
    ]
    assert len(joiners) == 2
    depths = sorted(tuple(np.concatenate([f[0] for f in joiner.faces])[:, 1].round(6)) for joiner in joiners)
    assert (min(depths[0]), max(depths[0]), min(depths[1]), max(depths[1])) == pytest.approx((-6.0, -3.0, 0.0, 3.0))
    assert all(volume(joiner) > 0.0 for joiner in joiners)


@pytest.mark.parametrize("turn", [0.0, 0.4])
def test_squares_lie_on_the_plan_however_it_is_turned(turn):
    plan = outline_of(PlanKind.L, length=9, width=7, bar=3, wing=2, square=SQUARE)
    squares = room_squares(*read(plan, turn=turn))
    assert (squares.columns, squares.rows, int(squares.inside.sum())) == (9, 7, 9 * 3 + 2 * 4)
    assert squares.inside[:3].all()
    assert squares.inside[3:, :2].all()
    assert squares.origin == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    assert squares.u == pytest.approx([math.cos(turn), math.sin(turn), 0.0])


def test_walls_round_a_room_hide_no_more_than_planar_ones_of_their_height_and_thickness_ask():
    plan = outline_of(PlanKind.RECTANGLE, length=9, width=6, square=SQUARE)
    facets, settings = read(plan)
    squares = room_squares(facets, settings)
    eye = Eye("front", np.array([100.0, -600.0, 450.0]))
    share = see(room_blockers(facets, settings), squares, [eye], [0.0]).share[0, 0]
    # the inner face hides what lies within 62 d / (450 - 62) behind it, its distance d being 600
    length = 62.0 * 600.0 / (450.0 - 62.0)
    rows = math.floor(length / SQUARE)
    assert share[:rows] == pytest.approx(0.0, abs=1e-9)
    assert share[rows, 4] == pytest.approx(rows + 1 - length / SQUARE, abs=1e-9)


def box_mesh(low, high):
    corners = np.array([[x, y, z] for z in (low[2], high[2]) for x in (low[0], high[0]) for y in (low[1], high[1])])
    return corners, [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]


def test_furniture_is_merged_and_turned_outward():
    points, faces = box_mesh((0, 0, 0), (20, 30, 15))
    triangles = [(face[0], face[k], face[k + 1])[:: 1 if j % 2 else -1] for j, face in enumerate(faces) for k in (1, 2)]
    crate, findings = blocker_of_mesh("crate", points, triangles)
    assert (len(crate.faces), crate.solid, findings) == (6, True, ())
    assert volume(crate) == pytest.approx(9000.0)


def test_an_open_crate_is_taken_face_by_face_and_noted():
    points, faces = box_mesh((0, 0, 0), (20, 30, 15))
    crate, (finding,) = blocker_of_mesh("crate", points, faces[:5])
    assert not crate.solid
    assert finding.code == "furniture-not-closed"
    assert finding.message.startswith("crate is not closed")


def test_a_mesh_of_too_many_faces_is_refused_in_one_sentence():
    with pytest.raises(GeometryError, match="statue has 20001 faces and sight deals with 20000 at most"):
        blocker_of_mesh("statue", np.zeros((3, 3)), [(0, 1, 2)] * 20001)
    with pytest.raises(GeometryError, match="statue has 100001 faces and sight deals with 100000 at most"):
        blocker_of_mesh("statue", np.zeros((3, 3)), [(0, 1, 2)] * 100001, patient=True)


def test_a_mesh_of_many_faces_is_taken_where_the_maker_waits_anyway():
    # a sheet of 101 x 100 x 2 triangles in one plane
    along, across = 101, 100
    x, y = np.meshgrid(np.arange(along + 1.0), np.arange(across + 1.0), indexing="ij")
    points = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, 5.0)])
    corner = [(i * (across + 1) + j) for i in range(along) for j in range(across)]
    faces = [triangle for k in corner for triangle in ((k, k + across + 1, k + across + 2), (k, k + across + 2, k + 1))]
    with pytest.raises(GeometryError, match="20200 faces"):
        blocker_of_mesh("slab", points, faces)
    slab, _ = blocker_of_mesh("slab", points, faces, patient=True)
    assert len(slab.faces) == 1
    ring = slab.faces[0][0]
    assert np.ptp(ring, axis=0).tolist() == [101.0, 100.0, 0.0]


def test_two_boxes_in_one_mesh_are_no_single_body():
    one, two = box_mesh((0, 0, 0), (20, 30, 15)), box_mesh((50, 0, 0), (60, 30, 15))
    both, findings = blocker_of_mesh(
        "pair", np.vstack([one[0], two[0]]), [*one[1], *(tuple(i + 8 for i in face) for face in two[1])]
    )
    assert not both.solid
    assert not findings


def field(low, columns, rows, side):
    inside = np.ones((rows, columns), dtype=bool)
    return Squares(np.array([*low, 0.0]), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), side, inside)


def test_the_shadow_of_a_miniature_is_the_hull_of_two_circles():
    figure = Miniature("guard", np.array([600.0, 0.0, 0.0]))
    squares = field((500.0, -200.0), 4, 4, 100.0)
    share = see([blocker_of_miniature(figure)], squares, [Eye("front", np.array([0.0, 0.0, 450.0]))], [0.0]).share
    # two circles of radii r < R whose middles are a apart (plane geometry: two sectors and two trapezia)
    stretch = 450.0 / 415.0
    r, big, a = 12.5, 12.5 * stretch, 600.0 * (stretch - 1.0)
    tilt = math.asin((big - r) / a)
    hull = big**2 * (math.pi / 2 + tilt) + r**2 * (math.pi / 2 - tilt) + (big + r) * a * math.cos(tilt)
    assert (1.0 - share).sum() * 1e4 == pytest.approx(hull, rel=4e-3)


def test_a_shut_door_hides_what_an_open_one_lets_through():
    squares = field((605.0, -50.0), 6, 10, 10.0)
    eye = Eye("front", np.array([0.0, 0.0, 450.0]))
    door = blocker_of_leaf("door", [[np.array([[600, -10, 0], [600, 10, 0], [600, 10, 45], [600, -10, 45]])]])
    assert door.kind is BlockerKind.LEAF
    assert see([door], squares, [eye], [0.0]).share.min() == pytest.approx(0.0, abs=1e-9)
