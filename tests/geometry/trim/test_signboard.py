"""Signboards: flat on a wall or in a slot of it, readable from outside, clear of all else, in fit, sheets and guide."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from boards_as_solids import board_solids, shared_volumes
from marked_roofs import marked_block_out
from shapely.geometry import Polygon
from stowfold.geometry.assembly.find import find_assembly
from stowfold.geometry.assembly.plan import Stage
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.assembly import putting_up, taking_down
from stowfold.geometry.paper.trim_words import trim_section
from stowfold.geometry.part import PartKind, plain_panel
from stowfold.geometry.plan.opening import OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.pose import Pose
from stowfold.geometry.settings import BoardFace, TrimSettings
from stowfold.geometry.show.film import film_of, poses_at
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.trim.signboard import Signboard

STOCK, THIN = (next(s for s in read_stocks() if s.name == name) for name in ("birch-plywood-3", "birch-plywood-1.5"))

#: An L: readable one way only.
LETTER = (((-8.0, 3.0), (-8.0, -3.0), (-5.0, -3.0)),)
FLAT = Signboard("Inn", (60.0, -2.0, 50.0), 40.0, 12.0, LETTER)
HANGS = Signboard("Star", (60.0, 0.0, 46.0), 24.0, 18.0, LETTER, hangs=True)


@cache
def _run(*signs, face=BoardFace.INSIDE, make=run):
    return _made(signs, make, TrimSettings(THIN), face=face)


def _made(signs, make, trim, **more):
    block = marked_block_out([(0, 0), (228.6, 0), (228.6, 152.4), (0, 152.4)], breaks=((112.0, 0.0), (112.0, 152.4)))
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    at = {"foot": np.array([170.0, 0.0, 0.0]), "along": np.array([1.0, 0.0, 0.0])}
    window = stand_in_wall("Window", OpeningKind.WINDOW, OpeningSize(16.0, 22.0, 22.0), **at)
    settings = Settings(STOCK, STOCK, STOCK, STOCK, trim=trim, signs=signs, **more)
    return make(replace(solid, openings=(window,)), settings, title="house")


@pytest.mark.parametrize("face", list(BoardFace))
def test_a_flat_sign_lies_on_the_outside_and_reads_from_there(face) -> None:
    outcome = _run(FLAT, face=face)
    (part,) = [part for part in outcome.parts if part.kind is PartKind.TRIM]
    assert outcome.proof.holds and not outcome.findings
    assert part.size == pytest.approx((40.0, 12.0)) and part.thickness == THIN.thickness
    (panel,) = part.panels
    level = -STOCK.thickness if face is BoardFace.INSIDE else 0.0
    assert panel.stands.apply(panel.ring)[:, 1] == pytest.approx(np.full(4, level))
    # the reader stands before the south wall: to the right is +x
    letter, border = (panel.stands.apply(line) for line in part.engrave)
    assert letter[:, [0, 2]] == pytest.approx(np.array([(52.0, 53.0), (52.0, 47.0), (55.0, 47.0)]))
    assert np.ptp(border[:, [0, 2]], axis=0) == pytest.approx((37.0, 9.0))
    assert any(place.part == part.id for place in outcome.layout.placements)
    assert "Inn" in trim_section(outcome.parts)
    # the stack is one thin board higher
    assert outcome.stow.stack_height - _run(face=face).stow.stack_height == pytest.approx(THIN.thickness)


@pytest.mark.parametrize("face", list(BoardFace))
def test_a_sign_that_hangs_has_a_slot_that_its_tab_goes_through(face) -> None:
    outcome = _run(HANGS, face=face)
    assert outcome.proof.holds and not outcome.findings
    (hung,) = outcome.signs
    (bare,) = [part for part in _run(face=face).parts if part.id == hung.wall]
    wall = next(part for part in outcome.parts if part.id == hung.wall)
    slot = bare.outline.difference(wall.outline)
    assert sorted(np.ptp(shapely.get_coordinates(slot), axis=0)) == pytest.approx(
        sorted((THIN.thickness + hung.play[0], 12.0 + hung.play[1]))
    )
    # the section of the standing sign within the wall's board lies inside the slot, as the wall stands
    (panel,) = hung.part.panels
    corners = np.concatenate([panel.stands.apply(panel.ring, z) for z in (0.0, hung.part.thickness)])
    outer = -STOCK.thickness if face is BoardFace.INSIDE else 0.0
    inside = corners[corners[:, 1] > outer + 1e-6]
    assert np.ptp(inside, axis=0) == pytest.approx((THIN.thickness, 0.0, 12.0))
    assert inside[:, 1].max() == pytest.approx(outer + STOCK.thickness)
    on = next(panel for panel in wall.panels if any(Polygon(h).equals(Polygon(slot.exterior)) for h in panel.holes))
    flat = on.stands.back(inside)[:, :2]
    assert shapely.MultiPoint(flat).convex_hull.within(slot)
    assert shapely.MultiPoint(flat).convex_hull.distance(slot.exterior) == pytest.approx(hung.play[0] / 2, abs=1e-6)
    assert corners[:, 1].min() == pytest.approx(outer - 24.0)
    joints = [joint for joint in outcome.fit.joints if joint.kind is JointKind.SIGN]
    assert len(joints) == 2 and all(joint.share > 0.95 for joint in joints)
    assert any(place.part == hung.part.id for place in outcome.layout.placements)
    assert "push the tab into its slot" in trim_section(outcome.parts, None, outcome.signs)
    assert any(spot.piece == hung.part.id for spot in outcome.stow.spots)


@pytest.mark.parametrize("hangs", [False, True])
def test_a_sign_without_room_is_told_and_the_wall_stays_whole(hangs) -> None:
    for centre in ((170.0, 0.0, 33.0), (112.0, 0.0, 40.0), (60.0, -40.0, 40.0)):
        outcome = _run(replace(FLAT if not hangs else HANGS, centre=centre), make=make_parts).outcome
        (told,) = outcome.findings
        assert told.code == "trim-without-room" and ("Inn" in told.message or "Star" in told.message)
        assert len(outcome.parts) == len(_run().parts) and not outcome.signs
        assert [p.outline.area for p in outcome.parts] == pytest.approx([p.outline.area for p in _run().parts])


@pytest.mark.parametrize("face", list(BoardFace))
def test_a_sign_that_hangs_is_pushed_in_last_square_to_its_wall(face) -> None:
    outcome = _run(HANGS, face=face)
    (hung,) = outcome.signs
    *_, last = outcome.assembly.moves
    assert last.stage is Stage.SIGN and last.parts == (hung.part.id,) and last.blocked is None
    assert last.legs[0].way == pytest.approx((0.0, 1.0, 0.0)) and last.legs[0].length >= STOCK.thickness
    # its tab has the play of its slot, half of it on either side
    assert last.clearance == pytest.approx(hung.play[0] / 2, abs=1e-6)
    film = film_of(outcome)
    assert np.allclose(poses_at(film, 1.0)[hung.part.id].pose.matrix, hung.part.panels[0].stands.matrix, atol=1e-6)
    assert film.acts[-1].stage is Stage.SIGN
    before = poses_at(film, film.acts[-1].time)
    assert before[hung.part.id].pose.matrix[1, 3] != pytest.approx(hung.part.panels[0].stands.matrix[1, 3], abs=10.0)
    assert all(volume < 1e-6 for volume in shared_volumes(board_solids(outcome.standing)).values())
    steps = putting_up(outcome)
    assert steps[-1].heading == "Hang the signboard" and "from outside" in steps[-1].words
    assert f"Pull <b>{hung.part.name}</b> straight out" in taking_down(outcome)[0]


def test_a_sign_in_the_way_of_a_porch_is_told() -> None:
    outcome = _run(HANGS)
    (hung,) = outcome.signs
    wall = next(part for part in outcome.parts if part.id == hung.wall)
    (panel,) = hung.part.panels
    # a board across the way, 2 mm before the sign
    stands = panel.stands
    across = Pose.of(stands.z, stands.y, stands.x, stands.origin + 26.0 * stands.x)
    plate = shapely.box(-20.0, -20.0, 20.0, 20.0)
    board = replace(hung.part, id="B1", kind=PartKind.WALL, outline=plate, panels=(plain_panel(plate, across),))
    cut = outcome.settings.as_cut
    moves = find_assembly((wall, board, hung.part), (), (), (), cut)
    (told,) = [finding for finding in moves.findings if "into its slot" in finding.message]
    assert told.message.startswith(hung.part.id) and "move it, or lay it flat" in told.message


def test_the_slot_of_a_sign_is_no_opening_that_a_finish_goes_round() -> None:
    """A slot for a board of 3 mm is larger than many a window; only what the model opens gets a frame."""
    more = {"finishes": {"brick": finish_of(Pattern.STRETCHER_BOND)}, "inside_finish": "brick"}
    slotted, plain = (_made(signs, make_parts, TrimSettings(STOCK), **more).outcome for signs in ((HANGS,), ()))
    name = slotted.signs[0].wall
    walls = [next(part for part in outcome.parts if part.id == name) for outcome in (slotted, plain)]
    drawn = [
        shapely.MultiLineString([line for dressing in wall.dressings for line in dressing.lines]) for wall in walls
    ]
    slot = walls[1].outline.difference(walls[0].outline)
    assert slot.area > 30.0 and drawn[1].length > 1000.0
    # what is drawn with the slot is what is drawn without it, less the place of the slot and a margin
    lost = drawn[1].difference(drawn[0].buffer(1e-3))
    new = drawn[0].difference(drawn[1].buffer(1e-3))
    assert new.length < 0.1
    assert lost.difference(slot.buffer(1.5, join_style="mitre")).length < 0.1
