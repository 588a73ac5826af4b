"""Gussets hold closures that have no room for a tie or a strip: they touch both boards and stand in none.

The standing boards are made and intersected by manifold3d, which shares no code with ours.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from block_outs import loop_of_walls
from boards_as_solids import board_solids, shared_volumes
from slow_cases import one_quick
from standing_solids import shared_places
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.added import as_solid, try_building
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.joints.glue_places import find_bearers, find_glue_places
from stowfold.geometry.joints.gusset import is_gusset
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.part import Part
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.solid.solid import Role, Solid, make_solid


def built(board: str, sizes: tuple[float, float, float, float], pitch: float) -> Outcome:
    """Return a T plan under crossing gables, pitch in degrees."""
    length, width, bar, wing = sizes
    stock = find_stock(board, read_stocks())
    settings = Settings(stock, stock, stock, stock)
    roof = Roof(RoofKind.CROSSING, math.radians(pitch))
    trial = try_building(BuildingSizes(PlanKind.T, length, width, bar=bar, wing=wing, roof=roof), settings)
    return run(as_solid(trial.block), settings, title="T")


def gussets_of(outcome: Outcome) -> list[Part]:
    return [part for part in outcome.parts if is_gusset(part)]


CASES = [((9, 7, 3, 3), 45.0), ((7, 6, 2, 3), 45.0), ((8, 6, 3, 2), 33.69), ((9, 7, 3, 5), 33.69)]


@pytest.mark.slow
@pytest.mark.parametrize("board", ["birch-plywood-3", "grey-board-2"])
@pytest.mark.parametrize(("sizes", "pitch"), CASES)
def test_short_ridges_and_valleys_of_crossing_gables_are_held(board: str, sizes: tuple, pitch: float) -> None:
    outcome = built(board, sizes, pitch)
    assert [found.message for found in outcome.findings if found.severity is not Severity.NOTE] == []
    assert not outcome.hold.pieces
    assert shared_places(outcome) == []
    made = gussets_of(outcome)
    bearers = find_bearers(outcome.parts)
    for gusset in made:
        places = [place for place in find_glue_places(outcome.parts) if place.glued == gusset.id]
        if gusset.id.startswith("L"):
            (place,) = places
            assert bearers[gusset.id] == (place.host, place.panel)
        else:
            assert len({place.host for place in places}) == 2


def two_slopes(ridge: float, rise: float) -> Solid:
    """Return two slopes of a roof, parted where they meet: in a ridge, or where they fall to each other in a valley."""
    points = [(x, y, z) for y, z in ((-50, 60), (0, 60 + rise), (50, 60)) for x in (0, ridge)]
    return make_solid(np.array(points, dtype=float), [(0, 1, 3, 2), (2, 3, 5, 4)], roles={(2, 3): Role.CLOSURE})


@pytest.mark.parametrize("rise", [33.0, 60.0, -20.0, -33.0])
def test_a_gusset_lies_along_both_boards(rise: float) -> None:
    """Its edges lie in both undersides, whose angle follows from the rise; no board stands in another one."""
    stock = find_stock("birch-plywood-3", read_stocks())
    outcome = make_parts(two_slopes(10.0, rise), Settings(stock, stock, stock, stock), title="Slopes").outcome
    (gusset,) = gussets_of(outcome)
    assert {finding.code for finding in outcome.findings} == {"glued-once"} and not outcome.hold.pieces
    ring = gusset.panels[0].stands.apply(gusset.panels[0].ring)
    for facet in outcome.facets.facets:
        away = (ring - facet.frame.origin) @ facet.frame.n
        assert sorted(np.abs(away))[:2] == pytest.approx([0.0, 0.0], abs=1e-9)
    boards = board_solids((*outcome.parts,))
    assert max((v for (one, two), v in shared_volumes(boards).items() if one[0] != two[0]), default=0.0) < 1e-3


@pytest.mark.slow
def test_the_guide_tells_how_a_gusset_is_glued() -> None:
    guide = render_guide(built("birch-plywood-3", (9, 7, 3, 3), 45.0))
    assert "<h3>Gussets</h3>" in guide and "comes to rest on the other arm" in guide
    assert "Lay the board beside each gusset on its bare arm." in guide


@pytest.mark.parametrize("board", ["birch-plywood-3", "grey-board-2"])
@pytest.mark.parametrize("jog", one_quick([8.0, 10.0], 10.0))
def test_both_corners_of_a_narrow_jog_are_held(board: str, jog: float) -> None:
    """The strip of wall between them bends at neither end; one corner is too near the other for a second strip."""
    stock = find_stock(board, read_stocks())
    settings = Settings(stock, stock, stock, stock, propose=Proposal.ALL)
    walls = loop_of_walls([(0, 0), (200, 0), (200, 120), (100, 120), (100, 120 - jog), (0, 120 - jog)], height=70.0)
    outcome = run(walls, settings, title="Jog")
    assert [found.message for found in outcome.findings if found.severity is not Severity.NOTE] == []
    assert not outcome.hold.open_corners and not outcome.hold.pieces
    assert [part.id for part in gussets_of(outcome)] == ["G2-gusset"]
    assert shared_places(outcome) == []
