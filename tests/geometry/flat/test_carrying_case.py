"""The carrying case closes, holds what is stowed, and its fingers fit after the beam has passed."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.flat.carrying_case import CaseSettings, make_case
from stowfold.geometry.flat.collide import Board, find_crossings, prisms
from stowfold.geometry.flat.stow import Stow
from stowfold.geometry.sheet.kerf import draw_outline

STOCK = find_stock("birch-plywood-3", read_stocks())
STOW = Stow(40.0, (280.0, 150.0, 70.0), 0.1)


def solids(case):
    """Each board as a mesh of trimesh, extruded from its outline and stood up by its matrix."""
    meshes = []
    for part in case.parts:
        triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(part.outline))
        points = np.concatenate([np.asarray(each.exterior.coords)[:3] for each in triangles])
        mesh = trimesh.creation.extrude_triangulation(points, np.arange(len(points)).reshape(-1, 3), part.thickness)
        mesh.apply_transform(np.vstack([part.panels[0].stands, [0, 0, 0, 1]]))
        meshes.append(mesh)
    return meshes


def volume(case):
    return sum(abs(mesh.volume) for mesh in solids(case))


@settings(max_examples=15, deadline=None)
@given(st.floats(60, 500), st.floats(40, 300), st.floats(6, 120), st.sampled_from([2.0, 3.0, 6.0]))
def test_without_play_the_boards_fill_exactly_what_lies_between_outside_and_inside(length, width, height, thickness):
    stock = replace(STOCK, thickness=thickness)
    stow = Stow(height, (max(length, width), min(length, width), height), 0.1)
    case = make_case(stow, stock, CaseSettings(play=0.0, hole=(1e4, 25.0)))
    between = np.prod(case.outer) - np.prod(case.inner)
    assert volume(case) == pytest.approx(between, rel=1e-9)
    assert case.overlap < 1e-6  # and none of it twice, so the case is closed
    low, high = trimesh.util.concatenate(solids(case)).bounds
    np.testing.assert_allclose([*low, *high], [0, 0, 0, *case.outer], atol=1e-9)


def test_the_stack_fits_inside_and_touches_no_board():
    case = make_case(STOW, STOCK)
    assert all(inner > stowed for inner, stowed in zip(case.inner, STOW.box, strict=True))
    t = STOCK.thickness
    stand = np.column_stack([np.eye(3), [t + 2.0, t + 2.0, t]])
    stack = Board("stack", "stack", prisms(box(0, 0, *STOW.box[:2]), stand, 0.0, STOW.box[2]))
    boards = [
        Board(part.id, part.id, prisms(part.outline, part.panels[0].stands, 0.0, part.thickness)) for part in case.parts
    ]
    assert find_crossings([stack, *boards], deeper=1e-3) == (pytest.approx(0.0, abs=1e-9), ())
    taller = Board("stack", "stack", prisms(box(0, 0, *STOW.box[:2]), stand, 0.0, STOW.box[2] + 4.0))
    assert find_crossings([taller, *boards], deeper=1e-3)[1]  # the check can fail


@pytest.mark.parametrize("play", [0.0, 0.1, 0.2])
def test_after_the_cut_every_notch_is_wider_than_its_finger_by_the_play(play):
    case = make_case(STOW, STOCK, CaseSettings(play=play))
    kerf, t = STOCK.kerf, STOCK.thickness
    drawn = {part.id: draw_outline(part.outline, kerf)[0] for part in case.parts}
    # What stays: the drawn outline less half the kerf on its inner side.
    left = {name: shapely.Polygon(line.points).buffer(-kerf / 2, join_style="mitre") for name, line in drawn.items()}

    def fingers(part, level, upright=False):
        bounds = left[part].bounds
        cut = (level, bounds[1] - 1, level, bounds[3] + 1) if upright else (bounds[0] - 1, level, bounds[2] + 1, level)
        across = left[part].intersection(shapely.LineString([cut[:2], cut[2:]]))
        axis = 1 if upright else 0
        return [(each.bounds[axis], each.bounds[axis + 2]) for each in shapely.get_parts(across)]

    bottom = sorted(fingers("K1", t / 2))
    front = sorted(fingers("K2", t / 2))
    notches = [(a[1], b[0]) for a, b in pairwise(bottom)]
    assert len(front) == len(notches) > 2
    for (low, high), (begin, end) in zip(front, notches, strict=True):
        assert (end - begin) - (high - low) == pytest.approx(play, abs=1e-6)
        assert low - begin == pytest.approx(play / 2, abs=1e-6)
    long, short = sorted(fingers("K2", t / 2, upright=True)), sorted(fingers("K4", t / 2, upright=True))
    notches = [(a[1], b[0]) for a, b in pairwise(long)]
    assert len(short) == len(notches) > 0
    for (low, high), (begin, end) in zip(short, notches, strict=True):
        assert (end - begin) - (high - low) == pytest.approx(play, abs=1e-6)


def test_a_case_drawn_without_kerf_would_not_hold():
    """The same notch cut along the nominal line is a kerf too wide at each finger: the check above can fail."""
    case = make_case(STOW, STOCK, CaseSettings(play=0.0))
    front = case.parts[1].outline
    thinner = front.buffer(-STOCK.kerf / 2, join_style="mitre")
    assert front.area - thinner.area == pytest.approx(front.length * STOCK.kerf / 2, rel=0.02)


def test_no_boards_cross_and_all_outlines_are_whole():
    case = make_case(STOW, STOCK)
    assert case.overlap < 1e-6 and case.findings == ()
    for part in case.parts:
        assert part.outline.is_valid and part.outline.geom_type == "Polygon"
        assert len(part.outline.interiors) == (1 if part.id in ("K4", "K5") else 0)
    assert len({part.id for part in case.parts}) == len(case.parts) == 7


def test_a_low_case_has_no_hand_holes_and_says_so():
    case = make_case(Stow(12.0, (280.0, 150.0, 12.0), 0.1), STOCK)
    assert [each.code for each in case.findings] == ["case-without-hand-holes"]
    assert all(not part.outline.interiors for part in case.parts)


def test_nothing_to_stow_and_negative_room_are_refused():
    with pytest.raises(BadSettingError, match="no parts to stow"):
        make_case(Stow(0.0, (0.0, 0.0, 0.0), 0.0), STOCK)
    with pytest.raises(BadSettingError, match="room is -1 mm"):
        make_case(STOW, STOCK, CaseSettings(room=-1.0))
