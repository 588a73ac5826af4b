"""Inner walls and walls against others: they are sections of their own that stand clear, and joiners keep off them."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from boards_as_solids import board_solids, shared_volumes
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.settings import BoardFace
from stowfold.geometry.solid.crowded import faces_that_go_on
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid, make_solid

BOARD = find_stock("birch-plywood-3", read_stocks())
ALL = Settings(BOARD, BOARD, BOARD, BOARD, propose=Proposal.ALL)


def walls(*lines: list[tuple[float, float]], height: float = 60.0) -> Solid:
    """Walls along lines of the plan, mm, that share their corners."""
    plan = list(dict.fromkeys(point for line in lines for point in line))
    at, count = {point: k for k, point in enumerate(plan)}, len(plan)
    points = [(x, y, z) for z in (0.0, height) for x, y in plan]
    sides = [(at[a], at[b]) for line in lines for a, b in pairwise(line)]
    return make_solid(np.array(points, dtype=float), [(a, b, count + b, count + a) for a, b in sides])


def errors(outcome: Outcome) -> list[str]:
    return [finding.message for finding in outcome.findings if finding.severity == "error"]


#: A house whose long walls are split where an inner wall meets them, and that wall.
SPLIT = [(0.0, 0.0), (110.0, 0.0), (220.0, 0.0), (220.0, 120.0), (110.0, 120.0), (0.0, 120.0), (0.0, 0.0)]
INNER = [(110.0, 0.0), (110.0, 120.0)]


@pytest.mark.parametrize("face", BoardFace)
def test_an_inner_wall_that_shares_edges_is_a_section_of_its_own(face: BoardFace) -> None:
    outcome = run(walls(SPLIT, INNER), replace(ALL, face=face), title="House")
    assert not errors(outcome)
    [inner] = [part for part in outcome.parts if part.panels[0].facet >= 0 and _is_at(part, 110.0)]
    y = inner.panels[0].stands.apply(inner.panels[0].ring)[:, 1]
    # clear of the boards of both walls, wherever these lie, and no shorter than need be
    room = 120.0 if face is BoardFace.INSIDE else 120.0 - 2 * BOARD.thickness
    assert room - 1.0 < np.ptp(y) < room - 0.1
    assert {tab.part for tab in outcome.tabs} >= {inner.id}
    for joiner in outcome.joiners:
        assert abs(joiner.line[0, 0] - 110.0) > joiner.cheek_width / 2


def _is_at(part, x: float) -> bool:
    if part.kind not in (PartKind.WALL, PartKind.PANEL):
        return False
    points = part.panels[0].stands.apply(part.panels[0].ring)
    return bool(np.ptp(points[:, 0]) < 1.0 and abs(points[:, 0].mean() - x) < 1.0)


def test_walls_against_a_higher_house_end_at_its_board() -> None:
    house = [(0.0, 0.0), (120.0, 0.0), (120.0, 100.0), (0.0, 100.0), (0.0, 0.0)]
    solid = walls(house, height=90.0)
    wing = np.array([(120, 0), (200, 0), (200, 100), (120, 100)], dtype=float)
    points = np.vstack([solid.points, *(np.column_stack([wing, np.full(4, z)]) for z in (0.0, 50.0))])
    faces = [*solid.faces, *((8 + k, 9 + k, 13 + k, 12 + k) for k in range(3))]
    outcome = run(make_solid(points, faces), ALL, title="Wing")
    assert not errors(outcome)
    boards = board_solids(part for part in outcome.parts if part.kind in (PartKind.WALL, PartKind.PANEL))
    assert max(shared_volumes(boards).values(), default=0.0) < 1e-2
    low = [solid for _, solid in boards if solid.bounding_box()[5] < 60.0]
    high = [solid for _, solid in boards if solid.bounding_box()[5] > 60.0]
    side_walls = [solid for solid in low if solid.bounding_box()[3] - solid.bounding_box()[0] > 50.0]
    # the corners of the house are round, and the walls run on to the round of them
    gaps = [min(solid.min_gap(other, 20.0) for other in high) for solid in side_walls]
    assert len(gaps) == 2 and max(gaps) < 1.0


@pytest.mark.parametrize(
    ("turns", "pair"),
    [
        ((0.0, 180.0, 90.0), (0, 1)),  # a wall that another one meets
        ((0.0, 90.0, 45.0), (0, 1)),  # a corner with a wall inside
        ((0.0, 90.0, 225.0), None),  # nobody knows which of three alike
        ((0.0, 120.0, 240.0), None),
    ],
)
def test_walls_go_on_straight_or_round_the_outer_corner(turns: tuple[float, ...], pair: tuple[int, int] | None) -> None:
    away = np.array([(np.cos(turn), np.sin(turn), 0.5) for turn in np.radians(turns)])
    normals = np.column_stack([-away[:, 1], away[:, 0], np.zeros(len(turns))])
    ends = np.array([(0.0, 0.0, 0.0), (0.0, 0.0, 1.0)])
    found = faces_that_go_on(ends, normals, away, np.ones(len(turns)), np.arange(len(turns)))
    assert (found if found is None else tuple(sorted(found[0]))) == pair


def test_houses_that_touch_at_a_corner_stay_two_houses() -> None:
    one = [(0.0, 0.0), (120.0, 0.0), (120.0, 100.0), (0.0, 100.0), (0.0, 0.0)]
    two = [(120.0, 100.0), (240.0, 100.0), (240.0, 220.0), (120.0, 220.0), (120.0, 100.0)]
    facets = find_facets(walls(one, two))
    assert not facets.findings
    assert [len(shell.facets) for shell in facets.shells] == [4, 4]
    # the boards of both grow away from their rooms
    for shell in facets.shells:
        middle = np.mean([facets.corners(facets.facets[k]).mean(axis=0) for k in shell.facets], axis=0)
        for k in shell.facets:
            away = facets.corners(facets.facets[k]).mean(axis=0) - middle
            assert away @ facets.facets[k].frame.n > 0.0


def test_a_floor_that_an_inner_wall_divides_stays_one_floor() -> None:
    solid = walls(SPLIT, INNER)
    at = {tuple(point): k for k, point in enumerate(solid.points.tolist())}
    left, right = [(0, 0), (110, 0), (110, 120), (0, 120)], [(110, 0), (220, 0), (220, 120), (110, 120)]
    floors = [tuple(at[float(x), float(y), 0.0] for x, y in half) for half in (left, right)]
    outcome = run(make_solid(solid.points, [*solid.faces, *floors]), ALL, title="House with a floor")
    assert not errors(outcome)
    assert sum(part.kind is PartKind.FLOOR for part in outcome.parts) == 1
