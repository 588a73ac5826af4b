"""Walls that meet in one upright edge: which two of them go on into each other, and which only end there.

An inner wall that shares its ends with the walls round it, as block-outs have it, makes edges of three faces. Two
of them are the wall that it meets; the inner wall is a surface of its own that stands against it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from ..tolerance import COPLANAR_ANGLE, SNAP, UPRIGHT

__all__ = ["walls_that_go_on"]

#: The room between two walls must be wider by this than between any others, to tell outside from inside, radians.
_WIDER = math.radians(5.0)


def walls_that_go_on(
    ends: np.ndarray, normals: np.ndarray, centres: np.ndarray, areas: np.ndarray
) -> tuple[int, int] | None:
    """Return which two of the faces at one edge go on into each other, or None where that is open.

    ends: (2, 3) mm, of the edge; normals, centres: (k, 3) and areas: (k,) of its faces, more than two. Only upright
    edges of upright faces are told. Of walls in one plane the largest go on; else the two that have the widest
    room between them, as an outer corner has whose inside another wall meets.
    """
    run = ends[1] - ends[0]
    if np.hypot(*run[:2]) > SNAP or np.any(np.abs(normals[:, 2]) > UPRIGHT):
        return None
    away = centres[:, :2] - ends[0, :2]
    turns = np.arctan2(away[:, 1], away[:, 0])
    straight = _straight_pairs(turns)
    if straight:
        return max(straight, key=lambda pair: (float(areas[list(pair)].sum()), -turns[pair[0]]))
    order = np.argsort(turns, kind="stable").tolist()
    rooms = [(float((turns[b] - turns[a]) % (2 * math.pi)), (a, b)) for a, b in pairwise([*order, order[0]])]
    widest, second = sorted(rooms, reverse=True)[:2]
    return widest[1] if widest[0] > second[0] + _WIDER else None


def _straight_pairs(turns: np.ndarray) -> Sequence[tuple[int, int]]:
    """Return the pairs of walls, by the directions in which they leave their edge, radians, that run on straight."""
    count = len(turns)
    return [
        (a, b)
        for a in range(count)
        for b in range(a + 1, count)
        if abs(math.remainder(turns[b] - turns[a] - math.pi, 2 * math.pi)) < COPLANAR_ANGLE
    ]
