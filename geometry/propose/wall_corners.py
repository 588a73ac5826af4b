"""Corners of walls: of those that the maker left unmarked, some bend, and others part because no board bends there."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from ..settings import BuildSettings
from ..solid.facets import Edge, Facets, Shell
from ..solid.solid import Role
from ..unfold.corner import SHARPEST_BEND
from ..unfold.section_checks import is_whole, short_sides
from ..unfold.setbacks import find_setbacks, strain
from .net_bends import Bench, Bends

__all__ = ["bending_corners", "upright_corners"]


def upright_corners(facets: Facets, shell: Shell) -> tuple[Edge, ...]:
    """Return the unmarked edges of a ring of walls between two upright facets, those of openings left out."""
    return tuple(
        edge
        for edge in facets.edges
        if edge.left in shell.facets
        and edge.right is not None
        and edge.role is Role.PLAIN
        and edge.angle != 0.0
        and all(facet.upright and edge.id in facet.ring_edges[0] for facet in facets.pair(edge))
    )


def bending_corners(facets: Facets, shell: Shell, settings: BuildSettings) -> frozenset[int]:
    """Return those of the unmarked corners of a ring of walls that bend, by id, as many as can beside each other.

    A corner cannot where the walls are too low for any lattice, or where a side is too narrow for the bends at both
    its ends. Marked corners bend as they are marked.
    """
    bench = Bench(facets, shell, settings)
    marked = [
        edge.id
        for edge in facets.edges
        if edge.left in shell.facets
        and edge.right is not None
        and edge.role is Role.FLEX
        and 0.0 < abs(edge.angle) <= SHARPEST_BEND
    ]
    bends = bench.start.with_forced(marked)
    corners = [edge.id for edge in upright_corners(facets, shell) if abs(edge.angle) <= SHARPEST_BEND]
    alone = {edge: bends.with_bend(edge) for edge in corners}
    for edge in _least_in_the_way(facets, alone):
        bends = bends.with_bend(edge) or bends
    bent = set(bends.hinges)
    while (faulty := _faulty(facets, shell, bent, settings, bent - set(marked))) is not None:
        bent.remove(faulty)
    return frozenset(bent - set(marked))


def _least_in_the_way(facets: Facets, alone: dict[int, Bends | None]) -> list[int]:
    """Return corners that bend by themselves, first those that keep fewest others from it, then by their places."""
    able = {edge: bends for edge, bends in alone.items() if bends is not None}
    in_the_way = {
        edge: sum(
            bends.with_bend(other) is None
            for other in able
            if other != edge and _share_a_wall(facets.edges[edge], facets.edges[other])
        )
        for edge, bends in able.items()
    }

    def order(edge: int) -> tuple[float, ...]:
        place = np.round(facets.ends(facets.edges[edge]).mean(axis=0), 2)
        return (in_the_way[edge], -round(facets.length(facets.edges[edge]), 2), *place.tolist())

    return sorted(able, key=order)


def _share_a_wall(one: Edge, two: Edge) -> bool:
    return bool({one.left, one.right} & {two.left, two.right})


def _faulty(
    facets: Facets, shell: Shell, bent: Collection[int], settings: BuildSettings, free: Collection[int]
) -> int | None:
    """Return a free corner that the walls as built find fault with, or None."""
    setbacks = find_setbacks(facets, sorted(bent), settings)
    for edge in sorted(free):
        low, high = setbacks.spans[edge]
        made = setbacks.lattices[edge]
        if strain(made) > 1.0 or high - low <= made.least_axis:
            return edge
    for facet in shell.facets:
        moved = setbacks.facets[facet]
        if short_sides(setbacks.lattices, moved) or not is_whole(moved):
            near = [edge for edge in sorted(free) if facet in (facets.edges[edge].left, facets.edges[edge].right)]
            if near:
                return near[0]
    return None
