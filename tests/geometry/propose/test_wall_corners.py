"""Corners of walls: they bend where a board bends there and part where it does not, so that any walls are built."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.propose.net import propose_net
from stowfold.geometry.propose.wall_corners import bending_corners, upright_corners
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
SHEET = (594.0, 294.0)
FAULTS = {"lattice-too-short", "link-over-stressed", "bridge-over-stressed", "slit-contact", "vanishing-panel"}

BOX = [(0.0, 0.0), (200.0, 0.0), (200.0, 120.0), (0.0, 120.0)]
#: A step of 20 mm in one wall: too short for a bend at both its ends.
STEP = [(0.0, 0.0), (200.0, 0.0), (200.0, 120.0), (110.0, 120.0), (110.0, 100.0), (0.0, 100.0)]
NARROW = [(0.0, 0.0), (120.0, 0.0), (120.0, 14.0), (0.0, 14.0)]


def walls(plan: list[tuple[float, float]], height: float) -> Solid:
    """Return walls nothing of which is marked."""
    block = block_out(plan, height=height)
    return make_solid(block.points, block.faces)


def bent(facets: Facets) -> frozenset[int]:
    (shell,) = facets.shells
    return bending_corners(facets, shell, SETTINGS.as_cut)


def errors(outcome: Outcome) -> list[str]:
    return [finding.code for finding in outcome.findings if finding.severity is Severity.ERROR]


def faults(facets: Facets, bends: frozenset[int]) -> set[str]:
    """Return what the sections find fault with where these corners bend and a ring is opened at none of them."""
    edges = tuple(replace(edge, role=Role.FLEX) if edge.id in bends else edge for edge in facets.edges)
    return FAULTS & {finding.code for finding in unfold(replace(facets, edges=edges), SETTINGS.as_cut).findings}


@pytest.mark.parametrize(
    ("plan", "height"), one_quick([(STEP, 60.0), (BOX, 8.0), (BOX, 20.0), (NARROW, 60.0)], (STEP, 60.0))
)
def test_walls_with_corners_that_cannot_bend_are_cut_and_proved(plan: list[tuple[float, float]], height: float) -> None:
    solid = walls(plan, height)
    outcome = run(solid, replace(SETTINGS, propose=Proposal.ALL), title="Toll house")
    assert errors(outcome) == [] and outcome.proof.holds
    stand = {panel.facet for part in outcome.parts if part.kind is PartKind.WALL for panel in part.panels}
    assert len(stand) == sum(facet.upright for facet in outcome.facets.facets)


def test_corners_of_walls_that_are_high_and_wide_all_bend() -> None:
    facets = find_facets(walls(BOX, 60.0))
    (shell,) = facets.shells
    assert len(bent(facets)) == len(upright_corners(facets, shell)) == 4


def test_corners_of_walls_too_low_for_any_lattice_all_part() -> None:
    facets = find_facets(walls(BOX, 6.0))
    assert bent(facets) == frozenset()
    marks = propose_net(facets, SETTINGS.as_cut, largest=SHEET).marks
    assert [mark.role for mark in marks] == [Role.CLOSURE] * 4


def test_one_end_of_a_short_step_parts_and_no_other_corner() -> None:
    facets = find_facets(walls(STEP, 60.0))
    (shell,) = facets.shells
    corners = {edge.id for edge in upright_corners(facets, shell)}
    bends = bent(facets)
    (parted,) = corners - bends
    x, y = facets.points[facets.edges[parted].start, :2]
    assert (x, y) in [(110.0, 120.0), (110.0, 100.0)]
    assert not faults(facets, bends) and "vanishing-panel" in faults(facets, frozenset(corners))


@pytest.mark.parametrize("seed", range(6))
def test_no_more_corner_could_bend_beside_those_that_do(seed: int) -> None:
    """Stairs of random steps: whatever parts, the sections would find fault with it beside the others."""
    steps = np.random.default_rng(seed).uniform(8.0, 60.0, 6)
    x, y = np.cumsum(steps[::2]), np.cumsum(steps[1::2])[::-1]
    stairs = [point for k in range(3) for point in ((float(x[k]), float(y[k])), (float(x[k]), float([*y, 0.0][k + 1])))]
    plan = [(0.0, 0.0), *reversed(stairs), (0.0, float(y[0]))]
    facets = find_facets(walls(plan, 60.0))
    (shell,) = facets.shells
    bends = bent(facets)
    assert not faults(facets, bends)
    for edge in upright_corners(facets, shell):
        if edge.id not in bends:
            assert faults(facets, bends | {edge.id})


def test_a_corner_that_the_maker_marks_bends_whatever_becomes_of_it() -> None:
    low = walls(BOX, 6.0)
    facets = find_facets(low)
    first = upright_corners(facets, facets.shells[0])[0]
    roles = dict.fromkeys(first.host_edges, Role.FLEX)
    marked = replace(
        low, edge_roles=tuple(roles.get(name, role) for name, role in zip(low.edge_ids, low.edge_roles, strict=True))
    )
    proposed = propose_net(find_facets(marked), SETTINGS.as_cut, largest=SHEET)
    assert [mark.role for mark in proposed.marks] == [Role.CLOSURE] * 3
