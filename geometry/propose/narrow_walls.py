"""Narrow walls: a wall that bends at one end and is parted at the other may be too narrow there for what would hold it.

Parted at both ends such a wall is a strip of its own, which keeps the board that its bend would have taken.
"""

from __future__ import annotations

from collections.abc import Iterator

from ..solid.facets import Edge, Facets, ShellKind
from ..solid.solid import Role

__all__ = ["half_bent_walls"]


def half_bent_walls(facets: Facets) -> Iterator[tuple[Edge, Edge]]:
    """Yield the parted and the bent corner of every wall that has one of either."""
    for facet in facets.facets:
        if not facet.upright or facets.shell_of(facet).kind is not ShellKind.WALLS:
            continue
        corners = [
            edge
            for edge in facets.edges_of(facet)
            if edge.right is not None and all(wall.upright for wall in facets.pair(edge))
        ]
        parted = [edge for edge in corners if edge.role is Role.CLOSURE]
        bent = [edge for edge in corners if edge.role is Role.FLEX]
        if len(corners) == 2 and parted and bent:
            yield parted[0], bent[0]
