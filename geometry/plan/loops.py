"""Loops: directed edges put together to rings, where rings may touch one another at points.

A region is known by the edges round it, each with the region on its left. Where two regions meet, both have the
edge between them, in opposite directions: taken together as one region, such pairs go, and what is left is the
border of the whole.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

__all__ = ["Directed", "border_of", "trace_loops"]

#: From one point to the next one, by number.
Directed = tuple[int, int]


def border_of(edges: Iterable[Directed]) -> list[Directed]:
    """Return the edges, in their order, without the pairs that run along the same line in opposite directions."""
    listed = list(edges)
    count = Counter(listed)
    kept = []
    for start, end in listed:
        if count[end, start] > 0 and count[start, end] > 0:
            count[end, start] -= 1
            count[start, end] -= 1
        elif count[start, end] > 0:
            kept.append((start, end))
            count[start, end] -= 1
    return kept


def trace_loops(edges: Sequence[Directed], points: Sequence[Sequence[float]]) -> list[list[int]]:
    """Return the loops that directed edges make, each as the numbers of its edges, with the region on the left.

    points: x and y first. At a point that several loops pass, every loop keeps to its own corner of the region.
    A loop starts with its first edge in the order given. Edges that close no loop are left out.

    >>> trace_loops([(0, 1), (1, 2), (2, 0)], [(0, 0), (1, 0), (0, 1)])
    [[0, 1, 2]]
    """
    leaving: dict[int, list[int]] = defaultdict(list)
    for number, (start, _) in enumerate(edges):
        leaving[start].append(number)
    unused = set(range(len(edges)))
    loops = []
    for first in range(len(edges)):
        if first not in unused:
            continue
        loop, at = [], first
        while at in unused:
            unused.remove(at)
            loop.append(at)
            onward = leaving.get(edges[at][1])
            if not onward:
                break
            at = onward[0] if len(onward) == 1 else _next_clockwise(edges, points, at, onward)
        if at == first:
            loops.append(loop)
    return loops


def _next_clockwise(
    edges: Sequence[Directed], points: Sequence[Sequence[float]], arrived: int, onward: Sequence[int]
) -> int:
    """Return the edge that leaves first when one turns clockwise from where the arriving edge came from."""
    start, here = edges[arrived]
    back = _direction(points[here], points[start])

    def turn(number: int) -> float:
        angle = (back - _direction(points[here], points[edges[number][1]])) % math.tau
        return angle if angle > 0.0 else math.tau

    return min(onward, key=turn)


def _direction(start: Sequence[float], end: Sequence[float]) -> float:
    return math.atan2(end[1] - start[1], end[0] - start[0])
