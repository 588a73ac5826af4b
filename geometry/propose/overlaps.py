"""Overlaps: bends that were proposed part again where the section that they make lies on itself in the flat.

A net is searched before breaks are proposed. Joiners of walls may move the sides of a roof by a little, so that
pieces of a net that only just pass one another in the flat lie on each other.
"""

from __future__ import annotations

from ..solid.facets import Facets
from ..solid.solid import Role
from ..unfold.section import Sections
from .proposed import Proposed

__all__ = ["part_overlaps"]


def part_overlaps(facets: Facets, sections: Sections, proposed: Proposed) -> Proposed:
    """Return a proposal whose bend nearest to the first overlap parts; the same one where there is nothing to part.

    facets, sections: of the solid with the proposal on it. Of the bends of the face that lies on another one the
    shortest parts, else the shortest of its section; what the maker marked stays.
    """
    for finding in sections.findings:
        if finding.code != "self-overlap":
            continue
        named = [
            facet.id
            for facet in facets.facets
            if facet.faces == finding.where.faces and facets.source_of(facet) == finding.where.source
        ]
        groups = [group for group in sections.hinges.groups if set(named) & set(group)]
        for members in (named, *groups):
            bends = [edge for edge in facets.edges if edge.role is Role.FLEX and {edge.left, edge.right} & set(members)]
            parted = proposed.with_shortest_parted(facets, bends)
            if parted is not None:
                return parted
    return proposed
