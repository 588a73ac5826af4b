"""Spanning trees of nets: Kirchhoff's count against published tables, networkx and scipy; the choice among them."""

from __future__ import annotations

import math

import networkx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from marked_roofs import marked_block_out
from scipy.sparse.csgraph import minimum_spanning_tree
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.plan.walls import Roof, RoofKind, pitch_of_rise
from stowfold.geometry.propose.net import choose_net, links_of, propose_net, search_for
from stowfold.geometry.propose.net_trees import Link, count_trees, longest_tree, loop_of, spanning_trees
from stowfold.geometry.propose.proposed import Mark, Proposed
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.facets import Edge, Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.unfold.hinges import choose_hinges
from stowfold.geometry.unfold.section import unfold
from stowfold.geometry.unfold.setbacks import find_setbacks

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)
SQUARE = 25.4
SHEET = (604.0, 299.0)  # a basswood sheet of 610 x 305 inside a margin of 3


def links(*pairs: tuple[int, int]) -> tuple[Link, ...]:
    return tuple(Link(k, one, two, 10.0 + (7 * k) % 11, 1.0) for k, (one, two) in enumerate(pairs))


def nodes(graph: tuple[Link, ...]) -> list[int]:
    return sorted({node for link in graph for node in (link.one, link.two)})


def ring(first: int, count: int) -> list[tuple[int, int]]:
    return [(first + k, first + (k + 1) % count) for k in range(count)]


CUBE = links(*ring(0, 4), *((k, 4) for k in range(4)), *((k, 5) for k in range(4)))
HIP = [(0, 2), *ring(0, 4)]
# roof of four, fascia of four below it, soffit of four below that
HIP_BOXED = links(
    *HIP,
    *((k, k + 4) for k in range(4)),
    *ring(4, 4),
    *((k + 4, k + 8) for k in range(4)),
    *ring(8, 4),
)
GABLE_WALLS = [*ring(2, 4), (0, 1), (0, 2), (1, 4), (0, 3), (1, 3), (0, 5), (1, 5)]


@pytest.mark.parametrize(
    ("graph", "trees"),
    [
        (links(*((a, b) for a in range(4) for b in range(a))), 16),  # tetrahedron: Cayley's 4^2
        (CUBE, 384),  # cube (matrix-tree theorem; Horiyama and Shoji, CCCG 2011)
        (links(*HIP), 8),
        (links(*HIP, *((k, 4) for k in range(4))), 75),  # hip roof with a flat underside
        (links(*ring(0, 4), *((k, 4) for k in range(4))), 45),  # four walls and a floor: the wheel W4
        (links(*GABLE_WALLS), 224),  # gable house, open below
        (links(*GABLE_WALLS, *((k, 6) for k in range(2, 6))), 1805),
        (links(*HIP, *((k, k + 4) for k in range(4)), *ring(4, 4)), 672),  # hip roof and four fascia
        (HIP_BOXED, 54600),
    ],
)
def test_the_count_is_kirchhoff_s(graph: tuple[Link, ...], trees: int) -> None:
    assert count_trees(nodes(graph), graph) == trees
    if trees < 2000:
        found = {frozenset(link.edge for link in tree) for tree in spanning_trees(nodes(graph), graph)}
        assert len(found) == trees


def test_the_cube_has_eleven_nets() -> None:
    """Trees that the cube's 48 symmetries turn into each other are one net: 11 (Gardner's column; count well known)."""
    normals = [np.eye(3)[axis] * sign for axis in range(3) for sign in (1, -1)]
    sides = [(a, b) for a in range(6) for b in range(a) if abs(normals[a] @ normals[b]) < 0.5]
    graph = links(*sides)
    edge_of = {frozenset(pair): k for k, pair in enumerate(sides)}
    moves = []
    for order in ((0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0)):
        for signs in ((a, b, c) for a in (1, -1) for b in (1, -1) for c in (1, -1)):
            turned = [np.array([n[order[i]] * signs[i] for i in range(3)]) for n in normals]
            image = [next(k for k, n in enumerate(normals) if np.allclose(n, t)) for t in turned]
            moves.append([edge_of[frozenset(image[face] for face in pair)] for pair in sides])
    assert len(moves) == 48
    orbits = {
        min(tuple(sorted(move[link.edge] for link in tree)) for move in moves)
        for tree in spanning_trees(range(6), graph)
    }
    assert len(orbits) == 11


