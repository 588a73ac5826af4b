"""The fewest pieces that a solid can be cut in, by building every forest of bends that networkx lets pass."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import networkx
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.outcome import Settings
from stowfold.geometry.propose.net_trees import Link
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.solid import Role
from stowfold.geometry.unfold.section import unfold

__all__ = ["SHEET", "built", "least_by_building"]

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
SHEET = (594.0, 294.0)

#: What a section is told of that is asked more than its board gives.
FAULTS = {
    "bridge-over-stressed",
    "lattice-too-short",
    "link-over-stressed",
    "panel-falls-apart",
    "self-overlap",
    "slit-contact",
    "vanishing-panel",
}


def built(facets: Facets, bent: frozenset[int]) -> bool:
    """Whether the sections of a choice of bends have no fault and find room on a sheet, label included."""
    edges = tuple(replace(edge, role=Role.FLEX) if edge.id in bent else edge for edge in facets.edges)
    # a face that is the floor where nothing is marked is a panel like any other once its edges bend
    shells = tuple(replace(shell, bottom=None) for shell in facets.shells)
    sections = unfold(replace(facets, edges=edges, shells=shells), SETTINGS.as_cut)
    if FAULTS & {finding.code for finding in sections.findings}:
        return False
    sizes = [sorted(part.size) for part in sections.parts]
    return all(size[0] <= SHEET[1] - 6.0 and size[1] <= SHEET[0] - 6.0 for size in sizes)


def least_by_building(facets: Facets, links: tuple[Link, ...]) -> tuple[int, float]:
    """Return fewest pieces and least parted length of all choices of bends, every one of them built."""
    every = len(facets.facets)
    total = sum(link.length for link in links)
    for count in range(every - 1, -1, -1):
        lengths = []
        for chosen in combinations(links, count):
            graph = networkx.MultiGraph([(link.one, link.two) for link in chosen])
            if count and not networkx.is_forest(graph):
                continue
            if built(facets, frozenset(link.edge for link in chosen)):
                lengths.append(total - sum(link.length for link in chosen))
        if lengths:
            return every - count, min(lengths)
    raise AssertionError("loose faces are always built")
