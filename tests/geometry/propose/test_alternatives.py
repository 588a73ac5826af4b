"""Alternatives of nets against all spanning trees as networkx lists them, and what overruling an edge costs."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

import networkx
import numpy as np
import pytest
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import CancelledError
from stowfold.geometry.plan.walls import Roof, RoofKind, block_out, pitch_of_rise
from stowfold.geometry.progress import Progress
from stowfold.geometry.propose.alternatives import ShellNets, cost_of, try_nets
from stowfold.geometry.propose.net import links_of, propose_net
from stowfold.geometry.propose.net_measures import Measures, told_change, told_net
from stowfold.geometry.propose.other_nets import other_nets
from stowfold.geometry.propose.proposed import Mark, Proposed
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.facets import Facets, Shell, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, join_solids, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)
SQUARE = 25.4
ANY = (5000.0, 5000.0)  # no net is too large for this sheet
SHEET = (604.0, 299.0)


def house(kind: RoofKind, length: float = 11.0, width: float = 7.0) -> Solid:
    plan = [(0.0, 0.0), (length * SQUARE, 0.0), (length * SQUARE, width * SQUARE), (0.0, width * SQUARE)]
    built = block_out(plan, roof=Roof(kind, pitch_of_rise(8.0), 6.0))
    return make_solid(built.points, built.faces)


def box() -> Solid:
    """A closed box of 90 x 120 x 70 mm: a cube's graph, whose 384 trees differ in length."""
    points = np.array([[x, y, z] for x in (0.0, 90.0) for y in (0.0, 120.0) for z in (0.0, 70.0)])
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return make_solid(points, faces)


def shell_of(facets: Facets) -> Shell:
    return next(shell for shell in facets.shells if shell.kind is not ShellKind.WALLS)


def graph_of(facets: Facets) -> networkx.Graph:
    graph = networkx.Graph()
    for link in links_of(facets, shell_of(facets)):
        graph.add_edge(link.one, link.two, weight=link.length, edge=link.edge)
    return graph


def trees_by_length(facets: Facets) -> list[tuple[float, frozenset[int]]]:
    """Return the open length and the bent edges of every spanning tree, the least open first (networkx)."""
    graph = graph_of(facets)
    whole = graph.size(weight="weight")
    return [
        (whole - tree.size(weight="weight"), frozenset(nx["edge"] for _, _, nx in tree.edges(data=True)))
        for tree in networkx.SpanningTreeIterator(graph, minimum=False)
    ]


def on_host(facets: Facets, edge: int) -> set[tuple[int, int]]:
    return {(facets.edges[edge].source, host) for host in facets.edges[edge].host_edges}


@pytest.mark.parametrize(("length", "width"), [(11, 7), (12, 12), (16, 8)])
def test_a_hip_roof_s_nets_are_all_its_trees_in_order(length: float, width: float) -> None:
    facets = find_facets(house(RoofKind.HIP, length, width))
    shell = shell_of(facets)
    trees = trees_by_length(facets)
    nets = other_nets(facets, shell, SETTINGS, largest=ANY, most=len(trees))
    assert {net.edges for net in nets} == {edges for _, edges in trees}
    lengths = {link.edge: link.length for link in links_of(facets, shell)}
    opened = [sum(length for edge, length in lengths.items() if edge not in net.edges) for net in nets]
    assert opened == pytest.approx([length for length, _ in trees])


@pytest.mark.slow
def test_a_box_s_first_nets_are_as_little_open_as_the_first_trees() -> None:
    facets = find_facets(box())
    shell = shell_of(facets)
    trees = list(islice(networkx.SpanningTreeIterator(graph_of(facets), minimum=False), 5))
    nets = other_nets(facets, shell, SETTINGS, largest=ANY, most=5)
    lengths = {link.edge: link.length for link in links_of(facets, shell)}
    bent = [sum(lengths[edge] for edge in net.edges) for net in nets]
    assert bent == pytest.approx([tree.size(weight="weight") for tree in trees])
    assert len({net.edges for net in nets}) == len(nets) == 5


