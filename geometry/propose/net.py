"""Nets: which edges flex and which become closures, proposed for whatever the maker left unmarked."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import comb

import numpy as np

from ..settings import BuildSettings
from ..solid.facets import Edge, Facets, Shell, ShellKind
from ..solid.solid import Role
from ..tolerance import AREA, LENGTH
from ..unfold.corner import SHARPEST_BEND
from ..unfold.setbacks import find_setbacks, lattice_designer, stock_for, strained_bends
from .net_flat import FlatPiece, NetDrawing
from .net_trees import Link, count_trees, groups_of, longest_tree, loop_of, spanning_trees
from .proposed import Mark, Proposed

__all__ = ["Net", "choose_net", "links_of", "propose_net", "roles_of_net"]

#: Up to so many trees all are looked at; above, one is improved by swapping edges.
_ALL_TREES = 10_000

#: Up to so many ways of cutting trees into pieces are looked at for each number of pieces.
_ALL_FORESTS = 20_000

#: Trees that are cut piece by piece where there are too many ways to look at all.
_CUT_TREES = 40

#: Trees that swapping starts from, and swaps that are tried on each before the next.
_STARTS, _SWAPS = 8, 150

#: Searches with the lattices as the net before would have them built, until one fits with its own.
_ROUNDS = 4

#: Bends of one shell that are given up because the board does not bear them, before the best net found is taken.
_BARRED = 12

#: A ridge shorter than this that stays parted has no room for a lap; the hips at its ends hold it, mm.
_SHORT_RIDGE = 40.0

#: Room beside a part for its label in the waste and for lattices wider than aimed at, mm.
_ALLOWANCE = 6.0


@dataclass(frozen=True, slots=True)
class Net:
    """Which edges of a shell bend, by id, and the pieces that they hold together, as ids of facets.

    fits: whether every piece lies flat without lying on itself or losing a panel, and finds room on a sheet.
    """

    edges: frozenset[int]
    pieces: tuple[tuple[int, ...], ...]
    fits: bool


def propose_net(facets: Facets, settings: BuildSettings, *, largest: tuple[float, float]) -> Proposed:
    """Return a mark for every edge that the maker left unmarked and that could bend.

    Upright corners of walls flex. Roofs and other solids flex along a spanning tree of their facets
    (see choose_net); their other edges become closures, but for short ridges, which rest. An edge that
    no lattice would bend within the board's limits, because its axis is too short, becomes a closure too.
    What is marked stays as it is, whatever is chosen for the others.
    largest: (width, height) of a piece that sheet and bed take, mm.

    >>> from stowfold.geometry.solid.find import find_facets
    >>> proposed = propose_net(find_facets(solid), settings, largest=(600.0, 300.0))
    >>> len(proposed.cuts)
    0
    """
    roles: dict[int, Role] = {}
    for shell in facets.shells:
        links = links_of(facets, shell)
        free = [link for link in links if facets.edges[link.edge].role is Role.PLAIN]
        if shell.kind is ShellKind.WALLS:
            roles.update((link.edge, Role.FLEX) for link in free if _upright(facets, facets.edges[link.edge]))
            continue
        if not free:
            continue
        roles.update(roles_of_net(facets, shell, _bearable_net(facets, shell, settings, largest), free))
    edges = [edge for edge in facets.edges if roles.get(edge.id, Role.PLAIN) is not Role.PLAIN]
    return Proposed(tuple(Mark(edge.source, edge.host_edges, roles[edge.id]) for edge in edges))


def roles_of_net(facets: Facets, shell: Shell, net: Net, links: Sequence[Link]) -> dict[int, Role]:
    """Return what a net makes of the edges of links, by edge id: those that it bends flex, the others part.

    What parts is a closure, but for a short ridge between hips, which rests.
    """
    inner = _inner_edges(facets, shell)

    def role_of(link: Link) -> Role:
        if link.edge in net.edges:
            return Role.FLEX
        return Role.CLOSURE if link.length >= _SHORT_RIDGE or link.edge not in inner else Role.PLAIN

    return {link.edge: role_of(link) for link in links}


def _inner_edges(facets: Facets, shell: Shell) -> frozenset[int]:
    """Return the edges of a roof that end at no point of its rim, as a ridge between hips does."""
    if shell.kind is not ShellKind.ROOF:
        return frozenset()
    own = [edge for edge in facets.edges if edge.left in shell.facets]
    rim = {point for edge in own if edge.right is None for point in (edge.start, edge.end)}
    return frozenset(edge.id for edge in own if edge.right is not None and not {edge.start, edge.end} & rim)


def _bearable_net(facets: Facets, shell: Shell, settings: BuildSettings, largest: tuple[float, float]) -> Net:
    """Return the best net whose bends the board bears, else the one that is asked too much of at the fewest edges.

    The bend that asks most is barred and the net chosen again: its neighbours then have longer axes.
    """
    barred: set[int] = set()
    nets: list[tuple[int, Net]] = []
    for _ in range(_BARRED):
        net = choose_net(facets, shell, settings, largest=largest, barred=barred)
        strained = {edge: by for edge, by in strained_bends(facets, net.edges, settings).items() if edge not in barred}
        free = {edge: by for edge, by in strained.items() if facets.edges[edge].role is Role.PLAIN}
        if not free:
            return net
        nets.append((len(strained), net))
        barred.add(max(sorted(free), key=free.__getitem__))
    return min(nets, key=lambda net: net[0])[1]


def links_of(facets: Facets, shell: Shell) -> tuple[Link, ...]:
    """Return the edges of a shell that bend or could, the marked closures and breaks left out.

    An edge of a hole can not: what hangs on it would lie in the hole. Where anything of the shell is
    marked, a bottom that is all plain is meant to be the floor and takes no part.
    """
    own = set(shell.facets)
    inner = [edge for edge in facets.edges if edge.right is not None and edge.left in own]
    marked = any(edge.role is not Role.PLAIN for edge in inner)
    floor = shell.bottom if marked else None
    return tuple(
        Link(edge.id, edge.left, edge.right, facets.length(edge), abs(edge.angle))
        for edge in inner
        if edge.right is not None
        and edge.role in (Role.PLAIN, Role.FLEX)
        and 0.0 < abs(edge.angle) <= SHARPEST_BEND
        and floor not in (edge.left, edge.right)
        and all(edge.id in facets.facets[facet].ring_edges[0] for facet in (edge.left, edge.right))
    )


def choose_net(
    facets: Facets,
    shell: Shell,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    keep_marks: bool = True,
    barred: Collection[int] = (),
) -> Net:
    """Return the best net of a shell.

    Kept are nets whose pieces do not lie on themselves in the flat, whose bends leave something of every panel
    and find room for their lattices, and which fit ``largest``; of those the one with fewest pieces, then with
    least length of parted edges, then with least lattice across the bends, then the smallest boxes. Edges marked
    flex bend unless ``keep_marks`` is off. Up to 10 000 trees (Kirchhoff's count) all are looked at, above that
    a tree is improved by swapping edges; the choice does not depend on chance or time. Unmarked edges that are
    ``barred`` stay parted.
    """
    links = [
        link for link in links_of(facets, shell) if link.edge not in barred or facets.edges[link.edge].role is Role.FLEX
    ]
    forced = _without_loops([link for link in links if facets.edges[link.edge].role is Role.FLEX]) if keep_marks else ()
    free = [link for link in links if link not in forced]
    if keep_marks:
        free = [link for link in free if facets.edges[link.edge].role is Role.PLAIN]
    stock = stock_for(facets, facets.facets[min(shell.facets)], settings)
    design, radius = lattice_designer(settings.hinge), settings.hinge.inside_radius
    lattices = {link.edge: design(stock, link.bend, link.length, radius) for link in (*free, *forced)}
    # an edge that takes no cell of a lattice even over its whole length bends in no net
    free = [link for link in free if link.length > lattices[link.edge].least_axis]

    def search() -> _Search:
        return _Search(shell, free, forced, largest, NetDrawing(facets, lattices, thickness=stock.thickness))

    net = search().best()
    for _ in range(_ROUNDS):
        if not net.fits:
            break
        # neighbouring bends shorten an axis, and a shorter axis may need a wider lattice
        built = find_setbacks(facets, sorted(net.edges), settings).lattices
        lattices |= {e: made for e, made in built.items() if made.flat_width > lattices[e].flat_width + LENGTH}
        again = search()
        if again.still_fits(net):
            break
        net = again.best()
    return net


def _without_loops(links: Sequence[Link]) -> tuple[Link, ...]:
    """Return links without those that would close a loop, which the hinges report."""
    kept: list[Link] = []
    for link in links:
        group = groups_of([link.one, link.two, *(node for each in kept for node in (each.one, each.two))], kept)
        if group[link.one] != group[link.two]:
            kept.append(link)
    return tuple(kept)


class _Search:
    """Looks for the best net of one shell; ``free`` links may bend, ``forced`` ones do."""

    def __init__(
        self,
        shell: Shell,
        free: Sequence[Link],
        forced: Sequence[Link],
        largest: tuple[float, float],
        drawing: NetDrawing,
    ) -> None:
        self.nodes = sorted(shell.facets)
        self.forced = tuple(forced)
        self.room = (min(largest) - _ALLOWANCE, max(largest) - _ALLOWANCE)
        self.free = sorted(free, key=lambda link: link.edge)
        self.drawing = drawing

    def still_fits(self, net: Net) -> bool:
        """Whether a net that was found with other lattices fits with these."""
        return self._net([link for link in self.free if link.edge in net.edges], fits=True).fits

    def best(self) -> Net:
        if count_trees(self.nodes, self.free, self.forced) > _ALL_TREES:
            trees = self._swapped()
        else:
            trees = sorted(spanning_trees(self.nodes, self.free, self.forced), key=_rank)
        found = self._first_that_fits(trees)
        if found is not None:
            return found
        ways = 0
        most = len(trees[0])
        for cuts in range(1, most + 1):
            ways += len(trees) * comb(most, cuts)
            if ways > _ALL_FORESTS:
                break
            forests = {
                frozenset(link.edge for link in kept): kept
                for tree in trees
                for kept in combinations(tree, most - cuts)
            }
            found = self._first_that_fits(sorted(forests.values(), key=_rank))
            if found is not None:
                return found
        nets = [self._cut(tree) for tree in trees[:_CUT_TREES]]
        return min(nets, key=lambda net: (not net.fits, len(net.pieces), self._parted(net)))

    def _first_that_fits(self, forests: Sequence[tuple[Link, ...]]) -> Net | None:
        """Return the best of equally good first ones, by the size of their boxes."""
        best: tuple[float, Net] | None = None
        rank = None
        for forest in forests:
            if best is not None and rank != _rank(forest)[:2]:
                break
            pieces = self._pieces(forest)
            if all(self._fits(piece, links) for piece, links in pieces):
                area = sum(float(np.prod(self.drawing.draw(piece, links).size)) for piece, links in pieces)
                rank = _rank(forest)[:2]
                if best is None or area < best[0] - LENGTH:
                    best = (area, self._net(forest, fits=True))
        return None if best is None else best[1]

    def _pieces(self, forest: Sequence[Link]) -> list[tuple[tuple[int, ...], tuple[Link, ...]]]:
        links = (*self.forced, *forest)
        group = groups_of(self.nodes, links)
        return [
            (
                tuple(node for node in self.nodes if group[node] == leader),
                tuple(link for link in links if group[link.one] == leader),
            )
            for leader in sorted(set(group.values()))
        ]

    def _fits(self, piece: Sequence[int], links: Sequence[Link]) -> bool:
        """Whether a piece can be cut from a sheet; one that no cut could make smaller passes."""
        if all(link in self.forced for link in links):
            return True
        drawn = self.drawing.draw(piece, links)
        return self._excess(drawn) <= 0.0 and not drawn.flaws and drawn.overlap <= AREA

    def _excess(self, drawn: FlatPiece) -> float:
        low, high = sorted(drawn.size)
        return max(0.0, low - self.room[0]) + max(0.0, high - self.room[1])

    def _net(self, forest: Sequence[Link], *, fits: bool) -> Net:
        pieces = self._pieces(forest)
        whole = fits and all(
            self._excess(drawn) <= 0.0 and not drawn.flaws and drawn.overlap <= AREA
            for drawn in (self.drawing.draw(piece, links) for piece, links in pieces)
        )
        edges = frozenset(link.edge for link in (*self.forced, *forest))
        return Net(edges, tuple(piece for piece, _ in pieces), whole)

    def _parted(self, net: Net) -> tuple[float, tuple[int, ...]]:
        return -sum(link.length for link in self.free if link.edge in net.edges), tuple(sorted(net.edges))

    # -- too many trees to look at all ------------------------------------------------------------

    def _swapped(self) -> list[tuple[Link, ...]]:
        """Return the tree found by swapping one edge at a time, from the one that parts least and then from others.

        A net that lies on itself or finds no room is mended first; steps that make it a little worse are
        taken at first, ever fewer later (annealing; the numbers behind it are always the same). One that
        fits is then made to part less as long as any swap does.
        """
        chance = np.random.default_rng(0)
        best: tuple[float, tuple[Link, ...]] | None = None
        for start in range(_STARTS):
            tree = longest_tree(self.nodes, self.free, self.forced)
            if start:
                sizes = chance.random(len(self.free))
                shuffled = [replace(link, length=size) for link, size in zip(self.free, sizes.tolist(), strict=True)]
                ids = {link.edge for link in longest_tree(self.nodes, shuffled, self.forced)}
                tree = tuple(link for link in self.free if link.edge in ids)
            cost, tree = self._mended(tree, chance)
            if best is None or cost < best[0]:
                best = (cost, tree)
            if cost <= 0.0:
                return [self._parting_less(tree)]
        assert best is not None
        return [best[1]]

    def _mended(self, tree: tuple[Link, ...], chance: np.random.Generator) -> tuple[float, tuple[Link, ...]]:
        """Swap edges until a tree lies flat and fits, or the swaps are used up; return the best cost and its tree."""
        cost = self._cost(tree)
        best = (cost, tree)
        for step in range(_SWAPS):
            if cost <= 0.0:
                break
            tried = self._swap(tree, chance)
            tried_cost = self._cost(tried)
            heat = 0.3 * cost * (1.0 - step / _SWAPS)
            if tried_cost <= cost + heat * float(chance.random()):
                tree, cost = tried, tried_cost
                best = min(best, (cost, tree), key=lambda each: each[0])
        return best

    def _swap(self, tree: tuple[Link, ...], chance: np.random.Generator) -> tuple[Link, ...]:
        """Bend one parted edge and part another one of the loop that this closes."""
        inside = {link.edge for link in tree}
        out = [link for link in self.free if link.edge not in inside]
        extra = out[int(chance.integers(len(out)))]
        loop = [link for link in loop_of((*self.forced, *tree), extra) if link.edge in inside]
        if not loop:
            return tree
        gone = loop[int(chance.integers(len(loop)))]
        return (*(link for link in tree if link is not gone), extra)

    def _cost(self, tree: Sequence[Link]) -> float:
        """Return the overlap in mm^2, a millimetre beyond the sheet and a flaw counting fifty."""
        drawn = [self.drawing.draw(piece, links) for piece, links in self._pieces(tree)]
        return sum(
            (each.overlap if each.overlap > AREA else 0.0) + 50.0 * (self._excess(each) + each.flaws) for each in drawn
        )

    def _parting_less(self, tree: tuple[Link, ...]) -> tuple[Link, ...]:
        """Swap edges for longer ones while the net still fits."""
        for extra in sorted(self.free, key=lambda link: _rank((link,))):
            inside = {link.edge for link in tree}
            if extra.edge in inside:
                continue
            loop = [link for link in loop_of((*self.forced, *tree), extra) if link.edge in inside]
            for gone in sorted(loop, key=lambda link: (link.length, link.edge)):
                if gone.length > extra.length - LENGTH:
                    break
                tried = (*(link for link in tree if link is not gone), extra)
                if self._cost(tried) <= 0.0:
                    tree = tried
                    break
        return tree

    def _cut(self, tree: tuple[Link, ...]) -> Net:
        """Cut a tree where it leaves least too large, again and again, until every piece fits."""
        kept = list(tree)
        while True:
            poor = [links for piece, links in self._pieces(kept) if not self._fits(piece, links)]
            if not poor:
                return self._net(kept, fits=True)
            cuts = [link for link in poor[0] if link in kept]
            kept.remove(min(cuts, key=lambda cut: (self._left_over([x for x in kept if x is not cut]), cut.edge)))

    def _left_over(self, forest: Sequence[Link]) -> tuple[int, float]:
        pieces = self._pieces(forest)
        poor = sum(not self._fits(piece, links) for piece, links in pieces)
        return poor, max(max(self.drawing.draw(piece, links).size) for piece, links in pieces)


def _rank(forest: Sequence[Link]) -> tuple[float, float, tuple[int, ...]]:
    """Order forests of as many links: longest bent edges, so least parted; least bend; first ids."""
    length = round(sum(link.length for link in forest), 6)
    return -length, round(sum(link.bend for link in forest), 9), tuple(sorted(link.edge for link in forest))


def _upright(facets: Facets, edge: Edge) -> bool:
    return all(facet.upright for facet in facets.pair(edge))
