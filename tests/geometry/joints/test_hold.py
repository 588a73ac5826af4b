"""What holds sections together: nothing marked, marked in part, and walls whose last corner stays open.

Pieces are compared with the connected components that networkx finds over the marks of the test itself.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace

import networkx
import numpy as np
import pytest
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Finding, Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.settings import ClosureKind, ClosureSettings
from stowfold.geometry.solid.solid import Role, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
HEIGHT = 60.0


def ring(corners: int, *, roof: bool = False) -> tuple[np.ndarray, list[tuple[int, ...]]]:
    """Walls on a regular plan, point k below and corners + k above; with a roof that meets in one point."""
    turn = 2 * math.pi * np.arange(corners) / corners
    plan = 70.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    points = [(x, y, z) for z in (0.0, HEIGHT) for x, y in plan]
    faces: list[tuple[int, ...]] = [
        (k, (k + 1) % corners, corners + (k + 1) % corners, corners + k) for k in range(corners)
    ]
    if roof:
        points.append((0.0, 0.0, HEIGHT + 40.0))
        faces += [(corners + k, corners + (k + 1) % corners, 2 * corners) for k in range(corners)]
    return np.array(points), faces


def build(corners: int, marks: dict[int, Role] | None = None, *, roof: bool = False, **settings: object) -> Outcome:
    """Run a ring; marks: role of the upright edge at corner k."""
    points, faces = ring(corners, roof=roof)
    roles = {(k, corners + k): role for k, role in (marks or {}).items()}
    solid = make_solid(points, faces, roles=roles, source="Tower", edge_ids=None)
    return run(solid, replace(SETTINGS, **settings), title="Tower")


def found(outcome: Outcome, code: str) -> list[Finding]:
    return [finding for finding in outcome.findings if finding.code == code]


def guide(outcome: Outcome) -> str:
    return re.sub(r"\s+", " ", render_guide(outcome))


@pytest.mark.slow
def test_a_tower_without_marks_is_said_to_be_loose_boards():
    outcome = build(8, roof=True)
    for finding, what in zip(found(outcome, "nothing-marked"), ("walls", "roof faces"), strict=True):
        assert finding.severity is Severity.WARNING
        assert finding.message.startswith(f"Nothing is marked: the 8 {what} of 'Tower' come out as 8 loose boards")
        assert "propose bends" in finding.message and "--propose all" in finding.message
        assert len(finding.where.faces) == 8
    assert outcome.hold.words == "16 loose boards"
    page = guide(outcome)
    assert "16 loose boards" in page
    assert "Nothing holds these walls to each other" in page
    assert "Bend " not in page and "Bring the open edges together" not in page


@pytest.mark.parametrize("roof", [False, True])
@pytest.mark.slow
def test_the_proposal_that_is_offered_makes_it_one_piece(roof):
    outcome = build(8, roof=roof, propose=Proposal.ALL)
    assert not outcome.hold.loose and not outcome.hold.words
    assert not found(outcome, "nothing-marked") and not found(outcome, "loose-pieces")


def test_loose_walls_are_no_ring_in_the_guide():
    """Four walls of a lean-to, two of them sloped on top, that nobody marked."""
    points = [(0, 0, 0), (150, 0, 0), (150, 80, 0), (0, 80, 0), (0, 0, 50), (150, 0, 50), (150, 80, 80), (0, 80, 80)]
    faces = [(k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k) for k in range(4)]
    outcome = run(make_solid(np.array(points, float), faces, source="Lean-to"), SETTINGS, title="Lean-to")
    assert "the 4 walls of 'Lean-to' come out as 4 loose boards" in found(outcome, "nothing-marked")[0].message
    page = guide(outcome)
    assert "Nothing holds these walls to each other" in page
    for claim in ("the ring", "the corners", "spring open", "two opposite sides"):
        assert claim not in page.lower()


@pytest.mark.parametrize("bent", [(0,), (0, 3), (0, 1, 3), (0, 1, 3, 4), (1, 2, 4, 5)])
def test_pieces_are_the_components_that_marks_join(bent):
    outcome = build(6, dict.fromkeys(bent, Role.FLEX))
    graph = networkx.Graph()
    graph.add_nodes_from(range(6))
    # wall k runs from corner k to corner k + 1, so corner k joins walls k - 1 and k
    graph.add_edges_from(((k - 1) % 6, k) for k in bent)
    count = networkx.number_connected_components(graph)
    assert count > 1 and len(outcome.hold.pieces) == count
    (finding,) = found(outcome, "loose-pieces")
    assert finding.severity is Severity.WARNING and finding.message.startswith(
        f"Nothing holds the {count} pieces of 'Tower'"
    )
    assert not found(outcome, "nothing-marked")
    assert outcome.hold.words.startswith(f"{count} loose ")


def test_a_corner_without_mark_in_a_ring_that_is_one_piece():
    outcome = build(6, dict.fromkeys(range(5), Role.FLEX))
    assert not outcome.hold.loose and len(outcome.hold.open_corners) == 1
    (finding,) = found(outcome, "loose-corner")
    assert finding.severity is Severity.NOTE and "both ends of W1 meet" in finding.message
    page = guide(outcome).lower()
    assert "the ring" not in page and "lower the walls onto the floor" in page


def test_a_closure_holds_by_what_is_glued_to_it_and_not_by_its_mark():
    """Two halves of a ring; at their two closures laps hold, while left to rest nothing does."""
    marks = {0: Role.CLOSURE, 1: Role.FLEX, 2: Role.FLEX, 3: Role.CLOSURE, 4: Role.FLEX, 5: Role.FLEX}
    held = build(6, marks)
    assert any(part.kind.value == "lap" for part in held.parts)
    assert not held.hold.loose and not found(held, "loose-pieces")
    resting = build(6, marks, closure=ClosureSettings(kind=ClosureKind.REST))
    (finding,) = found(resting, "loose-pieces")
    assert finding.severity is Severity.NOTE and "closures" in finding.message
    assert "the ring" not in guide(resting).lower()


def test_a_joiner_holds_both_ends():
    points, faces = ring(4)
    points = np.vstack([points, (points[0] + points[1]) / 2, (points[4] + points[5]) / 2])
    faces = [(0, 8, 9, 4), (8, 1, 5, 9), *faces[1:]]
    roles = {(k, 4 + k): Role.FLEX for k in range(4)} | {(8, 9): Role.BREAK}
    outcome = run(make_solid(points, faces, roles=roles, source="Store"), SETTINGS, title="Store")
    assert len(outcome.joiners) == 1
    assert not outcome.hold.loose and not outcome.hold.open_corners
    page = guide(outcome)
    assert "Close the ring with the last end." in page and "Hold the ring above the floor" in page
