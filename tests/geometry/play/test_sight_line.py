"""Lines of sight against the slab method on boxes of trimesh, and against a wall whose hit is worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from stowfold.geometry.play.bodies import make_bodies
from stowfold.geometry.play.sight import draw_sight_line
from stowfold.geometry.play.table_top import Blocker, BlockerKind, Squares

TURN = 0.4
SQUARES = Squares(
    np.array([30.0, -20.0, 5.0]),
    np.array([np.cos(TURN), np.sin(TURN), 0.0]),
    np.array([-np.sin(TURN), np.cos(TURN), 0.0]),
    25.4,
    np.ones((6, 9), dtype=bool),
)


def box_blocker(name, box):
    faces = tuple((np.array(box.vertices[list(face)]),) for face in box.faces)
    return Blocker(name, BlockerKind.FURNITURE, faces, solid=True)


def test_a_wall_is_hit_where_the_line_crosses_its_plane():
    # eye 450 high, 600 before a wall 62 high; the aim 10 behind it on the floor: 450 * 10 / 610 above the floor
    wall = Blocker("Wall", BlockerKind.WALL, ((np.array([(0, 600, 0), (100, 600, 0), (100, 600, 62), (0, 600, 62)]),),))
    squares = Squares(np.zeros(3), np.eye(3)[0], np.eye(3)[1], 25.4, np.ones((2, 2), dtype=bool))
    bodies = make_bodies([wall], squares)
    line = draw_sight_line(np.array([50.0, 0.0, 450.0]), np.array([50.0, 610.0, 0.0]), bodies, squares)
    assert line.blocker == "Wall"
    assert line.hit == pytest.approx((50.0, 600.0, 450.0 * 10.0 / 610.0))
    # S1: the shadow of 62 at 600 ends 95.8763 behind it
    for behind, seen in ((95.8, False), (95.95, True)):
        line = draw_sight_line(np.array([50.0, 0.0, 450.0]), np.array([50.0, 600.0 + behind, 0.0]), bodies, squares)
        assert (line.hit is None) is seen


def test_no_line_slips_between_two_boards_of_a_wall():
    halves = [
        Blocker(name, BlockerKind.WALL, ((np.array([(a, 600, 0), (b, 600, 0), (b, 600, 62), (a, 600, 62)]),),))
        for name, a, b in (("Left", 0, 50), ("Right", 50, 100))
    ]
    squares = Squares(np.zeros(3), np.eye(3)[0], np.eye(3)[1], 25.4, np.ones((2, 2), dtype=bool))
    aim = np.array([50.0, 610.0, 0.0])
    line = draw_sight_line(np.array([50.0, 0.0, 450.0]), aim, make_bodies(halves, squares), squares)
    assert line.blocker in ("Left", "Right")


def test_an_opening_lets_the_line_through_and_the_figure_itself_does_not_count():
    window = np.array([(40, 600, 10), (40, 600, 40), (60, 600, 40), (60, 600, 10)])
    outline = np.array([(0, 600, 0), (100, 600, 0), (100, 600, 62), (0, 600, 62)])
    squares = Squares(np.zeros(3), np.eye(3)[0], np.eye(3)[1], 25.4, np.ones((2, 2), dtype=bool))
    bodies = make_bodies([Blocker("Wall", BlockerKind.WALL, ((outline, window),))], squares)
    eye = np.array([50.0, 0.0, 25.0])
    assert draw_sight_line(eye, np.array([50.0, 700.0, 25.0]), bodies, squares).hit is None
    beside = np.array([80.0, 700.0, 25.0])
    assert draw_sight_line(eye, beside, bodies, squares).hit is not None
    assert draw_sight_line(eye, beside, bodies, squares, through="Wall").hit is None


def test_the_seam_of_two_faces_lets_no_line_through():
    """A wall parted at a break is two faces side by side; a seat in the middle looks exactly at the seam."""
    seam = 0.1 + 0.2
    halves = [np.array([(a, 600, 0), (b, 600, 0), (b, 600, 62), (a, 600, 62)]) for a, b in ((-70, seam), (seam, 90))]
    squares = Squares(np.zeros(3), np.eye(3)[0], np.eye(3)[1], 25.4, np.ones((2, 2), dtype=bool))
    bodies = make_bodies([Blocker("Wall", BlockerKind.WALL, tuple((half,) for half in halves))], squares)
    line = draw_sight_line(np.array([seam, 0.0, 25.0]), np.array([seam, 700.0, 25.0]), bodies, squares)
    assert line.blocker == "Wall"
    assert line.hit == pytest.approx((seam, 600.0, 25.0))


def enters(eye, way, size, place):
    """Where a line enters a box, as a share of ``way``, or None: the slab method of Kay and Kajiya (1986)."""
    inverse = np.linalg.inv(place)
    start, step = inverse[:3, :3] @ eye + inverse[:3, 3], inverse[:3, :3] @ way
    ends = np.sort(np.array([(-size / 2 - start) / step, (size / 2 - start) / step]), axis=0)
    first, last = ends[0].max(), ends[1].min()
    return first if first < last and 0.0 < first < 1.0 else None


def test_first_hits_on_turned_boxes_are_those_of_the_slab_method():
    rng = np.random.default_rng(7)
    boxes = []
    for _ in range(6):
        place = trimesh.transformations.rotation_matrix(rng.uniform(0, 3), [0, 0, 1])
        place[:3, 3] = rng.uniform((0, 0, 5), (220, 150, 20))
        boxes.append((rng.uniform(10, 60, 3), place))
    blockers = [box_blocker(f"Box {k}", trimesh.creation.box(*sizes)) for k, sizes in enumerate(boxes)]
    bodies = make_bodies(blockers, SQUARES)
    hits = 0
    for _ in range(400):
        eye, target = rng.uniform((-400, -500, 250), (600, 600, 400)), rng.uniform((0, 0, -40), (220, 150, 60))
        line = draw_sight_line(eye, target, bodies, SQUARES)
        way = target - eye
        shares = {f"Box {k}": enters(eye, way, *sizes) for k, sizes in enumerate(boxes)}
        met = {name: share for name, share in shares.items() if share is not None}
        assert (line.hit is None) == (not met)
        if met:
            hits += 1
            np.testing.assert_allclose(line.hit, eye + min(met.values()) * way, atol=1e-9)
            assert line.blocker == min(met, key=met.get)
    assert 60 < hits < 380
