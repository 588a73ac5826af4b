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
from stowfold.geometry.beam.kerf import draw_outline
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.fold.collide import Board, find_crossings, prisms
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.pose import Pose
from stowfold.geometry.solid.solid import Role, make_solid
from stowfold.geometry.stow.carrying_case import CaseSettings, make_case
from stowfold.geometry.stow.case_checks import bottom_sag
from stowfold.geometry.stow.case_pieces import fits
from stowfold.geometry.stow.stow import Stow

STOCK = find_stock("birch-plywood-3", read_stocks())
STOW = Stow(40.0, (280.0, 150.0, 70.0), 0.1)


def solids(case):
    """Each board as a mesh of trimesh, extruded from its outline and stood up by its matrix."""
    meshes = []
    for part in case.parts:
        triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(part.outline))
        points = np.concatenate([np.asarray(triangle.exterior.coords)[:3] for triangle in triangles])
        mesh = trimesh.creation.extrude_triangulation(points, np.arange(len(points)).reshape(-1, 3), part.thickness)
        mesh.apply_transform(np.vstack([part.panels[0].stands.matrix, [0, 0, 0, 1]]))
        meshes.append(mesh)
    return meshes


def volume(case):
    return sum(abs(mesh.volume) for mesh in solids(case))


@settings(max_examples=15, deadline=None)
@given(st.floats(60, 500), st.floats(40, 300), st.floats(6, 120), st.sampled_from([2.0, 3.0, 6.0]))
@pytest.mark.slow
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
    stand = Pose.identity().moved_to((t + 2.0, t + 2.0, t))
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
        return [(one.bounds[axis], one.bounds[axis + 2]) for one in shapely.get_parts(across)]

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
    assert [finding.code for finding in case.findings] == ["case-without-hand-holes"]
    assert all(not part.outline.interiors for part in case.parts)


def test_nothing_to_stow_and_negative_room_are_refused():
    with pytest.raises(BadSettingError, match="no parts to stow"):
        make_case(Stow(0.0, (0.0, 0.0, 0.0), 0.0), STOCK)
    with pytest.raises(BadSettingError, match="room is -1 mm"):
        make_case(STOW, STOCK, CaseSettings(room=-1.0))


def contents(case, box_size):
    """The stack as one block in the middle of the case, on its bottom."""
    x, y = ((outer - side) / 2 for outer, side in zip(case.outer[:2], box_size[:2], strict=True))
    z = case.outer[2] - 2 * STOCK.thickness - case.inner[2]
    stand = Pose.identity().moved_to((x, y, z))
    return Board("stack", "stack", prisms(box(0, 0, *box_size[:2]), stand, 0.0, box_size[2]))


@settings(max_examples=25, deadline=None)
@given(st.floats(150, 700), st.floats(60, 350), st.floats(10, 120), st.sampled_from([(300.0, 200.0), (320.0, 320.0)]))
@pytest.mark.slow
def test_every_piece_of_a_case_fits_and_the_pieces_hold_the_stack(length, width, height, largest):
    stow = Stow(height, (max(length, width), min(length, width), height), 0.1)
    case = make_case(stow, STOCK, largest=largest)
    assert all(fits(part.size, largest) for part in case.parts)
    assert case.overlap < 1e-6 and "boards-cross" not in {finding.code for finding in case.findings}
    boards = [
        Board(part.id, part.id, prisms(part.outline, part.panels[0].stands, 0.0, part.thickness)) for part in case.parts
    ]
    assert find_crossings([contents(case, stow.box), *boards], deeper=1e-3)[1] == ()
    filled = contents(case, case.inner)
    assert find_crossings([filled, *boards], deeper=1e-3)[1] == ()  # what is called clear is clear
    wider = contents(case, (case.inner[0], case.inner[1] + 0.5, case.inner[2]))
    assert find_crossings([wider, *boards], deeper=1e-3)[1]  # and no more than that
    assert len({part.id for part in case.parts}) == len(case.parts)


