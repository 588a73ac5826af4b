"""Tabs: where walls reach into the floor, never under a door, in a lattice or inside a joiner."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..settings import FloorSettings
from ..tolerance import LENGTH

__all__ = ["LEAST_RUN", "tab_outline", "tab_spans"]

#: Left and right of a tab, so that its neck does not break out of the wall's end, mm (common practice, no source).
_SHOULDER = 3.0

#: A shorter tab holds nothing, mm (common practice, no source).
_SHORTEST = 6.0

#: The same beside bends so near to one another that no other tab finds room, as round a tower, mm: first of a tower of
#: sixteen sides, then of one of thirty-two, which has as many tabs to bear it.
_LEAST_SHOULDER, _LEAST_TAB = 1.5, 4.0
_NARROW_SHOULDER, _NARROW_TAB = 0.8, 2.0

#: On a shorter straight run no tab finds room, mm.
LEAST_RUN = _NARROW_TAB + 2 * _NARROW_SHOULDER

#: The tip is narrower by this at each end, at 45 degrees, so that it finds its slot, mm (common practice, no source).
_TAPER = 1.25


def tab_spans(
    start: float, end: float, taken: Iterable[tuple[float, float]], ground: FloorSettings
) -> tuple[tuple[float, float], ...]:
    """Return (from, to) of the tabs on a straight bottom run from ``start`` to ``end``, mm, in order.

    taken: stretches that joiners cover. Each free stretch gets one tab, two when it is four tabs long; one of few
    millimetres a short tab.
    """
    free = [(start, end)]
    for low, high in sorted(taken):
        free = [
            piece for a, b in free for piece in ((a, min(b, low)), (max(a, high), b)) if piece[1] - piece[0] > LENGTH
        ]
    spans = []
    for a, b in free:
        length = min(ground.tab_length, b - a - 2 * _SHOULDER)
        if length < _SHORTEST:
            length = min(ground.tab_length, _SHORTEST, b - a - 2 * _LEAST_SHOULDER)
        if length < min(_LEAST_TAB, ground.tab_length):
            length = min(ground.tab_length, _LEAST_TAB, b - a - 2 * _NARROW_SHOULDER)
        if length < min(_NARROW_TAB, ground.tab_length):
            continue
        count = 2 if b - a >= 4 * ground.tab_length else 1
        for k in range(count):
            middle = a + (b - a) * (2 * k + 1) / (2 * count)
            spans.append((middle - length / 2, middle + length / 2))
    return tuple(spans)


def tab_outline(span: tuple[float, float], base: float, depth: float) -> np.ndarray:
    """Return the four to six points of a tab that hangs ``depth`` below height ``base``, left to right, (6, 2) mm."""
    a, b = span
    taper = min(_TAPER, depth / 2, (b - a) / 4)
    return np.array(
        [
            [a, base],
            [a, base - depth + taper],
            [a + taper, base - depth],
            [b - taper, base - depth],
            [b, base - depth + taper],
            [b, base],
        ]
    )
