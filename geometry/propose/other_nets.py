"""Other nets: the best net of a shell, the second best, and so on.

Lawler's way of ranking (Management Science 18, 1972): the choices that are left after the best one are parted by
which of its edges they keep and which one they leave out, the best of every part is asked for, and so on.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from itertools import count, islice

from ..settings import BuildSettings
from ..solid.facets import Facets, Shell
from ..solid.solid import Role
from .net import Net, choose_net, links_of
from .net_trees import Link

__all__ = ["other_nets"]

#: Asked for so many nets at most: what is left then is no better than what was found.
_ASKED = 60

_Rank = tuple[bool, int, float, float, tuple[int, ...]]


def other_nets(
    facets: Facets,
    shell: Shell,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    most: int,
    tell: Callable[[float], None] = lambda share: None,
) -> tuple[Net, ...]:
    """Return up to ``most`` nets of a shell that fit the sheet, the best first; one that does not fit where none does.

    The order is that of ``choose_net``: fewest pieces, then least length of parted edges, then least bending.
    What the maker marked stays. largest: (width, height) of a piece that sheet and bed take, mm. tell: is told the
    share that is done.
    """
    links = {link.edge: link for link in links_of(facets, shell)}
    found: list[Net] = []
    for net in islice(_ranked(facets, shell, settings, largest, links), most):
        if found and not net.fits:
            break
        found.append(net)
        tell(len(found) / most)
    return tuple(found)


def _ranked(
    facets: Facets,
    shell: Shell,
    settings: BuildSettings,
    largest: tuple[float, float],
    links: dict[int, Link],
) -> Iterator[Net]:
    """Yield every net, the best first, each once."""
    asked = count()
    order = count()

    def best(kept: Collection[int], barred: Collection[int]) -> tuple[_Rank, int, Net, frozenset[int], frozenset[int]]:
        marked = replace(
            facets,
            edges=tuple(replace(edge, role=Role.FLEX) if edge.id in kept else edge for edge in facets.edges),
        )
        net = choose_net(marked, _whole(facets, shell), settings, largest=largest, barred=barred)
        return _rank(net, links), next(order), net, frozenset(kept), frozenset(barred)

    waiting = [best((), ())]
    while waiting:
        _, _, net, kept, barred = heapq.heappop(waiting)
        yield net
        held = set(kept)
        free = [edge for edge in sorted(net.edges) if edge not in kept and facets.edges[edge].role is Role.PLAIN]
        for edge in free:
            if next(asked) >= _ASKED:
                break
            child = best(held, barred | {edge})
            if held <= child[2].edges:
                heapq.heappush(waiting, child)
            held.add(edge)


def _whole(facets: Facets, shell: Shell) -> Shell:
    """Return a shell without a floor where nothing of it is marked: a bottom is the floor only beside marks."""
    own = set(shell.facets)
    marked = any(edge.role is not Role.PLAIN for edge in facets.edges if edge.right is not None and edge.left in own)
    return shell if marked else replace(shell, bottom=None)


def _rank(net: Net, links: dict[int, Link]) -> _Rank:
    bent = [links[edge] for edge in net.edges if edge in links]
    return (
        not net.fits,
        len(net.pieces),
        -round(sum(link.length for link in bent), 6),
        round(sum(link.bend for link in bent), 9),
        tuple(sorted(net.edges)),
    )
