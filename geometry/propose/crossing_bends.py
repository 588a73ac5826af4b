"""Bends that cross: where a lattice would stand in another board, the shortest bend that may part does so.

Bends that are wide beside their faces reach far off their edges, and may meet a bend or a board of another piece that
only touches theirs at a parted edge. In the flat nothing of it shows, so the boards are looked at as they stand.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..fold.collide import find_crossings
from ..fold.standing import standing_boards
from ..part import Part
from ..settings import BuildSettings
from ..solid.facets import Edge, Facets
from ..solid.solid import Role
from .proposed import Proposed

__all__ = ["FacetPair", "crossing_bends", "part_crossings"]

#: The facets on both sides of a bend. No two bends have the same: they would close a loop.
FacetPair = frozenset[int]


def crossing_bends(
    parts: Sequence[Part], settings: BuildSettings, *, deeper: float, lattices_only: bool = False
) -> tuple[tuple[FacetPair, ...], ...]:
    """Return the bends of all crossings of standing boards that a bend takes part in, the deepest crossing first.

    deeper: what boards may share and still count as boards that touch, mm. lattices_only: only crossings of two bends.
    """
    by_id = {part.id: part for part in parts}
    boards = list(standing_boards(parts, (), settings))
    if lattices_only:
        boards = [board for board in boards if _pair_of(board.group, by_id[board.name])]
    _, crossings = find_crossings(boards, deeper=deeper)
    found = []
    for crossing in sorted(crossings, key=lambda crossing: (-crossing.depth, crossing.places)):
        pairs = (_pair_of(boards[k].group, by_id[boards[k].name]) for k in crossing.places)
        bends = tuple(pair for pair in pairs if pair)
        if bends:
            found.append(bends)
    return tuple(found)


def part_crossings(
    facets: Facets, parts: Sequence[Part], proposed: Proposed, settings: BuildSettings, *, deeper: float
) -> Proposed:
    """Return a proposal whose shortest bend at the deepest crossing parts; the same one where there is none to part.

    facets, parts: of the solid with the proposal on it. What the maker marked stays.
    """
    for bends in crossing_bends(parts, settings, deeper=deeper):
        edges = [edge for edge in facets.edges if edge.role is Role.FLEX and frozenset(_facets_of(edge)) in bends]
        parted = proposed.with_shortest_parted(facets, edges)
        if parted is not None:
            return parted
    return proposed


def _facets_of(edge: Edge) -> tuple[int, ...]:
    return (edge.left,) if edge.right is None else (edge.left, edge.right)


def _pair_of(group: str, part: Part) -> FacetPair:
    """Return the facets that a bend joins, by the name of its group among the standing boards; none for a panel."""
    _, found, number = group.rpartition("/lattice")
    if not found:
        return frozenset()
    lattice = part.lattices[int(number)]
    return frozenset(part.panels[panel].facet for panel in (lattice.parent, lattice.child))
