"""Nets: which edges flex and which become closures, proposed for whatever the maker left unmarked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from ..solid.facets import Edge, Facets, Shell, ShellKind
from ..solid.solid import Role
from ..tolerance import AREA, SNAP
from .corner import SHARPEST_BEND

__all__ = ["propose_net"]

#: Random trees tried beside the regular ones.
_TREES = 24

#: Room that a label in the waste beside a part takes, mm.
_LABEL = 6.0


def propose_net(facets: Facets, *, largest: tuple[float, float]) -> Facets:
    """Return the facets with flex edges filled in on every shell where none is marked.

    Upright corners of walls all flex. Roofs and other solids flex along a spanning tree of their
    facets whose flat shape does not lie on itself and, if one can be found, fits ``largest``
    (width, height in mm); their other edges become closures.
    """
    roles: dict[int, Role] = {}
    for shell in facets.shells:
        inner = [edge for edge in facets.edges if edge.right is not None and edge.left in shell.facets]
        if any(edge.role in (Role.FLEX, Role.CLOSURE) for edge in inner):
            continue
        free = [edge for edge in inner if edge.role is Role.PLAIN and 0.0 < abs(edge.angle) <= SHARPEST_BEND]
        if shell.kind is ShellKind.WALLS:
            upright = [edge for edge in free if _upright(facets, edge)]
            roles.update((edge.id, Role.FLEX) for edge in upright)
            continue
        tree = _best_tree(facets, shell, free, largest)
        roles.update((edge.id, Role.FLEX if edge.id in tree else Role.CLOSURE) for edge in free)
    edges = tuple(replace(edge, role=roles.get(edge.id, edge.role)) for edge in facets.edges)
    # a bottom whose edges flex is no floor any more
    shells = tuple(
        replace(shell, bottom=None)
        if shell.bottom is not None
        and any(edges[e].role is Role.FLEX for e in facets.facets[shell.bottom].ring_edges[0])
        else shell
        for shell in facets.shells
    )
    return replace(facets, edges=edges, shells=shells)


def _upright(facets: Facets, edge: Edge) -> bool:
    assert edge.right is not None
    return facets.facets[edge.left].upright and facets.facets[edge.right].upright


def _best_tree(facets: Facets, shell: Shell, edges: Sequence[Edge], largest: tuple[float, float]) -> set[int]:
    """Return the edge ids of the best forest found: no overlap, fewest pieces that each fit, smallest boxes.

    Where no tree over all facets fits, trees are cut at edges until every piece does.
    """
    room = (largest[0] - _LABEL, largest[1] - _LABEL)
    by_id = {edge.id: edge for edge in edges}
    best: tuple[tuple[bool, int, float], set[int]] | None = None
    for tree in _trees(shell, edges):
        pieces = _cut_to_fit(facets, list(shell.facets), [by_id[e] for e in sorted(tree)], room)
        overlap = sum(piece.overlap for piece in pieces)
        score = (overlap > AREA, len(pieces), sum(piece.size[0] * piece.size[1] for piece in pieces))
        if best is None or score < best[0]:
            best = (score, {edge.id for piece in pieces for edge in piece.edges})
    return best[1] if best else set()


@dataclass(frozen=True, slots=True)
class _Piece:
    """Facets held together by flex edges: how much they overlap in the flat, mm^2, and their box, mm."""

    edges: tuple[Edge, ...]
    overlap: float
    size: tuple[float, float]


def _cut_to_fit(facets: Facets, group: list[int], tree: list[Edge], room: tuple[float, float]) -> tuple[_Piece, ...]:
    """Return the pieces into which a tree of facets is cut so that each fits; one facet alone is never cut."""
    overlap, size = _flat(facets, group, tree)
    if not tree or (min(size) <= min(room) and max(size) <= max(room)):
        return (_Piece(tuple(tree), overlap, size),)
    choices = []
    for cut in tree:
        rest = [edge for edge in tree if edge is not cut]
        one, _ = _star(cut.left, rest)
        halves = [
            (
                [facet for facet in group if (facet in one) is side],
                [edge for edge in rest if (edge.left in one) is side],
            )
            for side in (True, False)
        ]
        sizes = [_flat(facets, *half)[1] for half in halves]
        poor = sum(min(size) > min(room) or max(size) > max(room) for size in sizes)
        choices.append((poor, max(max(size) for size in sizes), cut.id, halves))
    # the cut that leaves fewest pieces too large, then the smallest boxes
    *_, halves = min(choices, key=lambda choice: choice[:3])
    return tuple(piece for half in halves for piece in _cut_to_fit(facets, *half, room))


def _star(root: int, edges: Sequence[Edge]) -> tuple[set[int], set[int]]:
    """Return the facets that edges tie to ``root``, and the ids of the edges that reach them by the fewest steps."""
    reached, tree, front = {root}, set(), [root]
    for here in front:
        for edge in edges:
            there = edge.beyond(here)
            if there is not None and there not in reached:
                reached.add(there)
                tree.add(edge.id)
                front.append(there)
    return reached, tree


def _trees(shell: Shell, edges: Sequence[Edge]) -> Iterator[set[int]]:
    """Yield spanning trees: a star about every facet first, then a fixed sequence of random ones."""
    for root in shell.facets:
        yield _star(root, edges)[1]
    chance = np.random.default_rng(0)
    for _ in range(_TREES):
        group = {facet: facet for facet in shell.facets}
        tree = set()
        for k in chance.permutation(len(edges)):
            left, right = (_leader(group, facet) for facet in (edges[k].left, edges[k].right))
            if left != right:
                group[left] = right
                tree.add(edges[k].id)
        yield tree


def _leader(group: dict[int, int], facet: int | None) -> int:
    assert facet is not None
    while group[facet] != facet:
        facet = group[facet]
    return facet


def _flat(facets: Facets, group: Sequence[int], tree: Sequence[Edge]) -> tuple[float, tuple[float, float]]:
    """Return overlap (mm^2) and bounding box (mm) of facets unfolded sharp over a tree of edges."""
    root = group[0]
    placed = {root: (np.eye(2), np.zeros(2))}
    order = [root]
    for here in order:
        for edge in tree:
            there = edge.beyond(here)
            if there is None or there in placed:
                continue
            ends = facets.points[[edge.start, edge.end]]
            turn, shift = placed[here]
            fixed = facets.facets[here].frame.flatten(ends) @ turn + shift
            loose = facets.facets[there].frame.flatten(ends)
            one, two = fixed[1] - fixed[0], loose[1] - loose[0]
            length = np.hypot(*two) ** 2
            cos, sin = (two @ one) / length, (two[0] * one[1] - two[1] * one[0]) / length
            matrix = np.array([[cos, sin], [-sin, cos]])
            placed[there] = (matrix, fixed[0] - loose[0] @ matrix)
            order.append(there)
    shapes = [
        Polygon(facets.ring(facets.facets[facet]) @ turn + shift).buffer(-SNAP)
        for facet, (turn, shift) in placed.items()
    ]
    overlap = sum(a.intersection(b).area for i, a in enumerate(shapes) for b in shapes[:i])
    bounds = np.array([shape.bounds for shape in shapes if not shape.is_empty])
    size = bounds[:, 2:].max(axis=0) - bounds[:, :2].min(axis=0)
    return float(overlap), (float(size[0]), float(size[1]))
