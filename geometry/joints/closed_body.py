"""Closed bodies: blocks modelled with floor and lid, which a maker may not have meant as boards all round."""

from __future__ import annotations

from collections.abc import Sequence

from ..findings import Finding, Location, Severity
from ..part import Tab
from ..solid.facets import Facets
from ..unfold.section import Sections

__all__ = ["check_closed_bodies"]


def check_closed_bodies(facets: Facets, sections: Sections, tabs: Sequence[Tab]) -> tuple[Finding, ...]:
    """Say of every closed surface that it was understood as a body, and how many boards it is cut as.

    tabs: they tell which pieces of floor were cut for it.
    """
    found = []
    for shell in facets.shells:
        boards = {sections.part_of[facet] for facet in shell.facets if facet in sections.part_of}
        if not shell.closed or not boards:
            continue
        boards |= {tab.floor for tab in tabs if tab.part in boards}
        own = [facets.facets[facet] for facet in shell.facets]
        first = own[0]
        number = "1 board" if len(boards) == 1 else f"{len(boards)} boards"
        message = (
            f"'{facets.source_of(first)}' is a closed body: its walls, floor and lid are cut as {number}; "
            "delete the faces of the lid to look inside"
        )
        where = Location(
            faces=tuple(face for facet in own if facet.source == first.source for face in facet.faces),
            source=facets.source_of(first),
        )
        found.append(Finding(Severity.NOTE, "closed-body", message, where))
    return tuple(found)
