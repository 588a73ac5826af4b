"""Parting a ring: the best places to open a loop of walls, found exactly among given candidates.

The loop is developed along a line; a section is what lies between two neighbouring breaks. Best means
fewest breaks, then the least visible ones, then lengths as even as can be (least sum of squares), then
places nearest to the middle of their walls.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count

import numpy as np

from ..tolerance import SNAP

__all__ = ["part_loop"]

#: Breaks, their visibility, the sum of squared section lengths, and how far off the middle: smaller is better.
_Score = tuple[int, float, int, float]

#: Squared lengths are counted in units of this, mm^2, so that mirror images score the same.
_SQUARE = 1e-6


def part_loop(
    places: np.ndarray,
    costs: np.ndarray,
    *,
    total: float,
    longest: float,
    fixed: Sequence[float] = (),
    asides: np.ndarray | None = None,
) -> tuple[int, ...] | None:
    """Return the indices of the candidates to break at, or None where no choice keeps every section short enough.

    places: (n,) mm along the loop, ascending, 0 <= place < total; costs: (n,) how visible each is.
    asides: (n,) mm off the middle of the wall, to decide between equals.
    longest: most that may lie between two breaks. fixed: places of breaks that are there already.
    Dynamic programming: between two breaks the best chain to a candidate is the best chain to some
    candidate before it and one section more. A loop without fixed breaks is opened at each candidate of the
    stretch that must hold one, in turn.
    """
    fixed = sorted(held % total for held in fixed)
    aside = np.zeros(len(places)) if asides is None else asides
    if fixed:
        chosen: list[int] = []
        for k, held in enumerate(fixed):
            end = fixed[k + 1] if k + 1 < len(fixed) else fixed[0] + total
            ahead = held + (places - held) % total
            order = np.argsort(ahead, kind="stable")
            order = order[(ahead[order] > held) & (ahead[order] < end)]
            chain = _best_chain(held, end, ahead[order], order, costs, aside, longest)
            if chain is None:
                return None
            chosen += chain[1]
        return tuple(sorted(chosen))
    if not len(places):
        return None
    best: tuple[_Score, tuple[int, ...]] | None = None
    for first in _stretch_with_fewest(places, total, longest):
        start = float(places[first])
        order = np.roll(np.arange(len(places)), -first)[1:]
        ahead = start + (places[order] - start) % total
        order, ahead = order[ahead > start], ahead[ahead > start]
        most = None if best is None else best[0][0] - 1
        chain = _best_chain(start, start + total, ahead, order, costs, aside, longest, most=most)
        if chain is None:
            continue
        found = chain[0]
        score = (found[0] + 1, found[1] + float(costs[first]), found[2], found[3] + float(aside[first]))
        indices = tuple(sorted([first, *chain[1]]))
        if best is None or (score, indices) < best:
            best = (score, indices)
    return None if best is None else best[1]


def _stretch_with_fewest(places: np.ndarray, total: float, longest: float) -> list[int]:
    """Return the candidates of the emptiest stretch of length ``longest``: one of them must be a break."""
    if longest >= total:
        return list(range(len(places)))
    within = (places[None, :] - places[:, None]) % total <= longest + SNAP
    return [int(k) for k in np.flatnonzero(within[np.argmin(within.sum(axis=1))])]


def _best_chain(
    start: float,
    end: float,
    ahead: np.ndarray,
    order: np.ndarray,
    costs: np.ndarray,
    asides: np.ndarray,
    longest: float,
    *,
    most: int | None = None,
) -> tuple[_Score, tuple[int, ...]] | None:
    """Return score and candidates of the best chain of breaks from ``start`` to ``end``, both given.

    ahead: (m,) ascending places between them, of the candidates ``order``. None where no chain reaches
    the end, or none with ``most`` breaks. A chain with fewest breaks has its k-th where k breaks lead to
    and fewer do not; those places follow one another without a gap, so each round looks at one run of
    candidates from the run before.
    """
    at = np.array([start, *ahead, end])
    cost = np.array([0.0, *costs[order], 0.0])
    off = np.array([0.0, *asides[order], 0.0])
    square = np.zeros(len(at), dtype=np.int64)
    before = np.zeros(len(at), dtype=np.int64)
    last = len(at) - 1
    low, high = 0, 1  # the run of candidates with as many breaks as rounds so far
    for breaks in count():
        reach = int(np.searchsorted(at, at[high - 1] + longest + SNAP, side="right"))
        if reach == high or (most is not None and breaks > most):
            return None
        ends = np.array([last]) if reach > last else np.arange(high, reach)
        step = at[ends, None] - at[None, low:high]
        # what no chain leads to has an infinite cost
        paid = np.where((step > 0.0) & (step <= longest + SNAP), cost[None, low:high], np.inf)
        squares = np.rint(step**2 / _SQUARE).astype(np.int64) + square[None, low:high]
        offs = np.broadcast_to(off[None, low:high], step.shape)
        least = paid == paid.min(axis=1, keepdims=True)
        squares_left = np.where(least, squares, np.iinfo(np.int64).max)
        least &= squares_left == squares_left.min(axis=1, keepdims=True)
        offs_left = np.where(least, offs, np.inf)
        best = np.argmin(offs_left, axis=1)
        rows = np.arange(len(ends))
        before[ends] = low + best
        cost[ends] += paid[rows, best]
        square[ends] = squares[rows, best]
        off[ends] += offs[rows, best]
        if reach > last:
            break
        low, high = high, reach
    if not np.isfinite(cost[last]):
        return None
    chain = []
    here = int(before[last])
    while here > 0:
        chain.append(int(order[here - 1]))
        here = int(before[here])
    return (breaks, float(cost[last]), int(square[last]), float(off[last])), tuple(chain)
