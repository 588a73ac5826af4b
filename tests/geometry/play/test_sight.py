"""Sight against closed forms of a shadow on a level plane: an eye 450 mm up at the origin (similar triangles)."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.play.bodies import make_bodies
from stowfold.geometry.play.shadows import cast_shadows
from stowfold.geometry.play.sight import Eye, check_eyes, check_squares_seen, find_occlusion, see
from stowfold.geometry.play.table_top import Blocker, BlockerKind, Squares

UP = 450.0
EYE = np.array([[0.0, 0.0, UP]])


def field(low, size, side=10.0):
    columns, rows = (round(extent / side) for extent in size)
    return Squares(
        np.array([*low, 0.0]), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), side, np.ones((rows, columns), bool)
    )


def sheet(*rings, name="sheet"):
    return Blocker(name, BlockerKind.WALL, (tuple(np.array(ring, dtype=float) for ring in rings),))


def wall(at, half, top, *holes):
    """A wall across x at ``at``, with holes (y0, y1, z0, z1)."""
    rings = [[(at, -half, 0), (at, half, 0), (at, half, top), (at, -half, top)]]
    rings += [[(at, a, c), (at, a, d), (at, b, d), (at, b, c)] for a, b, c, d in holes]
    return sheet(*rings)


def block(low, high, name="block"):
    (a, b, c), (d, e, f) = low, high
    p = [(x, y, z) for z in (c, f) for x, y in ((a, b), (d, b), (d, e), (a, e))]
    faces = [(3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]
    rings = tuple((np.array([p[k] for k in face], dtype=float),) for face in faces)
    return Blocker(name, BlockerKind.FURNITURE, rings, solid=True)


def shadow(blocker, height=0.0):
    """The whole shadow, on squares that reach far enough, set back to the model."""
    squares = field((-2000.0, -2000.0), (6000.0, 4000.0), 1000.0)
    bodies = make_bodies([blocker], squares)
    hidden = cast_shadows(bodies, EYE - squares.origin, [height], (6000.0, 4000.0)).union()[0, 0]
    return shapely.transform(hidden, lambda p: p - 2000.0)


@pytest.mark.parametrize(
    ("top", "at", "height", "length"),
    [
        (62.0, 600.0, 0.0, 95.8763),
        (62.0, 600.0, 20.0, 64.9485),
        (62.0, 700.0, 35.0, 48.7113),
        (125.0, 600.0, 0.0, 230.7692),
        (62.0, 300.0, 0.0, 47.9381),
    ],
)
def test_shadow_of_a_long_wall_is_as_long_as_similar_triangles_say(top, at, height, length):
    hidden = shadow(wall(at, 300.0, top), height)
    assert hidden.bounds[2] - at == pytest.approx(length, abs=1e-4)
    assert hidden.bounds[2] - at == pytest.approx((top - height) * at / (UP - top), rel=1e-12)


def test_shadow_area_of_a_short_wall():
    assert shadow(wall(600.0, 100.0, 62.0)).area == pytest.approx(20707.3015, rel=1e-8)


def test_light_through_a_window_falls_where_it_should():
    whole, pierced = shadow(wall(600.0, 100.0, 62.0)), shadow(wall(600.0, 100.0, 62.0, (-10.0, 10.0, 20.0, 45.0)))
    lit = whole.difference(pierced)
    assert lit.bounds[::2] == pytest.approx((627.9070, 666.6667), abs=1e-4)
    assert lit.area == pytest.approx(836.2879, rel=1e-7)


def test_a_level_top_hides_its_enlarged_image():
    hidden = shadow(sheet([(300, -10, 25), (320, -10, 25), (320, 10, 25), (300, 10, 25)]))
    assert hidden.area == pytest.approx(448.4429, rel=1e-7)
    assert hidden.bounds[::2] == pytest.approx((317.6471, 338.8235), abs=1e-4)


def test_a_gable_hides_a_triangle_beyond_the_shadow_of_the_eaves():
    hidden = shadow(sheet([(700, -127, 62), (700, 127, 62), (700, 0, 125)]))
    assert hidden.area == pytest.approx(23180.3786, rel=1e-8)
    assert hidden.bounds[2] == pytest.approx(969.2308, abs=1e-4)


def test_a_wall_seen_edge_on_hides_nothing():
    assert shadow(sheet([(300, 0, 0), (500, 0, 0), (500, 0, 62), (300, 0, 62)])).area == 0.0


def test_a_wall_above_the_eye_hides_all_behind_it_and_nothing_before_it():
    squares = field((400.0, -50.0), (400.0, 100.0))
    share = see([wall(600.0, 5000.0, 500.0)], squares, [Eye("front", EYE[0])], [0.0]).share[0, 0]
    assert share[:, :20] == pytest.approx(1.0, abs=1e-12)
    assert share[:, 20:] == pytest.approx(0.0, abs=1e-9)


def test_what_lies_wholly_above_the_eye_hides_nothing():
    squares = field((400.0, -50.0), (400.0, 100.0))
    lid = sheet([(0, -99, 460), (700, -99, 460), (700, 99, 500), (0, 99, 500)])
    assert (see([lid], squares, [Eye("front", EYE[0])], [0.0]).share == 1.0).all()


def test_shares_and_hidden_area_make_up_the_floor():
    squares = field((560.0, -130.0), (250.0, 260.0), 10.0)
    walls = [wall(600.0, 100.0, 62.0, (-10.0, 10.0, 20.0, 45.0)), block((640, 20, 0), (661, 47, 22))]
    shadows = find_occlusion(walls, squares, [Eye("front", EYE[0])], [0.0, 20.0])
    floor = shapely.box(0, 0, 250, 260)
    for k in range(2):
        seen = float(shadows.sight.share[0, k].sum()) * 100.0
        assert seen + shadows.hidden[0, k].intersection(floor).area == pytest.approx(floor.area, rel=1e-12)


def test_a_solid_hides_what_its_faces_hide_as_sheets():
    squares = field((0.0, 0.0), (200.0, 150.0), 12.5)
    solid = [block((40, 30, 0), (70, 60, 25)), block((110, 20, 5), (120, 130, 60))]
    sheets = [Blocker(blocker.name, blocker.kind, blocker.faces) for blocker in solid]
    eyes = [Eye("a", np.array([-300.0, 75.0, 450.0])), Eye("b", np.array([75.0, 90.0, 300.0]))]
    one, two = (see(room, squares, eyes, (0.0, 15.0)).share for room in (solid, sheets))
    assert one == pytest.approx(two, abs=1e-12)


def test_a_turned_room_gives_the_same_shares():
    turn, shift = 0.7, np.array([300.0, -120.0, 15.0])
    matrix = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1.0]])
    squares = field((560.0, -130.0), (250.0, 260.0), 10.0)
    there = Squares(matrix @ squares.origin + shift, matrix @ squares.u, matrix @ squares.v, 10.0, squares.inside)
    walls = [wall(600.0, 100.0, 62.0, (-10.0, 10.0, 20.0, 45.0)), block((640, 20, 0), (661, 47, 22))]
    moved = [
        Blocker(b.name, b.kind, tuple(tuple(r @ matrix.T + shift for r in face) for face in b.faces), b.solid)
        for b in walls
    ]
    one = see(walls, squares, [Eye("front", EYE[0])], [0.0, 20.0]).share
    two = see(moved, there, [Eye("front", matrix @ EYE[0] + shift)], [0.0, 20.0]).share
    assert one == pytest.approx(two, abs=1e-10)


def test_a_moved_piece_costs_its_own_shadow_and_gives_the_same_map():
    squares = field((560.0, -130.0), (250.0, 260.0), 10.0)
    eyes = [Eye("front", EYE[0]), Eye("side", np.array([700.0, 600.0, 500.0]))]
    still, piece = [wall(600.0, 100.0, 62.0)], block((640, 20, 0), (661, 47, 35), "piece")
    moved = find_occlusion(still, squares, eyes, (0.0, 20.0)).with_moved([piece])
    assert moved.share == pytest.approx(see([*still, piece], squares, eyes, (0.0, 20.0)).share, abs=1e-12)


@pytest.mark.parametrize(
    ("point", "how"), [((650.0, 30.0, 10.0), "lies inside crate"), ((640.0, 30.0, 10.0), "touches crate")]
)
def test_an_eye_in_or_on_a_blocker_is_refused_by_name(point, how):
    squares, crate = field((560.0, -130.0), (250.0, 260.0), 10.0), block((640, 20, 0), (661, 47, 35), "crate")
    eye = Eye("front", np.array(point))
    with pytest.raises(GeometryError, match=f"eye at front {how}"):
        see([crate], squares, [eye], [0.0])
    assert [finding.code for finding in check_eyes([crate], squares, [eye])] == ["eye-in-blocker"]
    assert not check_eyes([crate], squares, [Eye("front", np.array([650.0, 30.0, 36.0]))])


def test_an_eye_not_above_the_height_is_refused():
    with pytest.raises(GeometryError, match="cannot look down on 35 mm"):
        see([], field((0, 0), (50, 50)), [Eye("child", np.array([-50.0, 0.0, 35.0]))], [35.0])


def test_squares_that_nobody_sees_are_counted():
    squares = field((605.0, -20.0), (40.0, 40.0))
    sight = see([wall(600.0, 300.0, 62.0)], squares, [Eye("front", EYE[0])], [0.0])
    (finding,) = check_squares_seen(sight)
    assert finding.code == "square-never-seen"
    assert finding.message.startswith("16 squares are hardly seen at 0 mm above the floor, under 5% from every seat")
    # other heights have the same title, and the squares no name
    assert finding.where.words == "0 mm above the floor"
    assert not check_squares_seen(see([wall(600.0, 300.0, 5.0)], squares, [Eye("front", EYE[0])], [0.0]))
