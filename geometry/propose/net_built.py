"""Nets proved by building them: what the sections of a net lose where it is built, parts."""

from __future__ import annotations

from dataclasses import replace

from ..settings import BuildSettings
from ..solid.facets import Edge, Facets
from ..solid.solid import Role
from ..tolerance import OVERLAP, PROOF_NOISE
from ..unfold.section import Sections, unfold
from ..unfold.section_checks import is_whole, short_sides
from ..unfold.setbacks import strain
from .crossing_bends import crossing_bends
from .net_search import Forest, Search
from .net_trees import Link

__all__ = ["as_built"]


def as_built(search: Search, forest: Forest, facets: Facets, settings: BuildSettings) -> Forest:
    """Return a forest whose sections have no fault that parting an edge would cure.

    The search works with lattices that are found bend by bend, the sections with those of all bends at once; where
    the two differ, an edge that the sections find fault with parts for good, and the search goes on with the others.
    It ends at the latest where all free edges are parted.
    """
    barred: set[int] = set()
    while True:
        sections = _sections(forest, facets, settings)
        faulty = _faulty(search, forest, sections) or _crossing(search, forest, sections, settings)
        if faulty is None:
            return forest
        barred.add(faulty.edge)
        forest = search.filled(search.parted(forest, faulty.edge), search.free, barred)


def _sections(forest: Forest, facets: Facets, settings: BuildSettings) -> Sections:
    """Return the sections that the whole flow would make of a forest."""
    own = {edge for facet in forest.leader for ring in facets.facets[facet].ring_edges for edge in ring}
    tied = {facet for link in forest.links.values() for facet in (link.one, link.two)}

    def as_marked(edge: Edge) -> Edge:
        if edge.id in forest.links:
            return replace(edge, role=Role.FLEX)
        return replace(edge, role=Role.PLAIN) if edge.id in own and edge.role is Role.FLEX else edge

    return unfold(
        replace(
            facets,
            edges=tuple(map(as_marked, facets.edges)),
            shells=tuple(replace(s, bottom=None) if s.bottom in tied else s for s in facets.shells),
        ),
        settings,
    )


def _faulty(search: Search, forest: Forest, sections: Sections) -> Link | None:
    """Return the free edge that parts next, the shortest that there is a fault at; None where all is well."""
    free = [link for link in search.free if link.edge in forest.links]
    setbacks = sections.setbacks
    for link in sorted(free, key=_cheapest):
        low, high = setbacks.spans[link.edge]
        made = setbacks.lattices[link.edge]
        if strain(made) > 1.0 or high - low <= made.least_axis:
            return link
    for facet in sorted(forest.leader):
        moved = setbacks.facets[facet]
        if short_sides(setbacks.lattices, moved) or not is_whole(moved):
            near = [link for link in free if facet in (link.one, link.two)]
            if near:
                return min(near, key=_cheapest)
    for leader in sorted(forest.drawn):
        members, links = forest.piece(leader)
        if links and not all(facet in sections.part_of for facet in members):
            own = [link for link in links if link in free]
            if own:
                return min(own, key=_cheapest)
    return None


def _crossing(search: Search, forest: Forest, sections: Sections, settings: BuildSettings) -> Link | None:
    """Return the shortest free edge of two bends that stand in each other, None where no bends cross."""
    deeper = max(OVERLAP, PROOF_NOISE * search.bench.facets.noise)
    for bends in crossing_bends(sections.parts, settings, deeper=deeper, lattices_only=True):
        own = [link for link in search.free if link.edge in forest.links and {link.one, link.two} in bends]
        if own:
            return min(own, key=_cheapest)
    return None


def _cheapest(link: Link) -> tuple[float, int]:
    return link.length, link.edge
