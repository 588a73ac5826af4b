"""Block-outs over rectangles whose roof lines bear marks, as a maker could have put them there."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from stowfold.geometry.plan import walls
from stowfold.geometry.plan.walls import BlockOut, Roof
from stowfold.geometry.solid.solid import Role

__all__ = ["marked_block_out"]


def marked_block_out(
    plan: Sequence[tuple[float, float]],
    *,
    height: float = 62.0,
    roof: Roof | None = None,
    breaks: Iterable[tuple[float, float]] = (),
) -> BlockOut:
    """Block a building out and let its ridge bend, with two hips across from each other; the other hips are closures.

    A roof that comes to a point has one closure.
    """
    block = walls.block_out(plan, height=height, roof=roof, breaks=breaks)
    slopes = [face for face in block.faces if not any(block.points[k][2] < 1e-9 for k in face)]
    sides = Counter(tuple(sorted(pair)) for face in slopes for pair in zip(face, (*face[1:], face[0]), strict=True))
    rim = {point for pair, count in sides.items() if count == 1 for point in pair}
    inner = sorted(pair for pair, count in sides.items() if count == 2)
    hips = [pair for pair in inner if len(set(pair) & rim) == 1]
    # the first hip is the one at the left end of the first long wall
    corner = {pair: next(point for point in pair if point in rim) for pair in hips}
    first = min(rim, key=lambda point: math.dist(block.points[point][:2], _first_of_long(plan)), default=0)
    middle = block.points[sorted(rim), :2].mean(axis=0) if rim else np.zeros(2)
    start = _turn(block.points[first], middle)
    # a little on, so that rounding does not make the first one the last one
    hips.sort(key=lambda pair: (_turn(block.points[corner[pair]], middle) - start + 1e-6) % math.tau)
    comes_to_a_point = len(hips) == len(inner)
    closed = hips[:1] if comes_to_a_point else hips[::2]
    roles = {pair: Role.CLOSURE if pair in closed else Role.FLEX for pair in inner}
    return replace(block, roles=tuple(sorted({**dict(block.roles), **roles}.items())))


def _first_of_long(plan: Sequence[tuple[float, float]]) -> tuple[float, float]:
    first, second = math.dist(plan[0], plan[1]), math.dist(plan[1], plan[2])
    return plan[0] if first > second - 1e-2 else plan[1]


def _turn(point: np.ndarray, middle: np.ndarray) -> float:
    return math.atan2(point[1] - middle[1], point[0] - middle[0])
