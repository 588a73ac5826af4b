"""Order by geometry: points, faces and facets numbered by where they lie, never by the order in which they came.

A mesh has no first face: an import, an undo or a tool of the host renumbers it at will. What is cut must not
depend on that, so a solid is sorted before it is read, and its facets are numbered along a walk over its surface.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import chain

import numpy as np

from .solid import Solid

__all__ = ["first_corner", "in_place_order", "position_key", "walk"]

#: How far corners may differ in height and count as equally high when the first one is chosen, mm: above the noise
#: of a hand-dragged mesh, below the height of any step that is cut.
_SAME_HEIGHT = 0.5

#: Weights of x, y and z when places are compared by one number: the corner at the front left comes first, and
#: corners of a building on the grid or at any common angle differ.
_WEIGHTS = np.array([0.8311, 1.0, 0.2939])


def position_key(points: np.ndarray) -> np.ndarray:
    """Return one number per point, (n, 3) mm, by which places are put in order: front left first, low before high."""
    key: np.ndarray = points @ _WEIGHTS
    return key


def in_place_order(solid: Solid) -> Solid:
    """Return the same solid with points, faces and edges in an order that depends on their places alone.

    Faces begin at the first of their points and run the same way round; ids of the host stay with them.
    """
    order = np.lexsort(solid.points.T[::-1])
    points = np.ascontiguousarray(solid.points[order])
    # equal points bear the same rank, so that doubled points do not decide the order of faces
    steps = np.any(points[1:] != points[:-1], axis=1)
    rank_of = np.empty(len(points), dtype=int)
    rank_of[order] = np.concatenate([[0], np.cumsum(steps)]) if len(points) else 0
    place_of = np.empty(len(points), dtype=int)
    place_of[order] = np.arange(len(points))
    points.setflags(write=False)

    sizes = [len(face) for face in solid.faces]
    corners = np.fromiter(chain.from_iterable(solid.faces), dtype=int, count=sum(sizes))
    ranks, places = rank_of[corners].tolist(), place_of[corners].tolist()
    rings: list[tuple[tuple[int, ...], tuple[int, ...]]] = []
    start = 0
    for size in sizes:
        rings.append(_from_first(ranks[start : start + size], places[start : start + size]))
        start += size
    # of faces on the same points the host's first one counts, whichever way round they run
    faces = sorted(range(len(rings)), key=lambda k: (sorted(rings[k][0]), solid.face_sources[k], solid.face_ids[k]))

    pairs = np.fromiter(chain.from_iterable(solid.edges), dtype=int).reshape(-1, 2)
    ends = np.sort(rank_of[pairs], axis=1)
    numbers, sources = np.array(solid.edge_ids, dtype=int), np.array(solid.edge_sources, dtype=int)
    edges = np.lexsort((numbers, sources, ends[:, 1], ends[:, 0])).tolist()
    placed = place_of[pairs].tolist()
    return replace(
        solid,
        points=points,
        faces=tuple(rings[k][1] for k in faces),
        face_ids=tuple(solid.face_ids[k] for k in faces),
        face_sources=tuple(solid.face_sources[k] for k in faces),
        edges=tuple((min(placed[k]), max(placed[k])) for k in edges),
        edge_ids=tuple(solid.edge_ids[k] for k in edges),
        edge_sources=tuple(solid.edge_sources[k] for k in edges),
        edge_roles=tuple(solid.edge_roles[k] for k in edges),
    )


def _from_first(ranks: Sequence[int], places: Sequence[int]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return ranks and places of a face's corners, both turned so that the least rank comes first."""
    if not ranks:
        return (), ()
    first = ranks.index(min(ranks))
    return (*ranks[first:], *ranks[:first]), (*places[first:], *places[:first])


def first_corner(flat: np.ndarray) -> int:
    """Return which of a facet's corners, (k, 2) mm in its own plane, comes first: the lowest, then leftmost one."""
    low = np.flatnonzero(flat[:, 1] < flat[:, 1].min() + _SAME_HEIGHT)
    return int(low[np.argmin(flat[low, 0])])


def walk(first: int, beyond: Sequence[Sequence[int]]) -> list[int]:
    """Return the facets of one surface in the order of a walk over it: on from each facet to the next new neighbour.

    beyond: for every facet its neighbours in the order of its sides. Round a ring of walls the walk goes from
    wall to wall.
    """
    seen = {first}
    order = [first]
    ways = [iter(beyond[first])]
    while ways:
        there = next((near for near in ways[-1] if near not in seen), None)
        if there is None:
            ways.pop()
            continue
        seen.add(there)
        order.append(there)
        ways.append(iter(beyond[there]))
    return order
