"""Rubble: stones of many sizes laid so that no four meet in a point, round a ring that closes."""

from __future__ import annotations

import bisect
import math
from dataclasses import dataclass
from functools import lru_cache
from random import Random

import numpy as np

from .finish import Finish
from .lines import united
from .surface import Surface

__all__ = ["Stone", "lay_stones", "rubble"]

#: Heights of stones in steps of a third of the mean height, and width over height, least and most (rubble is never
#: higher than long).
_STEPS, _SHAPES = (2, 3, 4), (1.1, 2.8)

#: How often a stone levels up with its left neighbour, and how far upright joints keep apart, over the mean height.
_LEVELS_UP, _LAP = 0.6, 0.3

#: A gap so much wider than a stone is no gap to be closed by it, over the mean height.
_REST = 0.5

#: Levels closer than this are one level: sums of steps are rounded.
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Stone:
    """A stone from x0 to x1 and from y0 to y1, mm; x1 may lie beyond the ring's length."""

    x0: float
    x1: float
    y0: float
    y1: float


@dataclass(slots=True)
class _Gap:
    """A level stretch on which a stone may lie, with the joints that end at it from below."""

    x0: float
    x1: float
    level: float
    joints: list[float]


def rubble(finish: Finish, surface: Surface) -> list[np.ndarray]:
    """Return the joints of stones that fill a surface, every one once, as (n, 2, 2) mm."""
    x0, _, x1, _ = surface.box
    ring = surface.ring or x1 - x0 + 2 * finish.length
    stones = lay_stones(round(ring, 9), max(surface.reach, surface.box[3]), finish.length, finish.height, finish.seed)
    corners = np.array([(stone.x0, stone.y0, stone.x1, stone.y1) for stone in stones])
    # stones that lie across the end of the ring show at its start
    copies = np.arange(math.floor(x0 / ring) - 1, math.floor(x1 / ring) + 1) * ring
    everywhere = (corners[None] + copies[:, None, None] * np.array([1.0, 0.0, 1.0, 0.0])).reshape(-1, 4)
    return [_joints(everywhere[(everywhere[:, 0] < x1) & (everywhere[:, 2] > x0)])]


@lru_cache(maxsize=64)
def lay_stones(ring: float, height: float, length: float, mean: float, seed: int) -> tuple[Stone, ...]:
    """Return stones that fill a ring up to a height, from the lowest gap to the next.

    ring, height: mm. length, mean: of a stone, on average, mm. What reaches above the height is cut off later.
    """
    draw = Random(seed).random
    step, lap = mean / 3.0, _LAP * mean
    stretch = length / (mean * sum(_SHAPES) / 2)
    gaps = [_Gap(0.0, ring, 0.0, [])]
    stones: list[Stone] = []
    while True:
        k = min(range(len(gaps)), key=lambda i: (gaps[i].level, gaps[i].x0))
        gap = gaps[k]
        if gap.level >= height - _SAME:
            return tuple(_brought_back(stone, ring) for stone in stones)
        ring_course = len(gaps) == 1
        left, right = gaps[k - 1], gaps[(k + 1) % len(gaps)]
        room = gap.x1 - gap.x0
        high = min(_STEPS[int(draw() * len(_STEPS))] * step, max(room / _SHAPES[0], step))
        levels = draw() < _LEVELS_UP
        wide = max(high * (_SHAPES[0] + draw() * (_SHAPES[1] - _SHAPES[0])) * stretch, mean * _REST)
        up = left.level - gap.level
        if levels and not ring_course and _SAME < up <= _STEPS[-1] * step:
            high = up
        end = gap.x0 + wide
        if room <= wide + mean * _REST:
            end = gap.x1
            if not ring_course:
                # a stone that fills its gap levels up with a neighbour
                ups = [side.level - gap.level for side in (left, right)]
                high = min((u for u in ups if u > _SAME), default=high)
                high = high if high <= 2 * _STEPS[-1] * step else _STEPS[-1] * step
        else:
            end = _clear(end, gap, lap, mean * _REST)
        level = gap.level + high
        stones.append(Stone(gap.x0, end, gap.level, level))
        rest = _Gap(end, gap.x1, gap.level, [j for j in gap.joints if j > end + _SAME])
        laid = _Gap(gap.x0, end, level, [])
        gaps[k : k + 1] = [laid, rest] if rest.x1 - rest.x0 > _SAME else [laid]
        gaps = _merged(gaps, ring)


def _brought_back(stone: Stone, ring: float) -> Stone:
    """Return a stone that starts within the ring's length."""
    back = math.floor(stone.x0 / ring) * ring
    return Stone(stone.x0 - back, stone.x1 - back, stone.y0, stone.y1)


def _clear(end: float, gap: _Gap, lap: float, least: float) -> float:
    """Return the nearest place to ``end`` that keeps ``lap`` from the joints below, or less where there is none."""
    low, high = gap.x0 + least, gap.x1 - least
    for keep in (lap, lap / 2, lap / 4):
        places = [end, *(joint + side * keep for joint in gap.joints for side in (-1.0, 1.0))]
        free = [
            place
            for place in places
            if low <= place <= high and all(abs(place - joint) >= keep - _SAME for joint in gap.joints)
        ]
        if free:
            return min(free, key=lambda place: (abs(place - end), place))
    return min(max(end, low), high)


def _merged(gaps: list[_Gap], ring: float) -> list[_Gap]:
    """Return the gaps with neighbours at one level made one; the joint between them then ends from below."""
    merged = [gaps[0]]
    for gap in gaps[1:]:
        last = merged[-1]
        if abs(gap.level - last.level) < _SAME:
            joints = [*last.joints]
            bisect.insort(joints, gap.x0)
            merged[-1] = _Gap(last.x0, gap.x1, last.level, [*joints, *gap.joints])
        else:
            merged.append(gap)
    first, last = merged[0], merged[-1]
    if len(merged) > 1 and abs(first.level - last.level) < _SAME:
        # the end of the ring joins its start
        shifted = [joint + ring for joint in (first.x0, *first.joints)]
        merged = [*merged[1:-1], _Gap(last.x0, first.x1 + ring, last.level, [*last.joints, *shifted])]
    if len(merged) == 1:
        return [_opened(merged[0], ring)]
    return merged


def _opened(course: _Gap, ring: float) -> _Gap:
    """Return a closed level course that starts in the middle of its widest stretch without joints."""
    joints = sorted({*course.joints, course.x0})
    following = [*joints[1:], joints[0] + ring]
    x = max(zip(joints, following, strict=True), key=lambda pair: (pair[1] - pair[0], -pair[0]))
    start = (x[0] + x[1]) / 2
    moved = sorted(joint if joint > start else joint + ring for joint in joints)
    return _Gap(start, start + ring, course.level, moved)


def _joints(corners: np.ndarray) -> np.ndarray:
    """Return all sides of stones given as x0, y0, x1, y1, (k, 4) mm, those that two share once, (n, 2, 2) mm."""
    x0, y0, x1, y1 = corners.T
    pairs = [((x0, y0), (x1, y0)), ((x0, y1), (x1, y1)), ((x0, y0), (x0, y1)), ((x1, y0), (x1, y1))]
    return united(np.concatenate([np.stack([np.column_stack(a), np.column_stack(b)], axis=1) for a, b in pairs]))
