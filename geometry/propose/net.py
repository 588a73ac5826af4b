"""Nets: which edges flex and which become closures, proposed for whatever the maker left unmarked."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from ..findings import place
from ..settings import BuildSettings
from ..solid.facets import Edge, Facets, Shell, ShellKind
from ..solid.solid import Role
from ..tolerance import AREA
from ..unfold.corner import SHARPEST_BEND
from .net_bends import Bench
from .net_built import as_built
from .net_search import Forest, Search
from .net_trees import Link, groups_of
from .proposed import Mark, Point, Proposed
from .wall_corners import bending_corners, upright_corners

__all__ = ["SHORT_RIDGE", "Net", "choose_net", "links_of", "net_of", "propose_net", "roles_of_net", "search_for"]

#: A ridge shorter than this that stays parted has no room for a lap; the hips at its ends hold it, mm.
SHORT_RIDGE = 40.0

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

    Upright corners of walls flex where their board bends there, and are closures elsewhere. Roofs and other
    solids flex along trees of their facets that their board can bend (see choose_net); their other edges become
    closures, but for short ridges, which rest.
    What is marked stays as it is, whatever is chosen for the others.
    largest: (width, height) of a piece that sheet and bed take, mm.

    >>> from stowfold.geometry.solid.find import find_facets
    >>> proposed = propose_net(find_facets(solid), settings, largest=(600.0, 300.0))
    >>> len(proposed.cuts)
    0
    """
    roles: dict[int, Role] = {}
    for shell in facets.shells:
        if shell.stands_on:
            continue
        if shell.kind is ShellKind.WALLS:
            bent = bending_corners(facets, shell, settings)
            corners = upright_corners(facets, shell)
            roles.update((edge.id, Role.FLEX if edge.id in bent else Role.CLOSURE) for edge in corners)
            continue
        free = [link for link in links_of(facets, shell) if facets.edges[link.edge].role is Role.PLAIN]
        if free:
            roles.update(
                roles_of_net(facets, shell, choose_net(search_for(facets, shell, settings, largest=largest)), free)
            )
    edges = [edge for edge in facets.edges if roles.get(edge.id, Role.PLAIN) is not Role.PLAIN]
    return Proposed(tuple(Mark(edge.source, edge.host_edges, roles[edge.id], _span(facets, edge)) for edge in edges))


def _span(facets: Facets, edge: Edge) -> tuple[Point, Point]:
    return place(facets.points[edge.start]), place(facets.points[edge.end])


def roles_of_net(facets: Facets, shell: Shell, net: Net, links: Sequence[Link]) -> dict[int, Role]:
    """Return what a net makes of the edges of links, by edge id: those that it bends flex, the others part.

    What parts is a closure, but for a short ridge between hips, which rests.
    """
    inner = _inner_edges(facets, shell)

    def role_of(link: Link) -> Role:
        if link.edge in net.edges:
            return Role.FLEX
        return Role.CLOSURE if link.length >= SHORT_RIDGE or link.edge not in inner else Role.PLAIN

    return {link.edge: role_of(link) for link in links}


def _inner_edges(facets: Facets, shell: Shell) -> frozenset[int]:
    """Return the edges of a roof that end at no point of its rim, as a ridge between hips does."""
    if shell.kind is not ShellKind.ROOF:
        return frozenset()
    own = [edge for edge in facets.edges if edge.left in shell.facets]
    rim = {point for edge in own if edge.right is None for point in (edge.start, edge.end)}
    return frozenset(edge.id for edge in own if edge.right is not None and not {edge.start, edge.end} & rim)


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


def choose_net(search: Search) -> Net:
    """Return the best net of the shell that a search is about (see ``search_for``).

    An edge bends only where the board bears it, all facets keep their panels beside all bends together, and the piece
    does not lie on itself in the flat and fits the largest piece; all others part, and a facet without such an edge is
    a piece of its own. Of those nets the one with fewest pieces, then with least length of parted edges, then with
    least bending, then the smallest boxes: of all where they can be looked at in bounded work, else the best that
    was found (see ``net_search``); the choice does not depend on chance or time.
    """
    bench = search.bench
    return net_of(search, as_built(search, search.best(), bench.facets, bench.settings))


def search_for(
    facets: Facets,
    shell: Shell,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    keep_marks: bool = True,
    barred: Collection[int] = (),
) -> Search:
    """Return the search for nets of a shell.

    largest: (width, height) of a piece that sheet and bed take, mm. Edges marked flex bend unless ``keep_marks`` is
    off. Unmarked edges that are ``barred`` stay parted.
    """
    links = links_of(facets, shell)
    forced = _without_loops([link for link in links if facets.edges[link.edge].role is Role.FLEX]) if keep_marks else ()
    free = [
        link
        for link in links
        if link not in forced
        and link.edge not in barred
        and (not keep_marks or facets.edges[link.edge].role is Role.PLAIN)
    ]
    room = (min(largest) - _ALLOWANCE, max(largest) - _ALLOWANCE)
    return Search(Bench(facets, shell, settings), shell.facets, free, forced, room)


def net_of(search: Search, forest: Forest) -> Net:
    """Return a forest of a search as a net."""
    pieces = tuple(tuple(forest.piece(leader)[0]) for leader in sorted(forest.drawn))
    return Net(frozenset(forest.links), pieces, _fits(search, forest))


def _fits(search: Search, forest: Forest) -> bool:
    """Whether all can be cut, also what the maker's own marks bend."""
    return forest.bends.sound and all(
        search.excess(drawn) <= 0.0 and drawn.overlap <= AREA for drawn in forest.drawn.values()
    )


def _without_loops(links: Sequence[Link]) -> tuple[Link, ...]:
    """Return links without those that would close a loop, which the hinges report."""
    kept: list[Link] = []
    for link in links:
        group = groups_of([link.one, link.two, *(node for link in kept for node in (link.one, link.two))], kept)
        if group[link.one] != group[link.two]:
            kept.append(link)
    return tuple(kept)
