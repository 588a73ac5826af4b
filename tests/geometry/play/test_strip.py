"""The strip between walls and squares: a finding about cheeks names the width that makes it go away."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Finding
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.sizes import BuildingSizes, lay_out_building
from stowfold.geometry.plan.walls import PlanKind
from stowfold.geometry.play.set_table import Room, find_room
from stowfold.geometry.play.standing_room import find_standing_room

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
SQUARE = SETTINGS.square


def made(sizes: BuildingSizes) -> tuple[Outcome, Room, tuple[Finding, ...]]:
    """A building of these sizes with the room in it and what pushes bases out of squares."""
    settings = replace(SETTINGS, ground=replace(SETTINGS.ground, strip=sizes.strip))
    outcome = make_parts(as_solid(add_building(sizes, settings)), settings, title="House").outcome
    room = find_room(outcome.facets, settings.as_cut, square=SQUARE, parts=outcome.parts, leaves_open=False)
    return outcome, room, find_standing_room(room.squares, room.blockers, bends=room.bends).findings


@pytest.mark.parametrize("plan", [PlanKind.RECTANGLE, pytest.param(PlanKind.L, marks=pytest.mark.slow)])
def test_the_strip_that_a_finding_asks_for_frees_every_square(plan: PlanKind) -> None:
    sizes = BuildingSizes(plan, 9, 6, bar=3, wing=4)
    _, before, findings = made(sizes)
    assert {finding.code for finding in findings} == {"cheek-in-square"}
    wider = [re.search(r"squares ([\d.]+) mm wider", finding.message) for finding in findings]
    strip = max(float(found[1]) for found in wider if found)
    assert 0.0 < strip < 5.0
    outcome, after, findings = made(replace(sizes, strip=strip))
    assert findings == ()
    # as many squares as before, which lie a strip inside the walls, and so do the engraved lines
    assert np.array_equal(after.squares.inside, before.squares.inside)
    assert np.allclose(after.squares.origin, before.squares.origin, atol=1e-4)
    walls = np.concatenate([outcome.facets.corners(facet) for facet in outcome.facets.facets])[:, :2]
    assert np.allclose(walls.min(axis=0), -strip, atol=1e-4)
    floor = next(part for part in outcome.parts if part.kind is PartKind.FLOOR)
    lines = [floor.panels[0].stands.apply(line)[:, :2] for line in floor.engrave]
    along = [line for line in lines if math.isclose(line[0, 1], line[1, 1], abs_tol=1e-4)]
    assert along
    for line in along:
        assert line[0, 1] / SQUARE == pytest.approx(round(line[0, 1] / SQUARE), abs=1e-4)
    reach = shapely.MultiLineString([line.tolist() for line in lines]).bounds
    assert reach == pytest.approx((0.0, 0.0, 9 * SQUARE, 6 * SQUARE), abs=0.05)


def test_a_strip_makes_the_building_longer_and_wider_by_twice_its_width() -> None:
    sizes = BuildingSizes(PlanKind.RECTANGLE, 9, 6)
    bare, apart = (lay_out_building(replace(sizes, strip=strip), square=SQUARE) for strip in (0.0, 4.0))
    grown = np.ptp(apart.points, axis=0) - np.ptp(bare.points, axis=0)
    assert grown == pytest.approx([8.0, 8.0, 0.0])


@pytest.mark.parametrize("strip", [-1.0, math.nan])
def test_a_strip_that_is_none_is_refused(strip: float) -> None:
    with pytest.raises(BadSettingError, match="choose 0 or more"):
        lay_out_building(BuildingSizes(strip=strip), square=SQUARE)


def test_a_strip_that_closes_a_court_is_refused() -> None:
    with pytest.raises(BadSettingError, match="leaves no room between two walls"):
        lay_out_building(BuildingSizes(PlanKind.U, 9, 7, bar=3, wing=4, strip=13.0), square=SQUARE)
