"""Parting a ring: the best places to open a loop of walls, found exactly among given candidates.

The loop is developed along a line; a section is what lies between two neighbouring breaks. Best means
fewest breaks, then the least visible ones, then lengths as even as can be (least sum of squares), then
places nearest to the middle of their walls.
"""

from __future__ import annotations

from collections.abc import Sequence

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
    pins: Sequence[float] = (),
    asides: np.ndarray | None = None,
) -> tuple[int, ...] | None:
    """Return the indices of the candidates to break at, or None where no choice keeps every section short enough.

    places: (n,) mm along the loop, ascending, 0 <= place < total; costs: (n,) how visible each is.
    asides: (n,) mm off the middle of the wall, to decide between equals.
    longest: most that may lie between two breaks. pins: places of breaks that are there already.
    Dynamic programming: between two breaks the best chain to a candidate is the best chain to some
    candidate before it and one section more. A loop without pins is opened at each candidate of the
    stretch that must hold one, in turn.
    """
    pins = sorted(pin % total for pin in pins)
    aside = np.zeros(len(places)) if asides is None else asides
    if pins:
        chosen: list[int] = []
        for k, pin in enumerate(pins):
            end = pins[k + 1] if k + 1 < len(pins) else pins[0] + total
            inside = [(i, p) for i in range(len(places)) if pin < (p := pin + (places[i] - pin) % total) < end]
            chain = _best_chain(pin, end, sorted(inside, key=lambda one: one[1]), costs, aside, longest)
            if chain is None:
                return None
            chosen += chain[1]
        return tuple(sorted(chosen))
    if not len(places):
        return None
    best: tuple[_Score, tuple[int, ...]] | None = None
    for first in _stretch_with_fewest(places, total, longest):
        start = float(places[first])
        inside = [((first + k) % len(places), start + (places[(first + k) % len(places)] - start) % total)
                  for k in range(1, len(places))]  # fmt: skip
        chain = _best_chain(start, start + total, inside, costs, aside, longest)
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
    stretches = [[k for k in range(len(places)) if (places[k] - start) % total <= longest + SNAP] for start in places]
    return min(stretches, key=len)


def _best_chain(
    start: float, end: float, inside: Sequence[tuple[int, float]], costs: np.ndarray, asides: np.ndarray, longest: float
) -> tuple[_Score, tuple[int, ...]] | None:
    """Return score and candidates of the best chain of breaks from ``start`` to ``end``, both given."""
    at = np.array([start, *(place for _, place in inside), end])
    scores: list[_Score | None] = [(0, 0.0, 0, 0.0)]
    before = [0]
    for j in range(1, len(at)):
        last = j == len(at) - 1
        cost = 0.0 if last else float(costs[inside[j - 1][0]])
        off = 0.0 if last else float(asides[inside[j - 1][0]])
        best: tuple[_Score, int] | None = None
        for i in range(int(np.searchsorted(at, at[j] - longest - SNAP)), j):
            known = scores[i]
            if known is None or at[j] <= at[i]:
                continue
            square = round(float(at[j] - at[i]) ** 2 / _SQUARE)
            step = (known[0] + (0 if last else 1), known[1] + cost, known[2] + square, known[3] + off)
            if best is None or step < best[0]:
                best = (step, i)
        scores.append(None if best is None else best[0])
        before.append(-1 if best is None else best[1])
    final = scores[-1]
    if final is None:
        return None
    chain = []
    here = before[-1]
    while here > 0:
        chain.append(inside[here - 1][0])
        here = before[here]
    return final, tuple(chain)
