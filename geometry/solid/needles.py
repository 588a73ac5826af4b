"""Needles: faces whose corners lie on one line, taken out so that the faces around them still hang together."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from itertools import pairwise

import numpy as np

from .solid import Role, Solid

__all__ = ["without_needles"]

_Pair = tuple[int, int]


def without_needles(solid: Solid, needles: Collection[int]) -> Solid:
    """Return a solid without the faces ``needles``, each of whose corners lie on one line.

    A side of a needle that passes other corners of it gets these corners, in every face that has the side, so that
    what met at the needle meets along the line. Marks on such a side go to its pieces.
    """
    if not needles:
        return solid
    rings = list(solid.faces)
    at: dict[_Pair, set[int]] = {}
    for face, ring in enumerate(rings):
        for pair in _sides(ring):
            at.setdefault(pair, set()).add(face)
    split: dict[_Pair, tuple[int, ...]] = {}
    for needle in needles:
        row = _in_a_row(solid.points, rings[needle])
        place = {point: k for k, point in enumerate(row)}
        for pair in _sides(rings[needle]):
            first, last = sorted((place[pair[0]], place[pair[1]]))
            if last - first < 2:
                continue
            pieces = tuple(row[first : last + 1])
            split[pair] = pieces
            for face in at.pop(pair) - {needle}:
                rings[face] = _with_corners(rings[face], pieces)
                for new in pairwise(pieces):
                    at.setdefault(_pair(*new), set()).add(face)
    marked = [k for k, role in enumerate(solid.edge_roles) if role is not Role.PLAIN]
    pieces_of = [(k, piece) for k in marked for piece in _pieces(_pair(*solid.edges[k]), split)]
    taken = set(needles)
    kept = [face for face in range(len(rings)) if face not in taken]
    return replace(
        solid,
        faces=tuple(rings[face] for face in kept),
        face_ids=tuple(solid.face_ids[face] for face in kept),
        face_sources=tuple(solid.face_sources[face] for face in kept),
        edges=(*solid.edges, *(piece for _, piece in pieces_of)),
        edge_ids=(*solid.edge_ids, *(solid.edge_ids[k] for k, _ in pieces_of)),
        edge_sources=(*solid.edge_sources, *(solid.edge_sources[k] for k, _ in pieces_of)),
        edge_roles=(*solid.edge_roles, *(solid.edge_roles[k] for k, _ in pieces_of)),
    )


def _pair(a: int, b: int) -> _Pair:
    return (a, b) if a < b else (b, a)


def _sides(ring: tuple[int, ...]) -> list[_Pair]:
    return [_pair(a, b) for a, b in pairwise((*ring, ring[0]))] if ring else []


def _in_a_row(points: np.ndarray, ring: tuple[int, ...]) -> list[int]:
    """Return the corners of a needle in their order along its line."""
    corners = sorted(set(ring))
    arm = points[corners] - points[corners[0]]
    far = arm[int(np.argmax(np.linalg.norm(arm, axis=1)))]
    return [corners[k] for k in np.argsort(arm @ far, kind="stable").tolist()]


def _with_corners(ring: tuple[int, ...], pieces: tuple[int, ...]) -> tuple[int, ...]:
    """Return a ring with its side between the ends of ``pieces`` led over all of them."""
    ends = (pieces[0], pieces[-1])
    found: list[int] = []
    for a, b in pairwise((*ring, ring[0])):
        inner = pieces[1:-1] if (a, b) == ends else pieces[-2:0:-1] if (b, a) == ends else ()
        found += [a, *inner]
    return tuple(found)


def _pieces(edge: _Pair, split: dict[_Pair, tuple[int, ...]]) -> list[_Pair]:
    """Return the pieces of a side that was split, down to those that were not; none for a side that stays."""
    if edge not in split:
        return []
    return [piece for new in pairwise(split[edge]) for piece in _pieces(_pair(*new), split) or [_pair(*new)]]