@st.composite
def graphs(draw: st.DrawFn) -> tuple[int, tuple[Link, ...]]:
    """A connected graph of up to seven points, a few of its lines doubled."""
    count = draw(st.integers(2, 7))
    pairs = [(k, draw(st.integers(0, k - 1))) for k in range(1, count)]
    extra = draw(st.lists(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)), max_size=6))
    pairs += [(a, b) for a, b in extra if a != b]
    sizes = draw(st.lists(st.integers(1, 50), min_size=len(pairs), max_size=len(pairs)))
    return count, tuple(
        Link(k, a, b, float(size), 1.0) for k, ((a, b), size) in enumerate(zip(pairs, sizes, strict=True))
    )


def multigraph(count: int, graph: tuple[Link, ...]) -> networkx.Graph:
    made = networkx.Graph()
    made.add_nodes_from(range(count))
    for link in graph:
        weight = made.get_edge_data(link.one, link.two, {"weight": 0})["weight"]
        made.add_edge(link.one, link.two, weight=weight + 1)
    return made


@settings(max_examples=60, deadline=None)
@given(graphs())
def test_every_tree_once_and_as_many_as_networkx_counts(drawn: tuple[int, tuple[Link, ...]]) -> None:
    count, graph = drawn
    expected = round(networkx.number_of_spanning_trees(multigraph(count, graph), weight="weight"))
    assert count_trees(range(count), graph) == expected
    trees = [frozenset(link.edge for link in tree) for tree in spanning_trees(range(count), graph)]
    assert len(trees) == len(set(trees)) == expected
    for tree in trees[:50]:
        drawn_tree = networkx.Graph([(link.one, link.two) for link in graph if link.edge in tree])
        assert len(tree) == count - 1 and networkx.is_tree(drawn_tree)


@settings(max_examples=60, deadline=None)
@given(graphs())
def test_the_longest_tree_is_scipy_s(drawn: tuple[int, tuple[Link, ...]]) -> None:
    count, graph = drawn
    matrix = np.zeros((count, count))
    for link in graph:
        low, high = sorted((link.one, link.two))
        # scipy takes the smallest and no zeros: 100 less the length
        matrix[low, high] = min(matrix[low, high] or math.inf, 100.0 - link.length)
    least = minimum_spanning_tree(matrix).toarray()
    expected = 100.0 * (count - 1) - least.sum()
    assert sum(link.length for link in longest_tree(range(count), graph)) == pytest.approx(expected)


@settings(max_examples=60, deadline=None)
@given(graphs(), st.data())
def test_forced_links_are_in_every_tree_and_a_loop_s_links_swap(
    drawn: tuple[int, tuple[Link, ...]], data: st.DataObject
) -> None:
    count, graph = drawn
    everything = list(spanning_trees(range(count), graph))
    tree = data.draw(st.sampled_from(everything))
    forced = tree[:1]
    free = [link for link in graph if link not in forced]
    rest = list(spanning_trees(range(count), free, forced))
    assert len(rest) == count_trees(range(count), free, forced)
    assert {frozenset((*forced, *chosen)) for chosen in rest} == {
        frozenset(tree) for tree in everything if forced[0] in tree
    }
    for extra in (link for link in graph if link not in tree):
        for gone in loop_of(tree, extra):
            swapped = networkx.MultiGraph([(link.one, link.two) for link in (*tree, extra) if link is not gone])
            assert networkx.is_tree(swapped)


def hip_house(length: float, width: float, *, rise: float = 8.0) -> Solid:
    """Return a house under a hip roof, nothing of it marked."""
    plan = [(0.0, 0.0), (length * SQUARE, 0.0), (length * SQUARE, width * SQUARE), (0.0, width * SQUARE)]
    built = marked_block_out(plan, roof=Roof(RoofKind.HIP, pitch_of_rise(rise), 6.0))
    return make_solid(built.points, built.faces)


