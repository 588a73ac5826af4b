"""Roofs whose ridge is shorter than what bends take: nets that lose a panel are passed over, never drawn by shapely."""

from __future__ import annotations

from dataclasses import replace

import networkx
import numpy as np
import pytest
from marked_roofs import marked_block_out
from slow_cases import one_quick
from stowfold.geometry.board.lattice_checks import check_lattice
from stowfold.geometry.board.lattice_design import design_lattice
from stowfold.geometry.board.stock import Stock, find_stock, read_stocks
from stowfold.geometry.findings import Location, Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.plan.walls import Roof, RoofKind, pitch_of_rise
from stowfold.geometry.propose.net import choose_net, links_of, propose_net, search_for
from stowfold.geometry.solid.facets import Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())
SHEET = (594.0, 294.0)


def board(thickness: float) -> Stock:
    return replace(BIRCH, name=f"board-{thickness:g}", thickness=thickness)


def settings(thickness: float) -> Settings:
    stock = board(thickness)
    return Settings(stock, stock, stock, stock, propose=Proposal.ALL)


def hip_house(length: float, width: float, rise: float, role: Role = Role.PLAIN) -> Solid:
    """A house under a hip roof whose ridge is length less width long; the roof's inner edges bear ``role``."""
    plan = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    built = marked_block_out(plan, roof=Roof(RoofKind.HIP, pitch_of_rise(rise), 6.0))
    inner = [pair for pair, _ in built.roles if min(pair) >= 8]
    return make_solid(built.points, built.faces, roles=dict.fromkeys(inner, role))


def roof_of(facets: Facets):
    return next(shell for shell in facets.shells if shell.kind is ShellKind.ROOF)


@pytest.mark.parametrize("thickness", one_quick([3.0, 5.0, 6.0]))
@pytest.mark.parametrize(
    ("length", "width", "rise"), one_quick([(105.0, 100.0, 16.0), (152.0, 150.0, 8.0), (80.0, 76.0, 16.0)])
)
def test_a_nearly_square_hip_is_cut_whatever_the_board(
    length: float, width: float, rise: float, thickness: float
) -> None:
    outcome = run(hip_house(length, width, rise), settings(thickness), title="Toll house")
    assert not [finding for finding in outcome.findings if finding.severity is Severity.ERROR]
    assert outcome.proof.holds
    assert sum(len(part.panels) for part in outcome.parts if part.id.startswith("R")) == 4


def test_a_net_whose_panels_vanish_does_not_fit() -> None:
    """A ridge of 2 mm between hips that all bend: both slopes lose their upper side, and the maker is told."""
    solid = hip_house(152.0, 150.0, 16.0, Role.FLEX)
    facets = find_facets(solid)
    build = settings(3.0)
    net = choose_net(search_for(facets, roof_of(facets), build, largest=SHEET))
    assert not net.fits
    sections = unfold(find_facets(propose_net(facets, build, largest=SHEET).put_on(solid)), build)
    found = [finding for finding in sections.findings if finding.code == "vanishing-panel"]
    assert found and all("make it longer than" in finding.message for finding in found)


@pytest.mark.parametrize("length", [5.9, 6.2, 6.5, 30.0])
def test_no_edge_too_short_for_a_lattice_is_proposed_to_bend(length: float) -> None:
    """The least axis is the one from which on check_lattice says nothing of lattice-too-short."""
    facets = find_facets(hip_house(100.0 + length, 100.0, 4.0))
    shell = roof_of(facets)
    ridge = min(links_of(facets, shell), key=lambda link: link.length)
    made = design_lattice(BIRCH, angle=ridge.bend, axis_length=ridge.length)
    too_short = "lattice-too-short" in {finding.code for finding in check_lattice(made, BIRCH, Location())}
    assert too_short == (ridge.length <= made.least_axis)
    net = choose_net(search_for(facets, shell, settings(3.0), largest=SHEET))
    assert net.fits
    assert not (too_short and ridge.edge in net.edges)


def test_the_pieces_of_a_net_are_those_of_its_bends() -> None:
    """networkx finds the same pieces from the bent edges alone, where the search had to part more than a tree."""
    facets = find_facets(hip_house(152.0, 150.0, 16.0))
    shell = roof_of(facets)
    net = choose_net(search_for(facets, shell, settings(6.0), largest=SHEET))
    graph = networkx.Graph()
    graph.add_nodes_from(shell.facets)
    graph.add_edges_from((link.one, link.two) for link in links_of(facets, shell) if link.edge in net.edges)
    assert {frozenset(piece) for piece in net.pieces} == {frozenset(c) for c in networkx.connected_components(graph)}
    assert networkx.is_forest(graph)


def test_a_narrow_lid_keeps_both_its_arms() -> None:
    """An L of arms 16 mm wide on walls of 6 mm: bends on both sides of an arm would pass each other, so one is parted.

    The lattices that the maker gets are wider than the first ones, whose axes are not yet shortened.
    """
    corners = np.array([(0, 0), (120, 0), (120, 16), (16, 16), (16, 90), (0, 90)], dtype=float)
    count = len(corners)
    points = np.vstack([np.column_stack([corners, np.full(count, z)]) for z in (0.0, 60.0)])
    faces = [(k, (k + 1) % count, (k + 1) % count + count, k + count) for k in range(count)]
    faces.append(tuple(range(count, 2 * count)))
    solid = make_solid(points, faces)
    facets = find_facets(solid)
    (shell,) = facets.shells
    build = settings(6.0)
    net = choose_net(search_for(facets, shell, build, largest=SHEET))
    assert net.fits
    sections = unfold(find_facets(propose_net(facets, build, largest=SHEET).put_on(solid)), build)
    assert not {"panel-falls-apart", "vanishing-panel"}.intersection(f.code for f in sections.findings)
    assert sum(len(part.panels) for part in sections.parts) == len(facets.facets)
