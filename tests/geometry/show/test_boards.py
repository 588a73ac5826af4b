"""Boards as bodies: closed, as heavy as their outlines say, and standing where the proof says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from filmed import FILMED, filmed
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.fold.fold import bend_pose
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.opening import DEFAULT_SIZES, OpeningKind, stand_in_wall
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.pose import Pose
from stowfold.geometry.show.bending import bend_points, lattice_angles, panel_poses
from stowfold.geometry.show.boards import boards_of
from stowfold.geometry.show.mesh import FaceKind
from stowfold.geometry.show.plates import plates_of
from stowfold.geometry.show.strips import strip_of, strip_piece
from stowfold.geometry.solid.opening import Leaf
from stowfold.geometry.solid.solid import make_solid

#: What sums of products in double precision leave at this size, mm.
ROUNDING = 1e-9


def house_with_a_leaf() -> Outcome:
    birch = find_stock("birch-plywood-3", read_stocks())
    block = block_out([(0, 0), (228.6, 0), (228.6, 152.4), (0, 152.4)], breaks=((110.0, 0.0), (110.0, 152.4)))
    along = np.array([1.0, 0.0, 0.0])
    size = DEFAULT_SIZES[OpeningKind.DOOR]
    door = stand_in_wall("Door", OpeningKind.DOOR, size, foot=np.array([60.0, 0.0, 0.0]), along=along)
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    return run(replace(solid, openings=(replace(door, leaf=Leaf()),)), Settings(birch, birch, birch, birch), title="x")


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_bodies_are_closed_and_as_heavy_as_the_board_that_is_left(name: str) -> None:
    # trimesh tells whether a surface is closed and how much it holds; shapely what the laser leaves
    for part in filmed(name)[0].parts:
        boards = boards_of(part)
        marks = np.repeat(boards.piece.kinds == FaceKind.MARK, boards.piece.sizes)
        body = replace_faces(boards, ~marks)
        assert body.is_watertight and body.is_winding_consistent, part.id
        slits = [shapely.box(-1, -1, -1, -1)]
        for placed in part.lattices:
            made, cut = placed.lattice, placed.slits
            for x, start, end in zip(cut.across, cut.start, cut.end, strict=True):
                corners = [(x + s * made.opening / 2, y) for s, y in ((-1, start), (1, start), (1, end), (-1, end))]
                slits.append(shapely.Polygon(placed.place(corners)))
        left = part.outline.difference(shapely.union_all(slits)).area
        # remainders of a fifth of a square millimetre between the lattices of a hip belong to no body
        assert body.volume == pytest.approx(left * part.thickness, rel=1e-5), part.id


def replace_faces(boards, keep: np.ndarray) -> trimesh.Trimesh:
    piece = boards.piece
    sizes = piece.sizes[piece.kinds != FaceKind.MARK]
    body = replace(piece, corners=piece.corners[keep], sizes=sizes, kinds=piece.kinds[piece.kinds != FaceKind.MARK])
    return trimesh.Trimesh(body.points, body.triangles, process=False)


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_every_plate_stands_where_its_facet_is(name: str) -> None:
    for part in filmed(name)[0].parts:
        boards = boards_of(part)
        found = boards.stands.apply(boards.points(1.0))
        for panel, start, end in boards.plates:
            wanted = part.panels[panel].stands.apply(boards.piece.points[start:end])
            assert np.abs(found[start:end] - wanted).max() < 1e-6, part.id


@pytest.mark.parametrize("share", [0.0, 1e-9, 0.3, 1.0])
def test_strips_meet_both_their_plates(share: float) -> None:
    part = next(part for part in filmed("lock_keepers_house")[0].parts if part.lattices)
    angles = lattice_angles(part, share)
    poses = panel_poses(part, angles)
    for placed, angle in zip(part.lattices, angles, strict=True):
        high = part.board_side * part.thickness
        ends = np.array([[*spot, z] for z in (0.0, high) for spot in placed.zone])
        bent = bend_points(placed, part.board_side, angle, ends)
        flat = np.concatenate([poses[placed.parent].apply(ends[:2]), poses[placed.child].apply(ends[2:4])])
        assert np.abs(poses[placed.parent].apply(bent[:4]) - flat).max() < 1e-6


def test_points_of_a_strip_go_where_the_proof_bends_them() -> None:
    part = next(part for part in filmed("lock_keepers_house")[0].parts if part.lattices)
    placed = part.lattices[0]
    for at in np.linspace(0.1, placed.lattice.flat_width, 5):
        spot = np.append(placed.place((at, 3.0)), 0.7)
        bent = bend_points(placed, part.board_side, placed.angle, spot[None])[0]
        assert np.abs(bent - bend_pose(placed, part.board_side, at=float(at)).apply(spot)).max() < ROUNDING


def test_a_leaf_opens_and_nothing_else_moves() -> None:
    part = next(part for part in house_with_a_leaf().parts for placed in part.lattices if placed.swing)
    index = next(k for k, placed in enumerate(part.lattices) if placed.swing)
    shut = panel_poses(part, lattice_angles(part, 1.0))
    ajar = panel_poses(part, lattice_angles(part, 1.0, opened=0.5))
    moved = [k for k, (one, two) in enumerate(zip(shut, ajar, strict=True)) if not np.allclose(one.matrix, two.matrix)]
    assert moved == [part.lattices[index].child]
    turn = shut[moved[0]].turn.T @ ajar[moved[0]].turn
    assert np.arccos((np.trace(turn) - 1) / 2) == pytest.approx(abs(part.lattices[index].swing) / 2)


def test_slits_are_gaps_of_their_true_size() -> None:
    part = next(part for part in filmed("lock_keepers_house")[0].parts if part.lattices)
    placed = part.lattices[0]
    strip = strip_of(placed)
    widths = np.diff(strip.across)
    made, cut = placed.lattice, placed.slits
    assert widths[2:-1:2] == pytest.approx(made.opening) and widths[[0, -1]] == pytest.approx(made.opening / 2)
    assert widths[1::2] == pytest.approx(made.link_width)
    piece = strip_piece(strip, 0.0, part.thickness)
    gap = widths[:, None] * np.diff(strip.along)[None] * ~strip.board
    inner = np.where((cut.across < made.pitch / 2) | (cut.across > made.flat_width - made.pitch / 2), 0.5, 1.0)
    assert gap.sum() == pytest.approx(float(((cut.end - cut.start) * made.opening * inner).sum()))
    assert (piece.kinds == FaceKind.SLIT).any()


def test_a_remainder_that_belongs_to_no_panel_is_left_out() -> None:
    # where several lattices end beside one another, a fifth of a square millimetre can lie between them
    part = next(part for part in filmed("lock_keepers_house")[0].parts if len(part.panels) > 2)
    x0, y0, _, _ = part.outline.bounds
    crumb = shapely.box(x0 - 2.0, y0 - 2.0, x0 - 1.5, y0 - 1.5)
    assert len(plates_of(replace(part, outline=part.outline.union(crumb)))) == len(plates_of(part)) == len(part.panels)


def test_engraved_squares_lie_on_the_floor() -> None:
    floor = next(part for part in filmed("lock_keepers_house")[0].parts if part.kind is PartKind.FLOOR)
    piece = boards_of(floor).piece
    marks = np.repeat(piece.kinds, piece.sizes) == FaceKind.MARK
    heights = piece.points[piece.corners[marks], 2]
    assert marks.any() and heights.min() > max(0.0, floor.board_side * floor.thickness)


def test_a_panel_apart_stays_beside_its_root_as_it_stands() -> None:
    part = next(part for part in filmed("lock_keepers_house")[0].parts if len(part.panels) > 1 and part.lattices)
    loose = replace(part, lattices=())
    poses = panel_poses(loose, ())
    assert np.allclose((part.panels[0].stands @ poses[1]).matrix, part.panels[1].stands.matrix)
    assert poses[0] == Pose.identity()