def roof_of(facets: Facets):
    return next(shell for shell in facets.shells if shell.kind is ShellKind.ROOF)


def with_role(solid: Solid, edge: Edge, role: Role) -> Solid:
    """Return a solid one edge of whose facets is marked."""
    return Proposed((Mark(edge.source, edge.host_edges, role),)).put_on(solid)


def with_net(solid: Solid, build: BuildSettings, largest: tuple[float, float] = SHEET) -> Facets:
    """Return the facets of a solid with the net that is proposed for it."""
    return find_facets(propose_net(find_facets(solid), build, largest=largest).put_on(solid))


def test_a_hip_roof_parts_along_its_shortest_edges() -> None:
    """Of its eight trees the one with least parted: a ridge of 101.6 and one hip of 148.6, not two hips."""
    facets = find_facets(hip_house(11, 7))
    shell = roof_of(facets)
    net = choose_net(search_for(facets, shell, SETTINGS, largest=SHEET))
    parted = sorted(link.length for link in links_of(facets, shell) if link.edge not in net.edges)
    # ridge: length less width; hip: half the span (7 squares and two overhangs) times sqrt(2 + (8/12)^2)
    half = 3.5 * SQUARE + 6.0
    assert parted == pytest.approx([4 * SQUARE, half * math.sqrt(2 + 4 / 9)])
    assert net.fits and len(net.pieces) == 1


@pytest.mark.parametrize("role", [Role.FLEX, Role.CLOSURE])
def test_what_is_marked_stays_when_only_some_is_marked(role: Role) -> None:
    solid = hip_house(11, 7)
    facets = find_facets(solid)
    for link in links_of(facets, roof_of(facets)):
        proposed = with_net(with_role(solid, facets.edges[link.edge], role), SETTINGS)
        assert proposed.edges[link.edge].role is role
        own = [proposed.edges[link.edge].role for link in links_of(facets, roof_of(facets))]
        assert own.count(Role.FLEX) == 3 and own.count(Role.CLOSURE) == 2


@pytest.mark.parametrize(("length", "width"), [(11, 7), (16, 8), (14, 10), (12, 12)])
def test_the_flat_shape_that_was_judged_is_the_one_that_is_cut(length: float, width: float) -> None:
    """Each piece as unfolded with its real lattices fits the sheet that it was chosen for."""
    solid = hip_house(length, width)
    facets = find_facets(solid)
    shell = roof_of(facets)
    net = choose_net(search_for(facets, shell, SETTINGS, largest=SHEET))
    sections = unfold(with_net(solid, SETTINGS), SETTINGS)
    roofs = [part for part in sections.parts if part.id.startswith("R")]
    assert len(roofs) == len(net.pieces)
    assert net.fits
    for part in roofs:
        assert max(part.size) <= max(SHEET) and min(part.size) <= min(SHEET)
    assert not [finding for finding in sections.findings if finding.code == "self-overlap"]


@pytest.mark.slow
def test_a_tower_of_many_facets_is_searched_by_swaps() -> None:
    """A great octagon with eaves and a spire, 10^15 trees, so no list of them: one that fits is still found."""
    corner = [(math.cos(k * math.pi / 4), math.sin(k * math.pi / 4)) for k in range(8)]
    levels = [(400.0, 0.0), (400.0, 700.0), (520.0, 640.0), (520.0, 700.0)]
    points = [(r * x, r * y, z) for r, z in levels for x, y in corner] + [(0.0, 0.0, 1500.0)]
    faces = [
        (8 * level + k, 8 * level + (k + 1) % 8, 8 * level + 8 + (k + 1) % 8, 8 * level + 8 + k)
        for level in range(3)
        for k in range(8)
    ]
    faces += [(24 + k, 24 + (k + 1) % 8, 32) for k in range(8)]
    facets = find_facets(make_solid(np.array(points), faces))
    assert len(facets.facets) == 32
    shell = facets.shells[0]
    assert count_trees(sorted(shell.facets), links_of(facets, shell)) > 10_000
    # the tree that parts least is 2500 x 2911 mm in the flat, so it has to be mended for this sheet
    net = choose_net(search_for(facets, shell, SETTINGS, largest=(3400.0, 2000.0)))
    assert net.fits and len(net.pieces) == 1 and len(net.edges) == 31


