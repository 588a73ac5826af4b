"""The search for a net: a forest of bends that can be built, with as few pieces and as little parted as can be.

A forest only ever grows by bends that keep it buildable: the board bears all bends, every facet keeps its panel, no
piece lies on itself, and each finds room on a sheet. So whatever the search ends with can be cut.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from ..leaders import leader_of
from ..tolerance import AREA
from .net_bends import Bench, Bends
from .net_flat import FlatPiece, NetDrawing
from .net_trees import Link, groups_of, loop_of

__all__ = ["Forest", "Score", "Search"]

#: Bends that are tried while forests are looked at in order; where that settles it, no other forest is better.
_TRIED_IN_ORDER = 500

#: Up to so many free edges forests are looked at in order; of more there are too many to settle anything.
_MOST_IN_ORDER = 60

#: Bends that are tried while forests are looked at that have as few pieces and part as little as the best one: those
#: differ in bending and boxes only.
_TRIED_ALIKE = 150

#: Bends that are tried while one forest is improved by swaps; above _MANY facets fewer, as every try takes longer.
_TRIED_IN_SWAPS = 500
_MANY = 40

#: Forests that are begun again round one facet after the other once no swap helps.
_BEGUN_AGAIN = 24

#: Swaps by which two pieces that would lie on each other, or find no room together, are mended.
_SWAPS = 100

#: What a millimetre beyond the sheet counts beside a square millimetre of overlap, and by which share of its cost a
#: piece may become worse at first. Both tried on towers of 17 to 57 facets.
_PER_EXCESS, _HEAT = 50.0, 0.3

#: Fewest pieces first, then the longest bent edges, so the least parted, then the least bending, then the least box.
Score = tuple[int, float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Forest:
    """Bends that tie the facets of a shell together in pieces.

    links: all that bend, by edge id; leader: for every facet the least facet of its piece; drawn: every piece in the
    flat, by its least facet.
    """

    bends: Bends
    links: Mapping[int, Link]
    leader: Mapping[int, int]
    drawn: Mapping[int, FlatPiece]

    @property
    def score(self) -> Score:
        """How good the forest is; less is better."""
        return (
            len(self.drawn),
            -round(sum(link.length for link in self.links.values()), 6),
            round(sum(link.bend for link in self.links.values()), 9),
            round(sum(piece.size[0] * piece.size[1] for piece in self.drawn.values()), 6),
        )

    def piece_of(self, facet: int) -> FlatPiece:
        """Return the piece that a facet belongs to, in the flat."""
        return self.drawn[self.leader[facet]]

    def piece(self, facet: int) -> tuple[list[int], list[Link]]:
        """Return the facets of the piece that a facet belongs to, and the links between them."""
        mine = self.leader[facet]
        members = [node for node, leader in self.leader.items() if leader == mine]
        return members, [link for link in self.links.values() if self.leader[link.one] == mine]


class Search:
    """Looks for the best forest of one shell; ``free`` links may bend, ``forced`` ones do."""

    def __init__(
        self,
        bench: Bench,
        nodes: Sequence[int],
        free: Iterable[Link],
        forced: Iterable[Link],
        room: tuple[float, float],
    ) -> None:
        self.bench = bench
        self.nodes = sorted(nodes)
        self.room = room
        self.drawing = NetDrawing(bench.facets)
        self.tried = 0
        self.start = self._forced(tuple(forced))
        self.free = tuple(link for link in sorted(free, key=self._order) if self._bends_alone(link))
        self._free_edges = frozenset(link.edge for link in self.free)

    # -- forests --------------------------------------------------------------------------------

    def joined(self, forest: Forest, link: Link, *, whatever: bool = False) -> Forest | None:
        """Return a forest with one more bend; None where it would close a loop or could not be built.

        whatever: also where the piece lies on itself or finds no room.
        """
        if forest.leader[link.one] == forest.leader[link.two]:
            return None
        self.tried += 1
        bends = forest.bends.with_bend(link.edge)
        if bends is None:
            return None
        members, links = forest.piece(link.one)
        others, other_links = forest.piece(link.two)
        grown = self._with_piece(forest, bends, [*members, *others], (*links, *other_links, link))
        return grown if whatever or self.cost(grown.piece_of(link.one)) <= 0.0 else None

    def parted(self, forest: Forest, edge: int) -> Forest:
        """Return a forest with one bend less.

        A piece lies in the frame of its first facet. Where what is left of it lies in another one and finds no room
        there, all that may part in it parts.
        """
        members, links = forest.piece(forest.links[edge].one)
        kept = [link for link in links if link.edge != edge]
        forest = self._grouped(forest, forest.bends.without(edge), members, kept)
        for first in sorted({forest.leader[node] for node in members}):
            if self.cost(forest.drawn[first]) > 0.0:
                forest = self._apart(forest, first)
        return forest

    def _apart(self, forest: Forest, facet: int) -> Forest:
        """Return a forest with all free bends of one piece parted."""
        members, links = forest.piece(facet)
        bends = forest.bends
        for link in links:
            if link.edge in self._free_edges:
                bends = bends.without(link.edge)
        return self._grouped(forest, bends, members, [link for link in links if link.edge not in self._free_edges])

    def _grouped(self, forest: Forest, bends: Bends, members: Sequence[int], links: Sequence[Link]) -> Forest:
        """Return a forest with other pieces of some of its facets: those that the links between them tie together."""
        group = groups_of(members, links)
        for first in sorted(set(group.values())):
            piece = [node for node in members if group[node] == first]
            forest = self._with_piece(forest, bends, piece, [link for link in links if group[link.one] == first])
        return forest

    def _with_piece(self, forest: Forest, bends: Bends, members: Sequence[int], links: Sequence[Link]) -> Forest:
        """Return a forest some of whose facets make one piece now, tied by links and no others."""
        mine = set(members)
        first = min(mine)
        drawn = {leader: piece for leader, piece in forest.drawn.items() if leader not in mine}
        drawn[first] = self.drawing.draw(bends, members, links)
        kept = {edge: link for edge, link in forest.links.items() if link.one not in mine and link.two not in mine}
        return Forest(
            bends,
            kept | {link.edge: link for link in links},
            {**forest.leader, **dict.fromkeys(members, first)},
            drawn,
        )

    def cost(self, drawn: FlatPiece) -> float:
        """Return what a piece lies on itself, mm^2, a millimetre beyond the sheet counting fifty; 0 for a good one."""
        return (drawn.overlap if drawn.overlap > AREA else 0.0) + _PER_EXCESS * self.excess(drawn)

    def excess(self, drawn: FlatPiece) -> float:
        """Return what a piece needs more than there is room, mm."""
        low, high = sorted(drawn.size)
        return max(0.0, low - self.room[0]) + max(0.0, high - self.room[1])

    def _forced(self, forced: tuple[Link, ...]) -> Forest:
        """Return the forest of the maker's own bends, whatever becomes of it."""
        bends = self.bench.start.with_forced(link.edge for link in forced)
        return self._grouped(Forest(bends, {}, {}, {}), bends, self.nodes, forced)

    def _bends_alone(self, link: Link) -> bool:
        """Whether an edge could bend if all others that are free stayed parted."""
        return self.start.bends.with_bend(link.edge) is not None

    def _order(self, link: Link) -> tuple[float, float, tuple[float, ...], int]:
        """Order links by what their bends are worth, and alike ones by where they lie, not by how they are numbered."""
        ends = self.bench.facets.ends(self.bench.facets.edges[link.edge])
        middle = np.round(ends.mean(axis=0), 2).tolist()
        return -round(link.length, 3), round(link.bend, 6), tuple(middle), link.edge

    # -- the best one ---------------------------------------------------------------------------

    def best(self) -> Forest:
        """Return the best forest that was found."""
        first = self.filled(self.start, self.free)
        if len(self.free) > _MOST_IN_ORDER:
            return self._improved(first)
        settled, forest = self._in_order(first)
        return forest if settled else self._improved(forest)

    def filled(self, forest: Forest, links: Iterable[Link], barred: Collection[int] = ()) -> Forest:
        """Return a forest with all links that it takes, one after the other (after Kruskal 1956)."""
        for link in links:
            if link.edge not in forest.links and link.edge not in barred:
                forest = self.joined(forest, link) or forest
        return forest

    @cached_property
    def _against(self) -> Mapping[int, frozenset[int]]:
        """For every free edge those with which it cannot bend, though each of the two could."""
        start = self.start.bends
        on: dict[int, list[Link]] = {}
        for link in self.free:
            on.setdefault(link.one, []).append(link)
            on.setdefault(link.two, []).append(link)
        against: dict[int, set[int]] = {link.edge: set() for link in self.free}
        for links in on.values():
            for one, two in combinations(links, 2):
                alone = start.with_bend(one.edge) if two.edge not in against[one.edge] else None
                if alone is not None and alone.with_bend(two.edge) is None:
                    against[one.edge].add(two.edge)
                    against[two.edge].add(one.edge)
        return {edge: frozenset(others) for edge, others in against.items()}

    def _in_order(self, best: Forest) -> tuple[bool, Forest]:
        """Look at forests that could be better, link by link with and without; whether that settled it, and the best.

        A branch ends where even all links that are left, whatever they do to each other, make nothing better
        (branch and bound).
        """
        last, alike = self.tried + _TRIED_IN_ORDER, self.tried + _TRIED_ALIKE
        waiting: list[tuple[int, Forest, frozenset[int]]] = [(0, self.start, frozenset())]
        while waiting:
            k, forest, out = waiting.pop()
            while k < len(self.free) and (
                self.free[k].edge in out or forest.leader[self.free[k].one] == forest.leader[self.free[k].two]
            ):
                k += 1
            if k == len(self.free):
                best = min(best, forest, key=lambda found: found.score)
                continue
            bound = self._bound(forest, k, out)
            if bound > best.score[:2] or (bound == best.score[:2] and self.tried >= alike):
                continue
            if self.tried >= last:
                return False, best
            link = self.free[k]
            waiting.append((k + 1, forest, out))
            grown = self.joined(forest, link)
            if grown is not None:
                waiting.append((k + 1, grown, out | self._against[link.edge]))
        return True, best

    def _bound(self, forest: Forest, k: int, out: frozenset[int]) -> tuple[int, float]:
        """Return fewest pieces and longest bent edges that a forest could come to with links from the k-th on."""
        leader = dict(forest.leader)
        pieces = len(forest.drawn)
        length = sum(link.length for link in forest.links.values())

        for link in self.free[k:]:
            one, two = leader_of(leader, link.one), leader_of(leader, link.two)
            if one != two and link.edge not in out:
                leader[one] = two
                pieces -= 1
                length += link.length
        return pieces, -round(length, 6)

    # -- too many to look at all ----------------------------------------------------------------

    def _improved(self, forest: Forest) -> Forest:
        """Return a forest that no swap makes better, pieces of it tied together by many swaps, or begun again."""
        last = self.tried + _TRIED_IN_SWAPS * _MANY // max(_MANY, len(self.nodes))
        forest = self._swapped(forest, last)
        chance = np.random.default_rng(0)
        for _ in range(_BEGUN_AGAIN):
            if self.tried >= last or len(forest.drawn) == 1:
                break
            tried = self._tied(forest, chance, last)
            if tried is None:
                tried = self._swapped(self._again(forest, int(chance.integers(len(self.nodes)))), last)
            if tried.score < forest.score:
                forest = tried
        return forest

    def _tied(self, forest: Forest, chance: np.random.Generator, last: int) -> Forest | None:
        """Return a forest with two of its pieces in one that was swapped until it lay flat and found room."""
        tied: set[frozenset[int]] = set()
        for link in self.free:
            both = frozenset((forest.leader[link.one], forest.leader[link.two]))
            if len(both) == 1 or both in tied or self.tried >= last:
                continue
            whole = self.joined(forest, link, whatever=True)
            if whole is None:
                continue
            tied.add(both)
            mended = self._mended(whole, link.one, chance)
            if mended is not None:
                return self._swapped(self.filled(mended, self.free), last)
        return None

    def _mended(self, forest: Forest, facet: int, chance: np.random.Generator) -> Forest | None:
        """Swap bends of one piece until it lies flat and finds room; None where the swaps are used up.

        Steps that make it a little worse are taken at first, ever fewer later (annealing; the numbers behind it are
        always the same).
        """
        members, _ = forest.piece(facet)
        inside = [link for link in self.free if link.one in members and link.two in members]
        cost = self.cost(forest.piece_of(facet))
        for step in range(_SWAPS):
            if cost <= 0.0:
                return forest
            out = [link for link in inside if link.edge not in forest.links]
            tried = self._swap_by_chance(forest, out, chance) if out else None
            if tried is None:
                continue
            tried_cost = self.cost(tried.piece_of(facet))
            heat = _HEAT * cost * (1.0 - step / _SWAPS)
            if tried_cost <= cost + heat * float(chance.random()):
                forest, cost = tried, tried_cost
        return forest if cost <= 0.0 else None

    def _swap_by_chance(self, forest: Forest, out: Sequence[Link], chance: np.random.Generator) -> Forest | None:
        """Bend one parted edge of a piece and part another one of the loop that this closes."""
        self.tried += 1
        extra = out[int(chance.integers(len(out)))]
        loop = [link for link in loop_of(forest.links.values(), extra) if link.edge in self._free_edges]
        if not loop:
            return None
        gone = loop[int(chance.integers(len(loop)))]
        bends = forest.bends.without(gone.edge).with_bend(extra.edge)
        if bends is None:
            return None
        members, links = forest.piece(extra.one)
        return self._with_piece(forest, bends, members, [*(link for link in links if link is not gone), extra])

    def _swapped(self, forest: Forest, last: int) -> Forest:
        better = True
        while better and self.tried < last:
            better = False
            for link in self.free:
                if link.edge in forest.links or self.tried >= last:
                    continue
                tried = self._swap_in(forest, link)
                if tried is not None:
                    forest, better = tried, True
        return forest

    def _swap_in(self, forest: Forest, link: Link) -> Forest | None:
        """Return a better forest in which a link bends, another one beside it or in its loop no more."""
        if forest.leader[link.one] == forest.leader[link.two]:
            loop = loop_of(forest.links.values(), link)
            ways = [gone for gone in loop if gone.length < link.length and gone.edge in self._free_edges]
        else:
            ways = [near for near in forest.links.values() if self._near(near, link) and near.edge in self._free_edges]
        for gone in sorted(ways, key=lambda way: (way.length, way.edge)):
            grown = self.joined(self.parted(forest, gone.edge), link)
            if grown is None:
                continue
            grown = self.filled(grown, (other for other in self.free if self._near(other, gone)))
            if grown.score < forest.score:
                return grown
        return None

    @staticmethod
    def _near(one: Link, two: Link) -> bool:
        """Whether two links share a facet."""
        return bool({one.one, one.two} & {two.one, two.two})

    def _again(self, forest: Forest, node: int) -> Forest:
        """Return a forest that parts all round a facet and its neighbours and is filled again, short links first."""
        middle = self.nodes[node]
        near = {middle} | {link.beyond(middle) for link in self.free if middle in (link.one, link.two)}
        for link in self.free:
            if link.edge in forest.links and {link.one, link.two} & near:
                forest = self.parted(forest, link.edge)
        around = [link for link in self.free if {link.one, link.two} & near]
        return self.filled(self.filled(forest, reversed(around)), self.free)
