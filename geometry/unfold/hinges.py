"""Hinges: which flex edges really bend, so that every section unfolds like a tree."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..findings import Finding, Location, Severity, place
from ..sentence import Sentence
from ..solid.facets import Edge, Facets, ShellKind
from ..solid.solid import Role
from .corner import SHARPEST_BEND

__all__ = ["Hinges", "choose_hinges"]


@dataclass(frozen=True, slots=True)
class Hinges:
    """The flex edges that bend, by edge id, and the groups of facets that they hold together."""

    edges: tuple[int, ...]
    groups: tuple[tuple[int, ...], ...]
    findings: tuple[Finding, ...]


def choose_hinges(facets: Facets) -> Hinges:
    """Sort out which edges of role FLEX become lattices.

    Flex edges of one section must form a tree. An edge that would close a loop is reported
    (`flex-loop-without-break`, naming the loop) and left parted, so that the rest can be looked at.
    Floors cut from a bottom facet take no part in any section.
    """
    floors = {shell.bottom for shell in facets.shells} - {None}
    neighbours: dict[int, list[tuple[int, int]]] = {f.id: [] for f in facets.facets if f.id not in floors}
    chosen: list[int] = []
    findings: list[Finding] = []
    for edge in facets.edges:
        if edge.role is not Role.FLEX or edge.right is None:
            continue
        where = _where(facets, edge)
        if abs(edge.angle) > SHARPEST_BEND:
            findings.append(
                Finding(
                    Severity.ERROR,
                    "bend-too-sharp",
                    f"The flex corner bends by {math.degrees(abs(edge.angle)):.1f} degrees; at most "
                    f"{math.degrees(SHARPEST_BEND):.0f} degrees can be bent, so mark it as closure or leave it plain.",
                    where,
                )
            )
            continue
        loop = _path(neighbours, edge.left, edge.right)
        if loop is not None:
            findings.append(_loop_finding(facets, edge, loop))
            continue
        neighbours[edge.left].append((edge.right, edge.id))
        neighbours[edge.right].append((edge.left, edge.id))
        chosen.append(edge.id)
    return Hinges(tuple(chosen), _groups(neighbours), tuple(findings))


def _path(neighbours: dict[int, list[tuple[int, int]]], start: int, goal: int) -> list[int] | None:
    """Return the facets on the way from start to goal over chosen hinges, or None."""
    came: dict[int, int] = {start: start}
    waiting = [start]
    while waiting:
        here = waiting.pop()
        if here == goal:
            way = [here]
            while way[-1] != start:
                way.append(came[way[-1]])
            return way[::-1]
        for there, _ in neighbours[here]:
            if there not in came:
                came[there] = here
                waiting.append(there)
    return None


def _groups(neighbours: dict[int, list[tuple[int, int]]]) -> tuple[tuple[int, ...], ...]:
    seen: set[int] = set()
    groups = []
    for first in sorted(neighbours):
        if first in seen:
            continue
        group = [first]
        seen.add(first)
        for here in group:
            for there, _ in neighbours[here]:
                if there not in seen:
                    seen.add(there)
                    group.append(there)
        groups.append(tuple(sorted(group)))
    return tuple(groups)


def _where(facets: Facets, edge: Edge) -> Location:
    ends = facets.ends(edge)
    return Location(edges=edge.host_edges, source=facets.sources[edge.source], point=place(ends.mean(axis=0)))


def _loop_finding(facets: Facets, edge: Edge, loop: list[int]) -> Finding:
    faces = facets.ref(*(facets.facets[facet] for facet in loop))
    where = _where(facets, edge)
    if len(loop) == 2:
        text = Sentence.of(
            faces,
            " share more than one flex edge, as where an opening cuts through a corner; move the opening off the "
            "corner or leave the edges plain.",
        )
    else:
        walls = facets.shell_of(facets.left(edge)).kind is ShellKind.WALLS
        remedy = "mark a break line on one of these walls" if walls else "leave one of these edges plain or a closure"
        text = Sentence.of(
            f"The {len(loop)} flex corners of ",
            faces,
            f" close a loop that no flat board can make; {remedy}, or let breaks be proposed.",
        )
    return Finding(Severity.ERROR, "flex-loop-without-break", text, where)
