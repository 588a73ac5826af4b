"""Shingle strips of two boards: bands of courses, or diamonds whose edges are steps of one course."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ..settings import SecondShingles, ShinglePattern
from .members import LEAST_WIDTH

__all__ = ["END_PLAY", "Course", "shared"]

#: Between two strips of one course, mm: enough that a course does not push, too little to be seen (common practice, no
#: source).
END_PLAY = 0.05

#: Diamonds and the fields between them come round again after so many halves of their width.
_PERIOD = 2.0


@dataclass(frozen=True, slots=True)
class Course:
    """A course of shingles of two boards. number: from the eaves, 0 on; gauge: its height along the slope, mm.

    middle: of the slope, mm along the eaves; a diamond stands there with its lower tip on the eaves.
    """

    second: SecondShingles
    number: int
    gauge: float
    middle: float

    @property
    def _half(self) -> float:
        """Half the width of a diamond, which is as high as wide, mm."""
        return self.second.courses * self.gauge

    @property
    def _up(self) -> float:
        """How high the middle of the course lies, in halves of a diamond."""
        return (self.number + 0.5) / self.second.courses

    def is_second(self, x: float) -> bool:
        """Return whether the second board lies at a place, mm along the eaves."""
        if self.second.pattern is ShinglePattern.BANDS:
            return self.number // self.second.courses % 2 == 1
        # turned by 45 degrees, diamonds are the squares of a chequer; the one in the middle is of the second board
        across = (x - self.middle) / self._half
        squares = math.floor((self._up + across) / _PERIOD) + math.floor((self._up - across) / _PERIOD)
        return squares % 2 == 0

    def changes(self, x0: float, x1: float) -> list[float]:
        """Return where the board changes between two places, mm along the eaves, from left to right."""
        if self.second.pattern is ShinglePattern.BANDS:
            return []
        reach = math.ceil((max(abs(x0 - self.middle), abs(x1 - self.middle)) / self._half + self._up) / _PERIOD)
        steps = (_PERIOD * k + side * self._up for k in range(-reach, reach + 1) for side in (-1.0, 1.0))
        return sorted(x for x in (self.middle + step * self._half for step in steps) if x0 < x < x1)


def shared(piece: Polygon, cuts: Sequence[np.ndarray], course: Course) -> list[tuple[Polygon, list[np.ndarray], bool]]:
    """Return a strip parted where its board changes: outline, cuts within it, and whether it is of the second board.

    piece: outline in its run, mm; cuts: between its shingles, (2, 2) each. An end too narrow to be a part stays with
    its neighbour.
    """
    x0, _, x1, _ = piece.bounds
    places = course.changes(x0, x1)
    found: list[tuple[Polygon, list[np.ndarray], bool]] = []
    left = x0
    for x in (*places, x1):
        part, rest = _between(piece, left, x), _between(piece, x, x1)
        if x < x1 and not (_is_sound(part) and _is_sound(rest)):
            continue
        ends = [left, *(place for place in places if left < place < x), x]
        shares = ((b - a) * (1.0 if course.is_second((a + b) / 2.0) else -1.0) for a, b in pairwise(ends))
        inner = [cut for cut in cuts if left + LEAST_WIDTH <= float(cut[0, 0]) <= x - LEAST_WIDTH]
        found.append((part, inner, sum(shares) > 0.0))
        left = x
    return found


def _between(piece: Polygon, left: float, right: float) -> Polygon:
    """Return a strip from left to right, without half the play at ends where it is parted."""
    x0, low, x1, high = piece.bounds
    if (left, right) == (x0, x1):
        return piece
    a = left if left == x0 else left + END_PLAY / 2.0
    b = right if right == x1 else right - END_PLAY / 2.0
    return piece.intersection(box(a, low, b, high))


def _is_sound(part: shapely.Geometry) -> bool:
    """Whether a strip is one piece, and wide enough somewhere to be handled."""
    return isinstance(part, Polygon) and not part.buffer(-LEAST_WIDTH / 2.0, join_style="mitre").is_empty
