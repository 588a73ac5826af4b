"""Signboards: flat on a wall or in a slot of it, readable from outside, clear of all else, in fit, sheets and guide."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from marked_roofs import marked_block_out
from shapely.geometry import Polygon
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.trim_words import trim_section
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.opening import OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.settings import BoardFace, TrimSettings
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.trim.signboard import Signboard

STOCK, THIN = (next(s for s in read_stocks() if s.name == name) for name in ("birch-plywood-3", "birch-plywood-1.5"))

#: An L: readable one way only.
LETTER = (((-8.0, 3.0), (-8.0, -3.0), (-5.0, -3.0)),)
FLAT = Signboard("Inn", (60.0, -2.0, 50.0), 40.0, 12.0, LETTER)
HANGS = Signboard("Star", (60.0, 0.0, 46.0), 24.0, 18.0, LETTER, hangs=True)


@cache
def _run(*signs, face=BoardFace.INSIDE, make=run):
    block = marked_block_out([(0, 0), (228.6, 0), (228.6, 152.4), (0, 152.4)], breaks=((112.0, 0.0), (112.0, 152.4)))
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    at = {"foot": np.array([170.0, 0.0, 0.0]), "along": np.array([1.0, 0.0, 0.0])}
    window = stand_in_wall("Window", OpeningKind.WINDOW, OpeningSize(16.0, 22.0, 22.0), **at)
    settings = Settings(STOCK, STOCK, STOCK, STOCK, face=face, trim=TrimSettings(THIN), signs=signs)
    return make(replace(solid, openings=(window,)), settings, title="house")


@pytest.mark.parametrize("face", list(BoardFace))
def test_a_flat_sign_lies_on_the_outside_and_reads_from_there(face) -> None:
    outcome = _run(FLAT, face=face)
    (part,) = [each for each in outcome.parts if each.kind is PartKind.TRIM]
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
    on = next(each for each in wall.panels if any(Polygon(h).equals(Polygon(slot.exterior)) for h in each.holes))
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
