"""Floors under several rings of walls: a court in a house, houses side by side, and floors that take many pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from shapely import get_parts
from shapely.affinity import rotate
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.joints.floor_grid import off_slots
from stowfold.geometry.joints.floor_pieces import split_floor
from stowfold.geometry.joints.floor_turn import check_turn
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid, make_solid

BOARD = find_stock("birch-plywood-3", read_stocks())
BUILD = BuildSettings(BOARD, BOARD, BOARD, BOARD)
ALL = Settings(BOARD, BOARD, BOARD, BOARD, propose=Proposal.ALL)


def rings(*plans: Sequence[tuple[float, float]], height: float = 60.0) -> Solid:
    """Walls over plans, mm, that share no corner of the mesh."""
    points, faces = [], []
    for plan in plans:
        first, count = len(points), len(plan)
        points += [(x, y, z) for z in (0.0, height) for x, y in plan]
        faces += [
            (first + k, first + (k + 1) % count, first + count + (k + 1) % count, first + count + k)
            for k in range(count)
        ]
    return make_solid(np.array(points, dtype=float), faces)


def square(x: float, y: float, length: float, width: float) -> list[tuple[float, float]]:
    return [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]


def floors(outcome: Outcome) -> list[Polygon]:
    """Floors as they lie under the building, slots filled."""
    placed = []
    for part in outcome.parts:
        if part.kind is PartKind.FLOOR:
            pose = part.panels[0].stands
            placed.append(Polygon(pose.apply(np.array(part.outline.exterior.coords))[:, :2]))
    return placed


def errors(outcome: Outcome) -> list[str]:
    return [finding.message for finding in outcome.findings if finding.severity == "error"]


def test_a_court_and_the_house_round_it_stand_on_one_floor() -> None:
    outcome = run(rings(square(0, 0, 250, 200), square(60, 60, 130, 80)), ALL, title="Court")
    assert not errors(outcome)
    [floor] = floors(outcome)
    # the house's walls and the rim, corners rounded
    assert 256 * 206 < floor.area < 280 * 230
    assert {tab.floor for tab in outcome.tabs} == {"F1"}
    assert {tab.part for tab in outcome.tabs} >= {"W1", "W2"}


@pytest.mark.parametrize(("gap", "count"), [(8.0, 1), (60.0, 2)])
def test_houses_whose_floors_would_meet_share_one(gap: float, count: int) -> None:
    outcome = run(rings(square(0, 0, 120, 90), square(126 + gap, 0, 100, 90)), ALL, title="Houses")
    assert not errors(outcome)
    made = floors(outcome)
    assert len(made) == count
    assert unary_union(made).area == pytest.approx(sum(floor.area for floor in made))


def test_a_floor_whose_cut_crosses_both_legs_of_an_u_loses_neither() -> None:
    plan = Polygon([(0, 0), (360, 0), (360, 254), (254, 254), (254, 100), (100, 100), (100, 254), (0, 254)])
    pieces = split_floor(plan, [], np.zeros(2), 25.4, (400.0, 150.0))
    assert len(pieces) == 3
    assert sum(piece.area for piece in pieces) == pytest.approx(plan.area)
    assert unary_union(pieces).area == pytest.approx(plan.area)


def test_no_grid_line_runs_along_the_end_of_a_slot() -> None:
    slot = box(10.0, 20.0, 25.0, 22.4)
    along, across = LineString([(25.1, 0.0), (25.1, 60.0)]), LineString([(17.0, 22.3), (17.0, 60.0)])
    left = get_parts(off_slots(along, [slot]))
    assert all(piece.distance(slot) >= 0.25 for piece in left)
    assert sum(piece.length for piece in left) > 50.0
    # a line that only ends at a slot ends at its edge, as nothing is engraved on what falls out
    assert off_slots(across, [slot]).equals(LineString([(17.0, 22.4), (17.0, 60.0)]))


def test_no_grid_line_lies_on_a_cut_of_a_floor_in_pieces() -> None:
    outcome = run(rings(square(0, 0, 482.6, 254.0)), replace(ALL, laser=Laser(bed=(300.0, 300.0))), title="Quay")
    parts = [part for part in outcome.parts if part.kind is PartKind.FLOOR]
    assert len(parts) == 2
    for part in parts:
        lines = [LineString(line) for line in part.engrave]
        assert sum(line.length for line in lines) > 3000.0
        assert max(line.intersection(part.outline.boundary.buffer(0.05)).length for line in lines) < 0.2
        assert max(line.difference(part.outline).length for line in lines) < 1e-6


def slots_along(side: float, others: Sequence[float]) -> list[Polygon]:
    """Slots across a floor that keep every line of the grid but a few from being cut along, beside given places."""
    every = np.arange(25.4, side - 1.0, 25.4)
    return [box(at - 8.0, 2.0, at + 8.0, 5.0) for at in every if np.abs(np.array(others) - at).min() > 1.0]


@pytest.mark.parametrize(
    ("free", "cut"),
    [((254.0,), 254.0), ((50.8, 254.0), 254.0), ((1000.0,), 12.7)],
    ids=["far from the middle", "the one nearest to the middle", "none: between two squares"],
)
def test_a_floor_parts_along_whatever_line_is_free(free: Sequence[float], cut: float) -> None:
    floor, slots = box(-4.0, 0.0, 300.0, 290.0), slots_along(300.0, free)
    pieces = split_floor(floor, slots, np.zeros(2), 25.4, (294.0, 294.0))
    assert len(pieces) == 2 and sum(piece.area for piece in pieces) == pytest.approx(floor.area)
    seam = pieces[0].intersection(pieces[1])
    assert not any(seam.intersects(slot) for slot in slots)
    assert seam.bounds[0] % 25.4 == pytest.approx(cut % 25.4)


def test_a_floor_without_squares_parts_as_well() -> None:
    floor = box(0.0, 0.0, 500.0, 200.0)
    pieces = split_floor(floor, [box(240.0, 10.0, 258.0, 14.0)], np.zeros(2), None, (294.0, 294.0))
    assert sorted(piece.bounds[2] - piece.bounds[0] for piece in pieces) == pytest.approx([240.0, 260.0])


def _turned(degrees: float, plan: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """A plan turned round the origin, by shapely."""
    return list(rotate(Polygon(plan), degrees, origin=(0, 0)).exterior.coords)[:-1]


@pytest.mark.parametrize(
    ("degrees", "askew"), [(0.0, False), (35.0, True), (90.0, False), (-80.0, True)], ids=["along", "35", "90", "-80"]
)
def test_squares_askew_to_the_walls_are_told_once_with_their_angle(degrees: float, askew: bool) -> None:
    facets = find_facets(rings(_turned(degrees, square(0, 0, 200, 120))))
    told = check_turn(facets, BUILD)
    assert [finding.code for finding in told] == ["squares-askew"] * askew
    if askew:
        away = abs(degrees - 90.0 * round(degrees / 90.0))
        assert f" {away:.0f} degrees askew" in told[0].message
        assert len(told[0].where.faces) == 4
    # without squares there is nothing that could lie askew, and no turn lays squares along six walls
    assert not check_turn(facets, replace(BUILD, ground=replace(BUILD.ground, square=None)))
    hexagon = [(100 * np.cos(np.pi * k / 3), 100 * np.sin(np.pi * k / 3)) for k in range(6)]
    assert not check_turn(find_facets(rings(_turned(degrees, hexagon))), BUILD)
