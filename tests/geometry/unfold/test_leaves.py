"""Leaves that stay in the wall: what is cut, how they swing, and what keeps one from being hung."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import trimesh
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from slow_cases import one_quick
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.opening import DEFAULT_SIZES, OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.proof.swings import opened
from stowfold.geometry.settings import BoardFace
from stowfold.geometry.show.boards import boards_of
from stowfold.geometry.solid.opening import Leaf
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.unfold.leaves import GAP, clear_width, cut_width

STOCK = read_stocks()[0]
LENGTH, WIDTH = 228.6, 152.4
X, Y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])


@cache
def _run(*openings, face=BoardFace.INSIDE, breaks=((110.0, 0.0), (110.0, WIDTH))):
    block = block_out([(0, 0), (LENGTH, 0), (LENGTH, WIDTH), (0, WIDTH)], breaks=breaks)
    solid = replace(make_solid(block.points, block.faces, roles=dict(block.roles)), openings=openings)
    return run(solid, Settings(walls=STOCK, roof=STOCK, floor=STOCK, joiners=STOCK, face=face), title="house")


def _door(name="Door", at=(60.0, 0.0, 0.0), along=X, size=None, **leaf):
    size = size or DEFAULT_SIZES[OpeningKind.DOOR]
    opening = stand_in_wall(name, OpeningKind.DOOR, size, foot=np.array(at), along=along)
    return replace(opening, leaf=Leaf(**leaf))


def _leaves(outcome):
    return [(part, placed) for part in outcome.parts for placed in part.lattices if placed.swing]


@pytest.mark.parametrize("face", one_quick(list(BoardFace)))
@pytest.mark.parametrize("on_left", one_quick([True, False]))
def test_a_door_leaf_fills_its_opening_less_the_gap_and_the_section_still_folds_back(face, on_left):
    outcome = _run(_door(on_left=on_left), face=face)
    assert {finding.code for finding in outcome.findings} <= {"corner-radius-wide"}
    assert outcome.proof.holds
    ((part, placed),) = _leaves(outcome)
    shut = part.panels[placed.child]
    points = shut.stands.apply(shut.ring)
    made = placed.lattice
    # the door stands from x 45 to 75 and is 45 high; half the lattice takes the jamb's side
    near = 45.0 + made.flat_width / 2 if on_left else 45.0 + GAP
    far = 75.0 - GAP if on_left else 75.0 - made.flat_width / 2
    assert points.min(axis=0) == pytest.approx([near, 0.0, GAP])
    assert points.max(axis=0) == pytest.approx([far, 0.0, 45.0 - GAP])
    # the width that the maker is told is that of the lines: from the far end of the lattice to the latch
    zone = Polygon(placed.zone).bounds
    cut = cut_width(STOCK, width=30.0, height=45.0, swing=Leaf().swing)
    assert cut == pytest.approx(GAP + (far - near) + (zone[2] - zone[0]), abs=1e-6)
    # what is cut away is the gap alone, with what the lattice takes of it in the wall
    whole = _run(face=face)
    same = next(one for one in whole.parts if one.id == part.id)
    gap = 2 * GAP * (30.0 + made.flat_width / 2) + GAP * (45.0 - 2 * GAP)
    tabs = len(same.outline.exterior.coords) - len(part.outline.exterior.coords)
    assert same.area - part.area == pytest.approx(gap, abs=1e-6) or tabs != 0


@pytest.mark.slow
def test_the_leaf_hangs_on_its_lattice_and_on_nothing_else():
    ((part, placed),) = _leaves(_run(_door()))
    zone = Polygon(placed.zone)
    inside = Point(part.panels[placed.child].ring.mean(axis=0))
    rest = part.outline.difference(zone.buffer(1e-6))
    pieces = [piece for piece in getattr(rest, "geoms", [rest]) if piece.area > 1.0]
    # without the zone the leaf falls out of the wall
    assert len(pieces) == 2
    assert sum(piece.contains(inside) for piece in pieces) == 1
    assert len(placed.slit_lines)
    assert all(part.outline.buffer(1e-6).contains(LineString(line)) for line in placed.slit_lines)


@pytest.mark.parametrize("degrees", one_quick([100.0, 75.0, 40.0]))
def test_what_passes_an_open_leaf_is_measured_on_the_bent_board(degrees):
    """Against shapely, which turns thin slices of the board one after the other, and against the folded part."""
    swing = math.radians(degrees)
    ((part, placed),) = _leaves(_run(_door(swing=swing)))
    told = clear_width(STOCK, width=30.0, height=45.0, swing=swing)
    made, slices = placed.lattice, 400
    half, long = made.flat_width / 2, made.flat_width / slices
    leaf = box(0.0, -made.thickness / 2, 30.0 - GAP - half, made.thickness / 2)
    slice_ = box(0.0, -made.thickness / 2, long, made.thickness / 2)
    turn = np.radians(degrees / slices)
    step = np.array([[np.cos(turn), -np.sin(turn), long], [np.sin(turn), np.cos(turn), 0.0], [0.0, 0.0, 1.0]])
    place, bent = np.eye(3), []
    for _ in range(slices):
        bent.append(affinity.affine_transform(slice_, [*place[:2, :2].ravel(), *place[:2, 2]]))
        place = place @ step
    bent.append(affinity.affine_transform(leaf, [*place[:2, :2].ravel(), *place[:2, 2]]))
    reach = max(board.bounds[2] for board in bent) - half
    assert told == pytest.approx(30.0 - max(0.0, reach), abs=0.05)
    boards = boards_of(part)
    points = boards.stands.apply(boards.points(opened=1.0))
    moved = [span for panel, *span in boards.plates if panel == placed.child]
    moved += [span for index, *span in boards.strips if part.lattices[index] is placed]
    assert told == pytest.approx(75.0 - max(points[start:end, 0].max() for start, end in moved), abs=0.05)


@pytest.mark.parametrize(("on_left", "swing"), one_quick([(True, 1.7), (False, 1.7), (True, -1.2)]))
def test_an_open_leaf_stands_turned_by_its_swing_about_its_jamb(on_left, swing):
    ((part, placed),) = _leaves(_run(_door(on_left=on_left, swing=swing)))
    ring = part.panels[placed.child].ring
    shut, wide = (stands.apply(ring) for stands in (part.panels[placed.child].stands, opened(part, placed)))
    # the motion is a turn about an upright axis: trimesh's own decomposition agrees
    matrix, *_ = trimesh.registration.procrustes(shut, wide, reflection=False, scale=False)
    angle, axis, _ = trimesh.transformations.rotation_from_matrix(matrix)
    assert abs(angle) == pytest.approx(abs(swing), abs=1e-9)
    assert abs(axis[2]) == pytest.approx(1.0)
    # outward is away from the room, which lies at y > 0
    assert (wide[:, 1].mean() < 0.0) == (swing > 0.0)
    # and it stays beside its jamb
    jamb = 45.0 if on_left else 75.0
    assert abs(wide[:, 0].mean() - jamb) < abs(shut[:, 0].mean() - jamb) + 1.0


@pytest.mark.slow
def test_no_tab_stands_under_a_leaf_or_its_lattice():
    outcome = _run(_door(at=(50.0, 0.0, 0.0)))
    ((_, placed),) = _leaves(outcome)
    low, high = 35.0 - placed.lattice.flat_width / 2, 65.0
    for tab in outcome.tabs:
        if np.ptp(tab.tab[:, 0]) > np.ptp(tab.tab[:, 1]) and tab.tab[:, 1].max() < 5.0:
            assert tab.tab[:, 0].max() < low or tab.tab[:, 0].min() > high


@pytest.mark.parametrize(
    ("opening", "words"),
    [
        (_door(size=OpeningSize(14.0, 45.0)), "is 14.0 mm wide, but its leaf needs"),
        (_door(at=(34.0, 0.0, 0.0)), "mm of wall beside its jamb"),
        (_door(at=(78.0, 0.0, 0.0), on_left=False), "mm of wall beside its jamb"),
    ],
)
@pytest.mark.slow
def test_a_leaf_without_room_is_an_error_and_the_opening_stays_open(opening, words):
    outcome = _run(opening)
    found = [finding for finding in outcome.findings if finding.code == "leaf-without-room"]
    assert len(found) == 1
    assert words in found[0].message
    assert not _leaves(outcome)


@pytest.mark.slow
def test_a_leaf_that_meets_a_joiner_says_how_far_it_opens():
    # a joiner's outer cheek stands out beside the jamb; a leaf that opens past it would lie on it
    outcome = _run(_door(at=(59.0, 0.0, 0.0), swing=math.radians(150.0)), breaks=((20.0 + 2.0, 0.0), (110.0, WIDTH)))
    codes = {finding.code for finding in outcome.findings}
    free = _run(_door(at=(60.0, 0.0, 0.0), swing=math.radians(90.0)))
    assert "leaf-in-the-way" not in {finding.code for finding in free.findings}
    assert codes & {"leaf-in-the-way", "leaf-without-room", "bad-break-line"}


@pytest.mark.slow
def test_a_door_in_a_corner_that_opens_onto_the_wall_is_found():
    # the re-entrant corner of an L: the leaf opens outward into the yard and meets the other arm
    plan = [(0, 0), (228.6, 0), (228.6, 76.2), (101.6, 76.2), (101.6, 177.8), (0, 177.8)]
    block = block_out(plan, height=76.0, breaks=[(60.0, 0.0), (0.0, 90.0)])
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    wide = OpeningSize(54.0, 64.0)
    door = stand_in_wall("Door", OpeningKind.DOOR, wide, foot=np.array([168.0, 76.2, 0.0]), along=-X)
    settings = Settings(walls=STOCK, roof=STOCK, floor=STOCK, joiners=STOCK)
    # hung at the right jamb as seen from the yard, it swings towards the other arm
    swung = replace(solid, openings=(replace(door, leaf=Leaf(on_left=False, swing=math.radians(150.0))),))
    found = [finding for finding in run(swung, settings, title="L").findings if finding.code == "leaf-in-the-way"]
    assert len(found) == 1
    assert "cannot open to 150" in found[0].message
    less = replace(solid, openings=(replace(door, leaf=Leaf(on_left=False, swing=math.radians(80.0))),))
    assert not [finding for finding in run(less, settings, title="L").findings if finding.code == "leaf-in-the-way"]
