"""Other nets: the best net of a shell, the second best, and so on.

The next best tree of a graph is one swap of two edges away from one of those that are better (Gabow, SIAM Journal on
Computing 6, 1977). So the swaps of every net that is found are looked at, the best net first.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator
from itertools import count

from ..settings import BuildSettings
from ..solid.facets import Facets, Shell
from .net import Net, net_of, search_for
from .net_built import as_built
from .net_search import Forest, Search
from .net_trees import Link, loop_of

__all__ = ["other_nets"]

#: Bends that are tried for other nets of one shell: what a maker waits for.
_TRIED = 600


def other_nets(
    facets: Facets,
    shell: Shell,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    most: int,
    tell: Callable[[float], None] = lambda share: None,
) -> tuple[Net, ...]:
    """Return up to ``most`` nets of a shell that can be built: that of ``choose_net``, then others in order.

    The order is the same as there: fewest pieces, then least length of parted edges, then least bending, then
    the smallest boxes. What the maker marked stays. largest: (width, height) of a piece that sheet and bed take, mm.
    tell: is told the share that is done.
    """
    search = search_for(facets, shell, settings, largest=largest)
    best = as_built(search, search.best(), facets, settings)
    last, number = search.tried + _TRIED, count()
    waiting = [(best.score, next(number), best)]
    known = {frozenset(best.links)}
    found: list[Forest] = []
    while waiting and len(found) < most:
        _, _, forest = heapq.heappop(waiting)
        found.append(forest)
        tell(len(found) / most)
        for other in _swapped(search, forest):
            if frozenset(other.links) not in known:
                known.add(frozenset(other.links))
                heapq.heappush(waiting, (other.score, next(number), other))
            if search.tried >= last:
                break
    # swaps between pieces may find better ones late
    ordered = [*found[:1], *sorted(found[1:], key=lambda forest: forest.score)]
    return tuple(net_of(search, forest) for forest in ordered)


def _swapped(search: Search, forest: Forest) -> Iterator[Forest]:
    """Yield the forests that bend one free edge instead of another one, and those that bend one less.

    In a piece the other one closes a loop with it; between two pieces it lies beside it and is in its way.
    """
    free = {link.edge for link in search.free}
    for link in search.free:
        if link.edge in forest.links:
            yield search.parted(forest, link.edge)
            continue
        tied = forest.leader[link.one] == forest.leader[link.two]
        ways = (
            loop_of(forest.links.values(), link) if tied else [way for way in forest.links.values() if _meet(way, link)]
        )
        for gone in ways:
            if gone.edge in free:
                other = search.joined(search.parted(forest, gone.edge), link)
                if other is not None:
                    yield other if tied else search.filled(other, search.free, {gone.edge})


def _meet(one: Link, two: Link) -> bool:
    """Whether two links share a facet."""
    return bool({one.one, one.two} & {two.one, two.two})