def test_a_gable_roof_folds_at_its_ridge_or_comes_in_two_pieces() -> None:
    (tried,) = try_nets(house(RoofKind.GABLE), SETTINGS, largest=SHEET)
    assert tried.name == "Roof" and tried.present is None
    assert [(net.measures.pieces, net.measures.bends) for net in tried.nets] == [(1, 1), (2, 0)]
    # the ridge runs over the length and both overhangs
    assert tried.nets[1].measures.open_length == pytest.approx(11 * SQUARE + 12.0)
    assert [net.measures.open_edges for net in tried.nets] == [(), (("ridge", 1),)]


@pytest.fixture(scope="module")
def hip() -> ShellNets:
    (tried,) = try_nets(house(RoofKind.HIP), SETTINGS, largest=SHEET)
    return tried


def test_the_first_is_the_proposed_one_and_the_others_part_no_less(hip: ShellNets) -> None:
    facets = find_facets(house(RoofKind.HIP))
    tried = hip
    proposed = propose_net(facets, SETTINGS, largest=SHEET)
    flexed = {(mark.source, edge) for mark in proposed.marks if mark.role is Role.FLEX for edge in mark.edges}
    first = {(mark.source, edge) for mark in tried.nets[0].marks if mark.role is Role.FLEX for edge in mark.edges}
    assert (
        first == {edge for link in links_of(facets, shell_of(facets)) for edge in on_host(facets, link.edge)} & flexed
    )
    order = [(net.measures.pieces, round(net.measures.open_length, 6)) for net in tried.nets]
    assert order == sorted(order) and len(order) == 6
    # mirrored nets are alike; an unlike one is among those that are told all the same
    assert len({(net.measures.pieces, net.measures.open_edges) for net in tried.nets}) > 1
    assert all(net.measures.good for net in tried.nets)


def test_measures_are_those_of_the_parts_that_are_cut(hip: ShellNets) -> None:
    for net in hip.nets:
        measures, parts = net.measures, net.tried.parts
        assert measures.pieces == len(parts)
        assert measures.bends == sum(len(part.lattices) for part in parts) == len(parts[0].panels) - 1 or len(parts) > 1
        lines = np.concatenate([placed.slit_lines for part in parts for placed in part.lattices])
        assert measures.rows == sum(placed.lattice.rows for part in parts for placed in part.lattices)
        # every other row ends in half slits, so that all rows together hold as much as full ones
        assert measures.slit_length == pytest.approx(np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1).sum(), rel=0.05)


def test_a_sheet_that_is_too_small_is_told_by_how_much() -> None:
    (tried,) = try_nets(house(RoofKind.GABLE), SETTINGS, largest=(200.0, 200.0))
    measures = tried.nets[0].measures
    assert not measures.good
    assert measures.beyond == pytest.approx(max(measures.box) - 200.0)
    assert told_net(measures).endswith("mm too large for the sheet")


@pytest.mark.slow
def test_the_same_marks_give_the_same_nets() -> None:
    one, two = (try_nets(house(RoofKind.HIP), SETTINGS, largest=SHEET)[0] for _ in range(2))
    assert [net.marks for net in one.nets] == [net.marks for net in two.nets]
    assert [net.measures for net in one.nets] == [net.measures for net in two.nets]


@pytest.mark.slow
def test_what_the_maker_marked_stays_and_what_the_tool_gave_is_open() -> None:
    solid = house(RoofKind.HIP)
    facets = find_facets(solid)
    (tried,) = try_nets(solid, SETTINGS, largest=SHEET)
    third = tried.nets[2]
    used = Proposed(third.marks).put_on(solid)
    given = {(mark.source, edge) for mark in third.marks for edge in mark.edges}

    (again,) = try_nets(used, SETTINGS, largest=SHEET, given=given)
    assert again.present == 2
    assert [net.marks for net in again.nets] == [net.marks for net in tried.nets]

    # the same marks by the maker's own hand leave nothing to choose
    (fixed,) = try_nets(used, SETTINGS, largest=SHEET)
    assert fixed.present == 0 and len(fixed.nets) == 1
    assert fixed.nets[0].measures == third.measures

    hip = next(link for link in links_of(facets, shell_of(facets)) if facets.ends(facets.edges[link.edge])[:, 2].ptp())
    mine = Proposed((Mark(0, facets.edges[hip.edge].host_edges, Role.CLOSURE),)).put_on(solid)
    (kept,) = try_nets(mine, SETTINGS, largest=SHEET)
    for net in kept.nets:
        parted = {(edge.source, host) for edge in net.tried.parted for host in edge.host_edges}
        assert on_host(facets, hip.edge) <= parted


