"""Trees of a net: which choices of bent edges hold all facets together without closing a loop.

Facets are the points and shared edges the lines of a graph; a net is a spanning tree of it, and
where some facets share no edge that can bend, a spanning forest with as few pieces as can be.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ..leaders import leader_of

__all__ = ["Link", "count_trees", "groups_of", "longest_tree", "loop_of", "spanning_trees"]


@dataclass(frozen=True, slots=True)
class Link:
    """An edge that may bend between two facets: its id, the facets, its length in mm and its bend in radians."""

    edge: int
    one: int
    two: int
    length: float
    bend: float

    def beyond(self, facet: int) -> int:
        """Return the facet at the other end."""
        return self.two if facet == self.one else self.one


def groups_of(nodes: Iterable[int], links: Iterable[Link]) -> dict[int, int]:
    """Return for every facet the smallest facet that links tie it to."""
    leader = {node: node for node in nodes}

    for link in links:
        one, two = leader_of(leader, link.one), leader_of(leader, link.two)
        if one != two:
            leader[max(one, two)] = min(one, two)
    return {node: leader_of(leader, node) for node in leader}


def count_trees(nodes: Sequence[int], links: Sequence[Link], forced: Sequence[Link] = ()) -> int:
    """Return how many spanning trees contain all ``forced`` links, exactly.

    Kirchhoff's theorem: the determinant of the Laplacian without one row and column, here of the graph
    with forced links contracted; in whole numbers by Bareiss' elimination. Facets that no link can reach
    make forests; their number is the product over the pieces.
    """
    within = groups_of(nodes, forced)
    pieces = groups_of(nodes, [*links, *forced])
    total = 1
    for piece in sorted(set(pieces.values())):
        points = sorted({within[node] for node in nodes if pieces[node] == piece})
        place = {point: k for k, point in enumerate(points)}
        laplacian = [[0] * len(points) for _ in points]
        for link in links:
            if within[link.one] == within[link.two] or pieces[link.one] != piece:
                continue
            a, b = place[within[link.one]], place[within[link.two]]
            for row, column, value in ((a, a, 1), (b, b, 1), (a, b, -1), (b, a, -1)):
                laplacian[row][column] += value
        total *= _determinant([row[1:] for row in laplacian[1:]])
    return total


def _determinant(matrix: list[list[int]]) -> int:
    """Return the determinant of a matrix of whole numbers (Bareiss 1968: every division comes out even)."""
    rows = [row[:] for row in matrix]
    sign, before = 1, 1
    for k in range(len(rows)):
        pivot = next((r for r in range(k, len(rows)) if rows[r][k]), None)
        if pivot is None:
            return 0
        if pivot != k:
            rows[k], rows[pivot] = rows[pivot], rows[k]
            sign = -sign
        for r in range(k + 1, len(rows)):
            for c in range(k + 1, len(rows)):
                rows[r][c] = (rows[r][c] * rows[k][k] - rows[r][k] * rows[k][c]) // before
        before = rows[k][k]
    return sign * before


def spanning_trees(
    nodes: Sequence[int], links: Sequence[Link], forced: Sequence[Link] = ()
) -> Iterator[tuple[Link, ...]]:
    """Yield the free links of every spanning tree that contains all ``forced`` ones, in a fixed order.

    Each link in turn is taken, where it closes no loop, and then left out, where the links after it can
    make up for it; so every branch ends in a tree.
    """
    within = groups_of(nodes, forced)
    points = sorted(set(within.values()))
    lines = [(within[link.one], within[link.two], link) for link in links if within[link.one] != within[link.two]]
    chosen: list[Link] = []

    def walk(k: int, label: dict[int, int]) -> Iterator[tuple[Link, ...]]:
        while k < len(lines) and label[lines[k][0]] == label[lines[k][1]]:
            k += 1
        if k == len(lines):
            yield tuple(chosen)
            return
        one, two = label[lines[k][0]], label[lines[k][1]]
        low, high = min(one, two), max(one, two)
        chosen.append(lines[k][2])
        yield from walk(k + 1, {node: low if mark == high else mark for node, mark in label.items()})
        chosen.pop()
        if _joined(one, two, label, lines[k + 1 :]):
            yield from walk(k + 1, label)

    yield from walk(0, {point: point for point in points})


def _joined(one: int, two: int, label: dict[int, int], lines: Sequence[tuple[int, int, Link]]) -> bool:
    """Whether lines still tie two groups together."""
    reached, grown = {one}, True
    pairs = [(label[a], label[b]) for a, b, _ in lines]
    while grown and two not in reached:
        grown = False
        for a, b in pairs:
            if (a in reached) != (b in reached):
                reached |= {a, b}
                grown = True
    return two in reached


def longest_tree(nodes: Sequence[int], links: Sequence[Link], forced: Sequence[Link] = ()) -> tuple[Link, ...]:
    """Return the free links of the spanning tree whose bent edges are longest in all (Kruskal 1956)."""
    label = groups_of(nodes, forced)
    tree = []
    for link in sorted(links, key=lambda link: (-link.length, link.bend, link.edge)):
        one, two = label[link.one], label[link.two]
        if one != two:
            label = {node: one if mark == two else mark for node, mark in label.items()}
            tree.append(link)
    return tuple(tree)


def loop_of(tree: Iterable[Link], extra: Link) -> tuple[Link, ...]:
    """Return the links of a tree that ``extra`` would close a loop with."""
    near: dict[int, list[Link]] = {}
    for link in tree:
        near.setdefault(link.one, []).append(link)
        near.setdefault(link.two, []).append(link)
    came: dict[int, Link | None] = {extra.one: None}
    front = [extra.one]
    for here in front:
        for link in near.get(here, ()):
            there = link.beyond(here)
            if there not in came:
                came[there] = link
                front.append(there)
    loop = []
    here = extra.two
    while (back := came.get(here)) is not None:
        loop.append(back)
        here = back.beyond(here)
    return tuple(loop)
