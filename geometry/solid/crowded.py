"""Faces of which more than two meet at an edge: which of them go on into each other, and which only end there.

An inner wall that shares its ends with the walls round it, as block-outs have it, makes edges of three faces. Two
of them are the wall that it meets; the inner wall is a surface of its own that stands against it. Houses that touch
at a corner share an edge of four, and each keeps its own two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from ..tolerance import COPLANAR_ANGLE, SNAP, UPRIGHT

__all__ = ["faces_that_go_on"]

#: The room between two walls must be wider by this than between any others, to tell outside from inside, radians.
_WIDER = math.radians(5.0)


def faces_that_go_on(
    ends: np.ndarray, normals: np.ndarray, centres: np.ndarray, areas: np.ndarray, bodies: np.ndarray
) -> tuple[tuple[int, int], ...] | None:
    """Return which of the faces at one edge go on into each other, in pairs; the others end there. None: that is open.

    ends: (2, 3) mm, of the edge; normals, centres: (k, 3) and areas: (k,) of its faces, more than two; bodies: (k,)
    the surface that each is part of elsewhere. At an upright edge of walls, two of one surface go on, as those round
    a house do that others meet. Of walls that are of different surfaces the largest in one plane go on; else the two
    that have the widest room between them, as an outer corner has whose inside another wall meets. Where a wall
    divides a level floor or lid, both halves of that go on.
    """
    run = ends[1] - ends[0]
    upright = np.abs(normals[:, 2]) < UPRIGHT
    if upright.all() and np.hypot(*run[:2]) <= SNAP:
        same = [np.flatnonzero(bodies == body).tolist() for body in np.unique(bodies)]
        pairs = tuple((group[0], group[1]) for group in same if len(group) == 2)
        if pairs and all(len(group) <= 2 for group in same):
            return pairs
        return _walls_that_go_on(ends, centres, areas)
    level = np.flatnonzero(~upright)
    if len(level) == 2 and np.all(np.hypot(*normals[level, :2].T) < UPRIGHT) and abs(run[2]) <= SNAP:
        aside = np.array([-run[1], run[0]])
        one, two = (centres[level, :2] - ends[0, :2]) @ aside
        return ((int(level[0]), int(level[1])),) if one * two < 0.0 else None
    return None


def _walls_that_go_on(ends: np.ndarray, centres: np.ndarray, areas: np.ndarray) -> tuple[tuple[int, int], ...] | None:
    """Return which two of the walls at an upright edge go on into each other by the ways in which they leave it."""
    away = centres[:, :2] - ends[0, :2]
    turns = np.arctan2(away[:, 1], away[:, 0])
    straight = _straight_pairs(turns)
    if straight:
        return (max(straight, key=lambda pair: (float(areas[list(pair)].sum()), -turns[pair[0]])),)
    order = np.argsort(turns, kind="stable").tolist()
    rooms = [(float((turns[b] - turns[a]) % (2 * math.pi)), (a, b)) for a, b in pairwise([*order, order[0]])]
    widest, second = sorted(rooms, reverse=True)[:2]
    return (widest[1],) if widest[0] > second[0] + _WIDER else None


def _straight_pairs(turns: np.ndarray) -> Sequence[tuple[int, int]]:
    """Return the pairs of walls, by the directions in which they leave their edge, radians, that run on straight."""
    count = len(turns)
    return [
        (a, b)
        for a in range(count)
        for b in range(a + 1, count)
        if abs(math.remainder(turns[b] - turns[a] - math.pi, 2 * math.pi)) < COPLANAR_ANGLE
    ]
