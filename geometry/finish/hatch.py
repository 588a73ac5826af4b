"""Hatching: the inside of closed lines drawn by parallel strokes, to and fro in one go where they touch.

Every edge is met with level lines at one spacing; crossings along a level, sorted, are in turn where the inside begins
and ends (the even-odd rule). So holes, islands and lines that cross themselves need no repair beforehand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from ..errors import BadSettingError

__all__ = ["MOST_CROSSINGS", "hatch", "spans", "within"]

#: More crossings of closed lines with hatching are refused before memory is asked for: a scribble that turns back on
#: itself a hundred thousand times is no field to fill, and a wall of 300 x 100 mm in full has a thousand.
MOST_CROSSINGS = 1_000_000

#: Shorter strokes are burnt dots, mm (common practice, no source).
_SHORTEST = 0.4

#: Spans of neighbouring levels are joined where they overlap at least this much, in spacings.
_OVERLAP = 1.0

#: ... and where neither end is farther from the one below, in spacings: the piece between them stays in the field.
_STEP = 3.0

#: A step from level to level runs so far inside of the edge that it follows, in spacings.
_HAIR = 0.05


def hatch(
    rings: Sequence[np.ndarray],
    spacing: float,
    *,
    turn: float = 0.0,
    inset: float = 0.0,
    clip: Sequence[np.ndarray] = (),
) -> list[np.ndarray]:
    """Return strokes that fill closed lines, polylines of (k, 2) mm.

    rings: (n, 2) mm each, closed or not; a point is inside by the even-odd rule of all of them together.
    spacing: between strokes, mm; turn: of the strokes from the x axis, radians. inset: what strokes end short of an
    edge, mm: half a line's width. clip: rings of an area outside of which nothing is drawn, in the same way.
    Raises BadSettingError where the rings cross the strokes too often to be a field.

    >>> [stroke.tolist() for stroke in hatch([np.array([(0, 0), (4, 0), (4, 2), (0, 2)])], 1.0)]
    [[[0.0, 0.5], [4.0, 0.5], [4.0, 1.5], [0.0, 1.5]]]
    """
    if not (math.isfinite(spacing) and spacing > 0.0):
        raise BadSettingError(f"Hatching cannot be {spacing:g} mm apart; take more than 0.")
    c, s = math.cos(turn), math.sin(turn)
    level = np.array([[c, -s], [s, c]])  # rows turn points by -turn when multiplied from the right
    turned, outer = [ring @ level for ring in rings], [ring @ level for ring in clip]
    found = spans(turned, spacing)
    if clip:
        found = within(found, spans(outer, spacing))
    numbers, begin, end = found
    begin, end = begin + inset, end - inset
    long = end - begin >= _SHORTEST
    strokes = _to_and_fro((numbers[long], begin[long], end[long]), spacing, _edges([*turned, *outer]))
    return [stroke @ level.T for stroke in strokes]


Spans = tuple[np.ndarray, np.ndarray, np.ndarray]


def spans(rings: Sequence[np.ndarray], spacing: float) -> Spans:
    """Return where level lines at (k + 1/2) * spacing are inside: k, begin and end along x, (m,) each, in order.

    Raises BadSettingError where there are too many crossings.
    """
    start, end = _edges(rings).transpose(1, 0, 2)
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    # half open, so that a corner on a level counts once
    first = np.ceil(low / spacing - 0.5).astype(np.int64)
    count = np.ceil(high / spacing - 0.5).astype(np.int64) - first
    total = int(count.sum())
    if total > MOST_CROSSINGS:
        raise BadSettingError(
            f"cannot be filled: its lines cross the hatching {total / 1e6:.1f} million times, more than "
            f"{MOST_CROSSINGS / 1e6:.0f} million; draw less, or engrave it alone."
        )
    edge = np.repeat(np.arange(len(count)), count)
    numbers = np.arange(total) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    y = (numbers + 0.5) * spacing
    share = (y - start[edge, 1]) / (end[edge, 1] - start[edge, 1])
    x = start[edge, 0] + share * (end[edge, 0] - start[edge, 0])
    order = np.lexsort((x, numbers))
    numbers, x = numbers[order], x[order]
    return numbers[::2], x[::2], x[1::2]


def _edges(rings: Sequence[np.ndarray]) -> np.ndarray:
    """Return the edges of closed lines, (m, 2, 2) mm."""
    several = [np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in rings if len(ring) > 2]
    return np.concatenate([np.empty((0, 2, 2)), *several])


def within(one: Spans, other: Spans) -> Spans:
    """Return what spans of the same levels have in common, in order."""
    if not len(one[0]) or not len(other[0]):
        return tuple(column[:0] for column in one)  # type: ignore[return-value]
    # +1 where a span begins, -1 where it ends; inside both where the sum is 2
    numbers = np.concatenate([one[0], one[0], other[0], other[0]])
    x = np.concatenate([one[1], one[2], other[1], other[2]])
    step = np.repeat([1, -1, 1, -1], [len(one[0]), len(one[0]), len(other[0]), len(other[0])])
    order = np.lexsort((-step, x, numbers))
    numbers, x = numbers[order], x[order]
    begins = np.flatnonzero(np.cumsum(step[order]) == 2)
    return numbers[begins], x[begins], x[begins + 1]


def _to_and_fro(found: Spans, spacing: float, edges: np.ndarray) -> list[np.ndarray]:
    """Return spans joined to strokes that run to and fro.

    A span goes on from the one a level below if these two alone face each other: fields with holes fall into columns.
    edges: (m, 2, 2) mm, across which nothing is joined.
    """
    numbers, begin, end = found
    if not len(numbers):
        return []
    y = (numbers + 0.5) * spacing
    ends = np.stack([np.column_stack([begin, y]), np.column_stack([end, y])], axis=1)
    following = _following(found, spacing)
    below = np.flatnonzero(following >= 0)
    steps = np.stack([ends[below], ends[following[below]]], axis=2)  # (n, begin or end, below or above, 2)
    following[below[_crosses(steps, spacing, edges)]] = -1
    first = np.ones(len(numbers), dtype=bool)
    first[following[following >= 0]] = False
    strokes = []
    onward = following.tolist()
    for at in np.flatnonzero(first).tolist():
        chain = []
        while at >= 0:
            chain.append(at)
            at = onward[at]
        pieces = ends[chain]
        pieces[1::2] = pieces[1::2, ::-1]
        strokes.append(pieces.reshape(-1, 2))
    return strokes


def _following(found: Spans, spacing: float) -> np.ndarray:
    """Return for every span the one a level above that it alone faces and that faces it alone; -1 for none."""
    numbers, begin, end = found
    rows = np.concatenate([[0], np.flatnonzero(np.diff(numbers)) + 1, [len(numbers)]])
    following = np.full(len(numbers), -1)
    least = _OVERLAP * spacing
    for a, b, c in zip(rows[:-2], rows[1:-1], rows[2:], strict=True):
        if numbers[b] != numbers[a] + 1:
            continue
        # the first span above that ends behind the beginning of one below, and the first that begins behind its end
        low = np.searchsorted(end[b:c], begin[a:b] + least, side="left") + b
        high = np.searchsorted(begin[b:c], end[a:b] - least, side="right") + b
        alone = np.flatnonzero(high - low == 1)
        above, below = low[alone], a + alone
        met = np.concatenate([np.arange(*pair) for pair in zip(low, high, strict=True)]) - b
        near = np.maximum(np.abs(begin[above] - begin[below]), np.abs(end[above] - end[below])) <= _STEP * spacing
        only = near & (np.bincount(met, minlength=c - b)[above - b] == 1)
        following[below[only]] = above[only]
    return following


def _crosses(steps: np.ndarray, spacing: float, edges: np.ndarray) -> np.ndarray:
    """Return which steps, (n, begin or end, below or above, 2) mm, cross an edge: they run beside it, a hair inside."""
    inward = np.array([_HAIR, -_HAIR])[None, :, None] * spacing
    tried = steps.copy()
    tried[..., 0] += inward
    lines = shapely.linestrings(tried.reshape(-1, 2, 2))
    hit, _ = shapely.STRtree(shapely.linestrings(edges)).query(lines, predicate="intersects")
    crossed = np.zeros(len(lines), dtype=bool)
    crossed[hit] = True
    return np.asarray(crossed.reshape(-1, 2).any(axis=1))
