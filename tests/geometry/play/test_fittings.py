"""Leaves and bends as they stand in a room, against rotations of scipy and the drawn lattices."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from slow_cases import one_quick
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.opening import DEFAULT_SIZES, OpeningKind, stand_in_wall
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.play.fittings import room_bends, room_leaves
from stowfold.geometry.proof.swings import opened
from stowfold.geometry.settings import BoardFace
from stowfold.geometry.solid.opening import Leaf
from stowfold.geometry.solid.solid import make_solid

STOCK = read_stocks()[0]
X = np.array([1.0, 0.0, 0.0])


def _outcome(face=BoardFace.INSIDE, *openings):
    plan = [(0, 0), (203.2, 0), (203.2, 76.2), (101.6, 76.2), (101.6, 177.8), (0, 177.8)]
    block = block_out(plan, breaks=[(150.0, 0.0), (0.0, 90.0)])
    solid = replace(make_solid(block.points, block.faces, roles=dict(block.roles)), openings=openings)
    return run(solid, Settings(walls=STOCK, roof=STOCK, floor=STOCK, joiners=STOCK, face=face), title="toll house")


def _door(**leaf):
    size = DEFAULT_SIZES[OpeningKind.DOOR]
    door = stand_in_wall("Door", OpeningKind.DOOR, size, foot=np.array([60.0, 0.0, 0.0]), along=X)
    return replace(door, leaf=Leaf(**leaf))


@pytest.mark.parametrize(("on_left", "swing"), one_quick([(True, 1.7), (False, 1.7), (True, -1.2), (False, -0.6)]))
def test_an_open_leaf_is_the_shut_one_turned_about_its_jamb(on_left, swing):
    door = _door(on_left=on_left, swing=swing)
    (shut,), (wide,) = room_leaves([door], wide_open=False), room_leaves([door], wide_open=True)
    shut_ring, wide_ring = shut.faces[0][0], wide.faces[0][0]
    jamb = np.array([45.0 if on_left else 75.0, 0.0, 0.0])
    # outward is -y; seen from above the left leaf turns clockwise for an outward swing
    turn = Rotation.from_rotvec([0.0, 0.0, -swing if on_left else swing])
    assert np.allclose(turn.apply(shut_ring - jamb) + jamb, wide_ring)
    # and it stands where the cut leaf folds to, within half its lattice
    outcome = _outcome(BoardFace.INSIDE, door)
    part, placed = next((p, lattice) for p in outcome.parts for lattice in p.lattices if lattice.swing)
    ring = part.panels[placed.child].ring
    middle = opened(part, placed).apply(ring).mean(axis=0)
    assert np.linalg.norm(middle[:2] - wide_ring.mean(axis=0)[:2]) < placed.lattice.flat_width / 2


@pytest.mark.parametrize("face", list(BoardFace))
@pytest.mark.slow
def test_ordinary_corners_bend_into_the_room_and_re_entrant_ones_do_not(face):
    outcome = _outcome(face)
    bends = room_bends(outcome.facets, outcome.parts, outcome.settings)
    assert len(bends) == 5
    inset = 0.0 if face is BoardFace.INSIDE else STOCK.thickness
    corners = {(round(float(b.corner[0]), 3), round(float(b.corner[1]), 3)) for b in bends}
    assert (inset, inset) in corners
    assert (101.6, 76.2) not in corners
    for bend in bends:
        assert bend.inside_radius <= 13.18
        assert abs(float(bend.along[0] @ bend.along[1])) < 1e-9
        # a spot on the bisector stands R (sqrt 2 - 1) from the arc less what it is from the corner
        spot = bend.corner[:2] + bend.along.sum(axis=0)[:2] * 5.0
        expected = bend.inside_radius - abs(bend.inside_radius * math.sqrt(2.0) - 5.0 * math.sqrt(2.0))
        assert float(bend.distance(spot)) == pytest.approx(expected)
