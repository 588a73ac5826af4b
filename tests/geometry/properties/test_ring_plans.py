"""Whatever plan walls stand on: the proposed bends and breaks open every ring, fit every sheet and close again.

The judges are of other libraries: networkx says whether bends hang together as trees and whether rings are whole,
shapely how large sections are.
"""

from __future__ import annotations

from dataclasses import dataclass

import networkx as nx
import numpy as np
from hypothesis import given, note
from hypothesis import strategies as st
from ring_plans import FAMILIES, OTHERS, STOCKS, Plan, make_plan
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.limits import largest_piece
from stowfold.geometry.flow.unfolding import Unfolded, unfold_solid
from stowfold.geometry.joints.joiner import Joiners, make_joiners
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.proof.prove import prove
from stowfold.geometry.solid.facets import Edge
from stowfold.geometry.solid.solid import Role

#: A plan of a family by its number, and a stock.
PLANS = st.builds(make_plan, st.sampled_from(sorted([*FAMILIES, *OTHERS])), st.integers(0, 9_999))
_BOARDS = {name: find_stock(name, read_stocks()) for name in STOCKS}

#: What must never be said of proposals.
_NEVER = {"bad-break-line", "flex-loop-without-break"}


@dataclass(frozen=True)
class Parted:
    """A plan with all that is proposed for it, its sections and joiners."""

    settings: Settings
    unfolded: Unfolded
    joiners: Joiners

    @property
    def upright(self) -> list[Edge]:
        """The edges at which two walls meet."""
        facets = self.unfolded.facets
        return [edge for edge in facets.edges if edge.right is not None and all(f.upright for f in facets.pair(edge))]


def part(plan: Plan, stock: str) -> Parted:
    note(f"{plan.name}, height {plan.height:g}, {stock}")
    board = _BOARDS[stock]
    settings = Settings(board, board, board, board, propose=Proposal.ALL)
    unfolded = unfold_solid(plan.solid(), settings)
    joiners = make_joiners(unfolded.facets, unfolded.sections, settings.as_cut)
    codes = {
        finding.code for found in (unfolded.findings, unfolded.sections.findings, joiners.findings) for finding in found
    }
    assert not codes & _NEVER
    return Parted(settings, unfolded, joiners)


@given(PLANS, st.sampled_from(STOCKS))
def test_bends_hang_together_as_trees_and_every_ring_is_held(plan: Plan, stock: str) -> None:
    parted = part(plan, stock)
    facets, sections = parted.unfolded.facets, parted.unfolded.sections
    bent = nx.MultiGraph([(facets.edges[k].left, facets.edges[k].right) for k in sections.hinges.edges])
    assert bent.number_of_nodes() == 0 or nx.is_forest(bent)
    # nothing that met in the model is left open: it bends, a joiner takes it, or it is a closure
    joined = {frozenset(joiner.end_facets) for joiner in parted.joiners.joiners}
    for edge in parted.upright:
        held = edge.id in sections.hinges.edges or edge.role is Role.CLOSURE
        assert held or frozenset((edge.left, edge.right)) in joined
    whole = nx.MultiGraph([(edge.left, edge.right) for edge in parted.upright])
    assert len(nx.cycle_basis(nx.Graph(whole))) >= len(plan.rings)


@given(PLANS, st.sampled_from(STOCKS))
def test_sections_fit_a_sheet_and_fold_back_to_the_plan(plan: Plan, stock: str) -> None:
    parted = part(plan, stock)
    settings, sections = parted.settings, parted.unfolded.sections
    low, high = sorted(largest_piece(settings.walls, settings.lasers))
    if not any(finding.code == "no-break-found" for finding in parted.unfolded.findings):
        for section in sections.parts:
            x0, y0, x1, y1 = section.outline.bounds
            size = sorted((x1 - x0, y1 - y0))
            assert size[0] <= low + 1e-6 and size[1] <= high + 1e-6
    parts = (*sections.parts, *parted.joiners.parts)
    proof = prove(parted.unfolded.facets, sections, parts, parted.joiners.joiners, (), settings.as_cut, limit=1e-3)
    told = (proof.corner_distance, proof.loop_gap, proof.joiner_distance, proof.closure_distance)
    assert all(distance is None or distance < 1e-3 for distance in told)
    assert proof.board_overlap is not None and proof.board_overlap < 1e-3


@given(st.integers(12, 32), st.integers(25, 120), st.sampled_from((50.8, 76.2, 125.0)))
def test_round_towers_are_strips_with_lattices_all_round(sides: int, radius: int, height: float) -> None:
    turns = 2.0 * np.pi * np.arange(sides) / sides
    plan = Plan("tower", [radius * np.column_stack([np.cos(turns), np.sin(turns)])], height)
    parted = part(plan, "birch-plywood-3")
    sections = parted.unfolded.sections
    held = sum(edge.role is Role.CLOSURE for edge in parted.upright) + len(parted.joiners.joiners)
    assert held >= 1
    # every other corner bends
    assert len(sections.hinges.edges) + held == sides + len(parted.joiners.joiners)