@settings(max_examples=15, deadline=None)
@given(st.floats(310, 700), st.floats(60, 350), st.floats(20, 120))
@pytest.mark.slow
def test_parted_boards_fill_the_same_room_as_whole_ones(length, width, height):
    """Without play: outer block less the room between the walls, plus the laps that stand in it."""
    stow = Stow(height, (max(length, width), min(length, width), height), 0.1)
    case = make_case(stow, STOCK, CaseSettings(play=0.0, hole=(1e4, 25.0)), largest=(300.0, 200.0))
    t = STOCK.thickness
    laps = sum(part.area * t for part in case.parts if "lap" in part.id)
    double = any(part.id.startswith("K8") for part in case.parts)
    room = (case.outer[0] - 2 * t) * (case.outer[1] - 2 * t) * (case.outer[2] - (4 if double else 3) * t)
    assert laps > 0.0
    assert volume(case) == pytest.approx(np.prod(case.outer) - room + laps, rel=1e-9)
    low, high = trimesh.util.concatenate(solids(case)).bounds
    np.testing.assert_allclose([*low, *high], [0, 0, 0, *case.outer], atol=1e-9)


@pytest.mark.parametrize("length", [310.0, 420.0, 590.0, 900.0])
def test_every_seam_lies_under_another_board(length):
    case = make_case(Stow(40.0, (length, 150.0, 70.0), 0.1), STOCK, largest=(300.0, 200.0))
    # trimesh cuts the standing boards: where a seam comes to the surface, something lies right behind it
    stood = {part.id: trimesh.util.concatenate([mesh]) for part, mesh in zip(case.parts, solids(case), strict=True)}
    for name, backs in (("K2", ("K2-lap",)), ("K1", ("K8",)), ("K6", ("K7",))):
        own = sorted(
            (key for key in stood if key[:2] == name and "lap" not in key), key=lambda key: stood[key].bounds[0, 0]
        )
        assert len(own) > 1
        behind = [stood[key] for key in stood if key.startswith(backs)]
        for left, right in pairwise(own):
            seam = stood[left].bounds[1, 0]
            assert seam == pytest.approx(stood[right].bounds[0, 0])
            held = [mesh for mesh in behind if mesh.bounds[0, 0] < seam - 15 and mesh.bounds[1, 0] > seam + 15]
            assert held, (name, seam)


def test_what_fits_is_not_parted():
    whole = make_case(STOW, STOCK)
    assert [part.id for part in make_case(STOW, STOCK, largest=(600.0, 300.0)).parts] == [f"K{k}" for k in range(1, 8)]
    assert [part.id for part in whole.parts] == [f"K{k}" for k in range(1, 8)]
    parted = make_case(STOW, STOCK, largest=(280.0, 200.0))
    assert "case-in-pieces" in {finding.code for finding in parted.findings}
    assert parted.inner == pytest.approx(whole.inner)


def test_the_bottom_sags_like_a_beam_of_the_tables():
    """Free beam, 200 mm, 1 mm broad, 3 mm deep, E 9000 N/mm^2, 0.001 N/mm: 5 q w^4 / 384 E I, I = 2.25 mm^4."""
    assert bottom_sag(replace(STOCK, elastic_modulus=9000.0), 0.001, 200.0) == pytest.approx(1.0288, abs=1e-4)


def test_a_soft_bottom_is_named_and_a_stiff_one_is_not():
    stow = Stow(40.0, (400.0, 250.0, 40.0), 0.1)
    assert "case-bottom-soft" not in {finding.code for finding in make_case(stow, STOCK).findings}
    card = replace(STOCK, thickness=1.0, elastic_modulus=3000.0)
    assert "case-bottom-soft" in {found.code for found in make_case(stow, card).findings}


@pytest.mark.slow
def test_a_building_with_a_case_larger_than_the_floors_sheets_can_be_cut():
    """The longest wall nearly fills a sheet of its own board; the floor's sheets are smaller than the case."""
    low = [(0.0, 0.0), (250.0, 0.0), (250.0, 100.0), (0.0, 100.0)]
    points = np.array([(x, y, z) for z in (0.0, 62.0) for x, y in low])
    faces = [(i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4)]
    solid = make_solid(points, faces, roles={(i, i + 4): Role.FLEX for i in range(4)})
    small = replace(STOCK, name="small", label="small sheets", sheet=(300.0, 200.0))
    settings = Settings(STOCK, STOCK, small, STOCK, case=True, propose=Proposal.BREAKS)
    outcome = run(solid, settings, title="Boat shed")
    assert outcome.case is not None and outcome.case.outer[0] > 300.0
    assert not [finding for finding in outcome.findings if finding.severity is Severity.ERROR]
    assert {placement.part for placement in outcome.layout.placements} == {part.id for part in outcome.pieces}
