"""Rings without a wall that takes a joiner part along a corner, which a tie holds; what the maker marked stays bent."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.flow.unfolding import propose
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.solid.solid import Role, Solid, make_solid

BOARD = find_stock("birch-plywood-3", read_stocks())
ALL = Settings(BOARD, BOARD, BOARD, BOARD, propose=Proposal.ALL)


def walls(plan: np.ndarray, height: float, *, closed: bool = True, role: Role = Role.PLAIN) -> Solid:
    """Walls over a plan, (k, 2) mm, their upright edges marked alike."""
    count = len(plan)
    points = np.vstack([np.column_stack([plan, np.full(count, z)]) for z in (0.0, height)])
    sides = [(k, (k + 1) % count) for k in range(count if closed else count - 1)]
    roles = {} if role is Role.PLAIN else {(k, count + k): role for k in range(count)}
    return make_solid(points, [(a, b, count + b, count + a) for a, b in sides], roles=roles)


def tower(sides: int, radius: float, height: float = 76.2, **others) -> Solid:
    turns = 2.0 * np.pi * np.arange(sides) / sides
    return walls(radius * np.column_stack([np.cos(turns), np.sin(turns)]), height, **others)


def errors(outcome: Outcome) -> list[str]:
    return [finding.message for finding in outcome.findings if finding.severity == "error"]


@pytest.mark.parametrize(
    ("sides", "radius"),
    [
        (4, 33.0),
        (8, 40.0),
        pytest.param(12, 50.0, marks=pytest.mark.slow),
        pytest.param(24, 110.0, marks=pytest.mark.slow),
    ],
)
def test_a_tower_without_room_for_a_joiner_parts_along_corners(sides: int, radius: float) -> None:
    outcome = run(tower(sides, radius), ALL, title="Tower")
    assert not errors(outcome)
    assert outcome.proof.holds
    parted = [edge for edge in outcome.facets.edges if edge.role is Role.CLOSURE]
    sections = [part for part in outcome.parts if part.kind is PartKind.WALL]
    # a ring that parts at n places falls into n sections, and every place is held
    assert len(parted) == len(sections) > 0
    assert not outcome.hold.pieces
    assert not outcome.hold.open_corners
    # a tie holds a corner, a round joiner the seam of a wall that is all but round
    held = [part.id for part in outcome.parts if part.kind is PartKind.LAP and part.id.endswith(("-ring", "-outer"))]
    assert len(held) == len(parted) and all(name.startswith("L" if sides < 12 else "B") for name in held)
    assert not [finding for finding in outcome.findings if finding.code == "round-wall-too-tight"]
    assert not any(finding.code == "closure-unpaired" for finding in outcome.findings)
    assert {tab.part for tab in outcome.tabs} == {part.id for part in sections}


def test_corners_that_the_maker_bent_stay_bent() -> None:
    marked = tower(8, 40.0, role=Role.FLEX)
    proposed = propose(marked, ALL)
    assert [finding.code for finding in proposed.findings] == ["no-break-found"]
    assert not proposed.marks
    assert proposed.findings[0].message.startswith("No breaks can be proposed for the walls at the front wall, left: ")
    assert "closure" in proposed.findings[0].message


def test_a_wall_that_takes_a_joiner_comes_before_a_corner() -> None:
    # five sides of 30 mm and one of 100 mm
    plan = np.array([(0, 0), (100, 0), (110, 28), (85, 50), (15, 50), (-10, 28)], dtype=float)
    proposed = propose(walls(plan, 60.0), ALL)
    assert len(proposed.cuts) == 1
    assert all(mark.role is Role.FLEX for mark in proposed.marks)


@pytest.mark.parametrize("length", [200.0, 620.0])
def test_open_chains_part_only_where_no_sheet_takes_them(length: float) -> None:
    plan = np.array([(0, 120), (0, 0), (length, 0), (length, 120)], dtype=float)
    marked = walls(plan, 60.0, closed=False, role=Role.FLEX)
    outcome = run(marked, replace(ALL, propose=Proposal.BREAKS), title="Ruin")
    assert not errors(outcome)
    assert len(outcome.joiners) == (0 if length < 300.0 else 1)


@pytest.mark.parametrize("length", [200.0, 620.0])
def test_walls_that_close_no_ring_are_joined_where_no_sheet_takes_them(length: float) -> None:
    plan = np.array([(0, 120), (0, 0), (length, 0), (length, 120)], dtype=float)
    outcome = run(walls(plan, 60.0, closed=False), ALL, title="Ruin")
    assert not errors(outcome)
    assert len(outcome.joiners) == (0 if length < 300.0 else 1)
    assert not outcome.hold.pieces and not outcome.hold.open_corners


@pytest.mark.parametrize("board", one_quick(["mdf-3", "birch-plywood-3", "grey-board-2"]))
@pytest.mark.parametrize("jog", one_quick([12.0, 12.7, 16.0], 12.7))
def test_a_narrow_jog_is_parted_so_that_something_holds_it(jog: float, board: str) -> None:
    # a tower that steps out of the corner of a house by a short wall, beside whose bend little is left to glue to
    a, b = 101.6 + jog, 114.3
    plan = [(101.6, 76.2), (a, 76.2), (a, 127.0), (63.5, 127.0), (63.5, b), (0, b), (0, 0), (101.6, 0)]
    stock = find_stock(board, read_stocks())
    settings = Settings(stock, stock, stock, stock, propose=Proposal.ALL)
    outcome = run(walls(np.array(plan, dtype=float), 100.0), settings, title="Tower on a corner")
    assert not errors(outcome)
    assert not outcome.hold.pieces and not outcome.hold.open_corners
