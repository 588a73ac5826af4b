"""Shingle strips where they stand: leaning on one another, clear of all else, in proof, film, assembly, fit and stow.

Judged by manifold3d, a boolean kernel that shares no code with ours, by shapely and by closed forms.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely
from boards_as_solids import board_solids, shared_volumes
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.paint.paint import Paint, Scheme
from stowfold.geometry.paint.plan import paint_plan
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.walls import Roof, RoofKind, block_out
from stowfold.geometry.settings import TrimSettings
from stowfold.geometry.show.film import film_of, poses_at
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.trim import shingles
from upstand_samples import chimney_body, house_with

STOCKS = read_stocks()
BIRCH, THIN = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "birch-plywood-1.5"))
PITCH = 0.7
PLAN = [(0, 0), (200, 0), (200, 110), (110, 110), (110, 200), (0, 200)]


def _settings(size: float, **more) -> Settings:
    trim = TrimSettings(THIN, shingles=True)
    finishes = {"shingles": finish_of(Pattern.SHINGLES, size=size)}
    paint = Paint({"shingles": Scheme("#5a4a3a")})
    return Settings(BIRCH, BIRCH, BIRCH, BIRCH, trim=trim, finishes=finishes, paint=paint, propose=Proposal.ALL, **more)


def _shingled(solid):
    keys = {(solid.sources[s], face): "shingles" for face, s in zip(solid.face_ids, solid.face_sources, strict=True)}
    return replace(solid, finishes=keys)


def _with_chimney():
    return _shingled(house_with(PITCH, chimney_body((150, 45), (24, 20), 60, 170)))


def _with_valley():
    block = block_out(PLAN, height=50.0, roof=Roof(RoofKind.HIP, pitch=math.radians(35.0)))
    return _shingled(make_solid(block.points, block.faces, roles=dict(block.roles)))


@cache
def _house():
    return run(_with_chimney(), _settings(4.0), title="House")


def _crossing_strips(outcome):
    shared = shared_volumes(board_solids(outcome.standing))
    ids = set(outcome.strips.bearers)
    return {pair: volume for pair, volume in shared.items() if ids & {name.partition("/")[0] for name in pair}}


@pytest.mark.parametrize("make", [_with_chimney, _with_valley])
def test_no_strip_enters_another_board_when_the_roof_stands(make) -> None:
    outcome = make_parts(make(), _settings(4.0), title="House").outcome
    assert outcome.strips.strips and outcome.proof.holds and outcome.proof.board_overlap < 1e-4
    assert all(volume < 1e-3 for volume in _crossing_strips(outcome).values())


def test_the_proof_tells_of_strips_that_nothing_keeps_off_a_chimney(monkeypatch) -> None:
    monkeypatch.setattr(shingles, "standing_over", lambda *_: shapely.Polygon())
    outcome = make_parts(_with_chimney(), _settings(4.0), title="House").outcome
    told = [finding.message for finding in outcome.findings if finding.code == "boards-cross"]
    assert any("Shingle strip" in message for message in told) and not outcome.proof.holds
    assert max(_crossing_strips(outcome).values()) > 1.0


def test_strips_lean_on_one_another_as_equal_boards_in_a_stack_do() -> None:
    """In a stack of equal boards, each a gauge g above the last, sin(lean) = t / g; the first one lies flat."""
    strips = _house().strips
    solids = {name.partition("/")[0]: solid for name, solid in board_solids(strips.laid)}
    full = {}
    for strip in strips.strips:
        full.setdefault((strip.panel, strip.course), strip)
    gauge = finish_of(Pattern.SHINGLES, size=4.0).height
    for panel in {panel for panel, _ in full}:
        own = [full[key] for key in sorted(full) if key[0] == panel]
        assert own[0].lean == 0.0
        assert math.sin(own[3].lean) == pytest.approx(THIN.thickness / gauge, rel=0.01)
        for low, high in pairwise(own[:4]):
            assert solids[low.part].min_gap(solids[high.part], 1.0) < 1e-4
    roof = next(part for part in _house().parts if part.id == strips.strips[0].host)
    for strip, part in zip(strips.strips, strips.laid, strict=True):
        (panel,) = part.panels
        points = np.concatenate([panel.stands.apply(panel.ring, z) for z in (0.0, part.thickness)])
        over = roof.panels[strip.panel].stands.back(points)[:, 2] - roof.thickness
        assert over.min() == pytest.approx(0.0, abs=1e-6)
        assert over.max() == pytest.approx(strip.rise, abs=1e-6)
    assert strips.thickness == max(strip.rise for strip in strips.strips)


def test_the_finish_is_not_engraved_under_strips_whose_corners_are_scored_there() -> None:
    house = _house()
    for name, area in house.strips.covered.items():
        roof = next(part for part in house.parts if part.id == name)
        drawn = [shapely.LineString(line) for dressing in roof.dressings for line in dressing.lines]
        assert sum(line.intersection(area).length for line in drawn) < 0.5
        marks = [shapely.LineString(line) for line in roof.score if len(line) == 2]
        for strip in (strip for strip in house.strips.strips if strip.host == name):
            inside = [line for line in marks if strip.area.contains(line)]
            assert len(inside) >= 2 and all(line.distance(strip.area.exterior) > 0.4 for line in inside)
    bare = make_parts(_with_chimney(), replace(_settings(4.0), trim=TrimSettings(THIN)), title="House").outcome
    assert any(part.dressings for part in bare.parts if part.kind is PartKind.ROOF)


def test_strips_are_folded_and_set_on_with_their_roof_and_stowed_on_it() -> None:
    house = _house()
    ids = set(house.strips.bearers)
    (down,) = [move for move in house.assembly.moves if "R1" in move.parts and move.legs]
    assert ids <= set(down.parts) and house.assembly.is_possible
    film = film_of(house)
    moments = poses_at(film, 1.0)
    for part in house.strips.laid:
        assert np.allclose(moments[part.id].pose.matrix, part.panels[0].stands.matrix, atol=1e-6)
    lifted = poses_at(film, 1.0, lifted=True)
    away = lifted["R1"].pose.origin - moments["R1"].pose.origin
    assert np.linalg.norm(away) > 100.0
    assert all(np.allclose(lifted[n].pose.origin - moments[n].pose.origin, away, atol=1e-6) for n in ids)
    plain = make_parts(_with_chimney(), replace(_settings(4.0), trim=TrimSettings()), title="House").outcome
    thicker = house.stow.stack_height - plain.stow.stack_height
    assert thicker == pytest.approx(house.strips.thickness, abs=1e-6)


def test_strips_keep_off_the_chimney_by_more_than_a_hand_slips() -> None:
    joints = [joint for joint in _house().fit.joints if joint.kind is JointKind.STRIPS]
    assert {name[:2] for joint in joints for name in joint.parts} == {"RS", "C1"}
    assert all(1.0 - 1e-6 <= joint.clearance < 3.0 and joint.share > 0.98 for joint in joints)


def test_strips_bear_the_colour_of_their_finish_and_the_roof_beneath_none() -> None:
    house = _house()
    (colour,) = paint_plan(house.standing, house.settings.paint).colours
    assert set(house.strips.bearers) <= set(colour.parts)
    laid = sum(part.area for part in house.strips.laid)
    roof = next(part for part in house.parts if part.id == "R1")
    left = sum(field.area.area for field in roof.colour_fields if field.up and not field.thin)
    assert left < 0.1 * laid


def test_boards_too_thick_for_their_courses_are_told() -> None:
    outcome = make_parts(_with_chimney(), _settings(0.9), title="House").outcome
    (told,) = [finding for finding in outcome.findings if finding.code == "trim-without-room"]
    assert not outcome.strips.strips
    assert "of 1.5 mm board they would stand up in courses of 2.5 mm; make courses 2.6 mm or more" in told.message