@pytest.mark.parametrize("role", [Role.FLEX, Role.CLOSURE])
def test_overruling_costs_what_the_best_tree_without_or_with_the_edge_costs(role: Role) -> None:
    solid = house(RoofKind.HIP)
    facets = find_facets(solid)
    trees = trees_by_length(facets)
    for link in links_of(facets, shell_of(facets)):
        least = min(length for length, edges in trees if (link.edge in edges) is (role is Role.FLEX))
        cost = cost_of(solid, on_host(facets, link.edge), role, SETTINGS, largest=ANY)
        assert cost.after is not None
        assert cost.after.measures.open_length == pytest.approx(least)
        more = least - trees[0][0]
        if more > 1.0:
            assert f"{more:.0f} mm more open" in cost.line
        else:
            assert "mm" not in cost.line


def test_overruling_says_so_where_nothing_can_be_bent_or_parted() -> None:
    solid = house(RoofKind.HIP)
    facets = find_facets(solid)
    shell = shell_of(facets)
    eave = next(edge for edge in facets.edges if edge.left in shell.facets and edge.right is None)
    corner = next(edge for edge in facets.edges if facets.shell_of(facets.left(edge)).kind is ShellKind.WALLS)
    for edge, words in ((eave, "No board goes on"), (corner, "Walls bend")):
        cost = cost_of(solid, on_host(facets, edge.id), Role.FLEX, SETTINGS, largest=ANY)
        assert cost.after is None and cost.line.startswith(words)


def test_parting_a_ridge_of_a_gable_makes_two_pieces() -> None:
    solid = house(RoofKind.GABLE)
    facets = find_facets(solid)
    (ridge,) = links_of(facets, shell_of(facets))
    cost = cost_of(solid, on_host(facets, ridge.edge), Role.CLOSURE, SETTINGS, largest=SHEET)
    assert cost.line == "Ridge parted: 2 pieces instead of 1, 291 mm more open, 0 bends instead of 1"
    bent = cost_of(solid, on_host(facets, ridge.edge), Role.FLEX, SETTINGS, largest=SHEET)
    assert bent.line == "Ridge bent: as the net has it"


def test_lines_are_plain() -> None:
    one = Measures(1, 250.4, (("ridge", 1), ("hip", 2)), 3, 20, 900.0, (360.0, 290.0), 0.0, "")
    assert told_net(one) == "1 piece, 250 mm open (1 ridge, 2 hips), 3 bends; fits the sheet"
    two = replace(one, pieces=2, open_length=398.0, bends=2)
    assert told_net(two) == "2 pieces, 398 mm open (1 ridge, 2 hips), 2 bends; each fits a sheet"
    assert told_change(one, two) == "2 pieces instead of 1, 148 mm more open, 2 bends instead of 3"
    assert told_change(one, replace(one, trouble="The ridge is too short")).endswith("cannot be built")
    assert told_change(one, one) == "as long open as before, in other places"


def test_long_looks_can_be_given_up() -> None:
    class Impatient(Progress):
        def tell(self, share: float) -> None:
            raise CancelledError("enough")

    with pytest.raises(CancelledError):
        try_nets(house(RoofKind.HIP), SETTINGS, largest=SHEET, progress=Impatient())


@pytest.mark.slow
def test_two_roofs_are_told_apart_and_chosen_for_each_alone() -> None:
    one, two = house(RoofKind.GABLE), house(RoofKind.HIP)
    far = replace(two, points=two.points + np.array([600.0, 0.0, 0.0]))
    (gable,), (hip_alone,) = (try_nets(solid, SETTINGS, largest=SHEET) for solid in (one, far))
    both = try_nets(join_solids([one, far]), SETTINGS, largest=SHEET)
    assert [shell.name for shell in both] == ["Roof 1", "Roof 2"]
    for shell, alone in zip(both, (gable, hip_alone), strict=True):
        assert [told_net(net.measures) for net in shell.nets] == [told_net(net.measures) for net in alone.nets]
    assert not both[0].faces & both[1].faces