def hip(length: float, width: float, degrees: float, overhang: float = 6.0) -> Solid:
    """Return a hip roof whose lines are unmarked, over walls that are."""
    plan = [(0.0, 0.0), (length * SQUARE, 0.0), (length * SQUARE, width * SQUARE), (0.0, width * SQUARE)]
    block = marked_block_out(plan, roof=Roof(RoofKind.HIP, math.radians(degrees), overhang), breaks=((40.0, 0.0),))
    upright = {p: role for p, role in block.roles if not np.ptp(block.points[list(p), :2], axis=0).any()}
    return make_solid(block.points, block.faces, roles=upright)


def roof_lines(facets: Facets) -> dict[tuple[int, bool], Role]:
    """Return the role of every inner line of the roof by (edge, whether it is level, as a ridge is)."""
    roof = next(shell for shell in facets.shells if shell.kind is ShellKind.ROOF)
    inner = [edge for edge in facets.edges if edge.left in roof.facets and edge.right is not None]
    return {
        (edge.id, bool(abs(facets.points[edge.start, 2] - facets.points[edge.end, 2]) < 1e-6)): edge.role
        for edge in inner
    }


@pytest.mark.parametrize("stock", read_stocks(), ids=lambda stock: stock.name)
@pytest.mark.parametrize("sides", [(10, 9), (3, 8), (8, 4)], ids=str)
@pytest.mark.slow
def test_no_bend_is_proposed_that_its_board_does_not_bear(stock, sides):
    board = BuildSettings(stock, stock, stock, stock)
    proposed = with_net(hip(*sides, 45.0), board)
    # by the findings of the sections, and not by the search's own measure
    codes = {finding.code for finding in unfold(proposed, board).findings}
    assert not codes & {"lattice-too-short", "link-over-stressed", "bridge-over-stressed", "slit-contact"}


def test_a_ridge_of_one_square_rests_between_its_hips_and_a_longer_one_is_held():
    for length, wanted in ((10, Role.PLAIN), (12, Role.CLOSURE)):
        lines = roof_lines(with_net(hip(length, 9, 45.0), SETTINGS, largest=(9e9, 9e9)))
        (ridge,) = [role for (_, level), role in lines.items() if level]
        assert ridge is wanted
        hips = [role for (_, level), role in lines.items() if not level]
        assert sorted(hips) == [Role.FLEX, Role.FLEX, Role.FLEX, Role.CLOSURE]


def test_a_bend_that_the_maker_marked_stays_however_it_is_strained():
    solid = hip(10, 9, 45.0)
    facets = find_facets(solid)
    (ridge,) = [edge for (edge, level) in roof_lines(facets) if level]
    mdf = find_stock("mdf-3", read_stocks())
    board = BuildSettings(mdf, mdf, mdf, mdf)
    assert with_net(solid, board).edges[ridge].role is not Role.FLEX
    marked = with_role(solid, facets.edges[ridge], Role.FLEX)
    assert with_net(marked, board).edges[ridge].role is Role.FLEX


@pytest.mark.parametrize(
    ("stock", "sides", "degrees", "overhang"),
    [("mdf-3", (3, 8), 33.69, 6.0), ("basswood-3.2", (8, 4), 33.69, 1.0), ("basswood-3.2", (10, 3), 55.0, 15.0)],
)
def test_lattices_that_shorten_each_other_in_turn_settle_within_their_limits(stock, sides, degrees, overhang):
    board = find_stock(stock, read_stocks())
    settings = BuildSettings(board, board, board, board)
    solid = hip(*sides, degrees, overhang)
    facets = find_facets(solid)
    # ridge and two hips bend, as the block-out marks them
    lines = sorted(roof_lines(facets), key=lambda line: not line[1])
    for place in (0, 1, 3):
        solid = with_role(solid, facets.edges[lines[place][0]], Role.FLEX)
    facets = find_facets(solid)
    for made in find_setbacks(facets, choose_hinges(facets).edges, settings).lattices.values():
        assert made.held_shear <= made.shear_limit
        assert made.held_bridge_stress <= made.bridge_limit
