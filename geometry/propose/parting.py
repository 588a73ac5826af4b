"""Parting a run of walls: the best places to part a ring or a chain of walls, found exactly among given candidates.

The run is developed along a line; a section is what lies between two neighbouring openings. Best means
fewest openings, then the least visible ones, then lengths as even as can be (least sum of squares), then
places nearest to the middle of their walls.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count, pairwise

import numpy as np

from ..tolerance import SNAP

__all__ = ["Places", "part_chain", "part_loop"]

#: Openings, their visibility, the sum of squared section lengths, and how far off the middle: smaller is better.
_Score = tuple[int, float, int, float]

#: Squared lengths are counted in units of this, mm^2, so that mirror images score the same.
_SQUARE = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """Candidates for openings along a run of walls, ascending; arrays of (n,).

    at: middle of the opening, mm. costs: how visible it is. asides: mm off the middle of its wall, to decide between
    equals. widths: what lies flat between the sections on both sides, mm; below 0 where both together are longer
    than the run is there.
    """

    at: np.ndarray
    costs: np.ndarray
    asides: np.ndarray
    widths: np.ndarray

    @classmethod
    def of(cls, at: Sequence[float] | np.ndarray, costs: np.ndarray, *, asides: np.ndarray | None = None) -> Places:
        """Return places that take no width."""
        places = np.asarray(at, dtype=float)
        return cls(places, costs, np.zeros(len(places)) if asides is None else asides, np.zeros(len(places)))

    @classmethod
    def merged(cls, one: Places, two: Places) -> tuple[np.ndarray, Places]:
        """Return two lists of places as one, and where in the one list followed by the other each was."""
        fields = [np.concatenate(pair) for pair in zip(one.fields, two.fields, strict=True)]
        order = np.argsort(fields[0], kind="stable")
        return order, cls(*(field[order] for field in fields))

    def __len__(self) -> int:
        return len(self.at)

    @property
    def fields(self) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Middle, cost, distance off the middle of the wall, and width of every place."""
        return self.at, self.costs, self.asides, self.widths

    def __getitem__(self, chosen: Sequence[int] | np.ndarray) -> Places:
        """Return some of the places, in the order of their indices."""
        return Places(*(field[chosen] for field in self.fields))

    def shifted(self, start: float, total: float) -> tuple[np.ndarray, Places]:
        """Return the places of a ring counted from ``start`` onward, and which ones they are, in their new order."""
        ahead = start + (self.at - start) % total
        order = np.argsort(ahead, kind="stable")
        return order, Places(ahead[order], self.costs[order], self.asides[order], self.widths[order])


#: A place that is there already: its middle along the run and its width, mm.
_Fixed = tuple[float, float]


def part_loop(
    places: Places, *, total: float, longest: float, shortest: float = 0.0, fixed: Sequence[_Fixed] = ()
) -> tuple[int, ...] | None:
    """Return the indices of the places to part a ring at, or None where no choice keeps every section short enough.

    places: 0 <= at < total. longest, shortest: what a section may be long, mm; one between two openings that
    are there already may be shorter. fixed: those, middle and width.
    Dynamic programming: between two openings the best chain to a place is the best chain to some
    place before it and one section more. A ring without fixed openings is opened at every place of the
    stretch that must hold one, in turn.

    >>> part_loop(Places.of([10.0, 50.0], np.array([1.0, 0.0])), total=100.0, longest=150.0)
    (1,)
    """
    if fixed:
        held = sorted((at % total, width) for at, width in fixed)
        chosen: list[int] = []
        for (at, width), (end, last) in pairwise([*held, (held[0][0] + total, held[0][1])]):
            order, ahead = places.shifted(at, total)
            between = (ahead.at > at) & (ahead.at < end)
            chain = _best_chain((at + width / 2, end - last / 2), ahead[between], (shortest, longest))
            if chain is None:
                return None
            chosen += order[between][list(chain[1])].tolist()
        return tuple(sorted(chosen))
    if not len(places):
        return None
    best: tuple[_Score, tuple[int, ...]] | None = None
    for first in _stretch_with_fewest(places, total, longest):
        start, half = float(places.at[first]), float(places.widths[first]) / 2
        order, ahead = places.shifted(start, total)
        after = ahead.at > start
        most = None if best is None else best[0][0] - 1
        chain = _best_chain((start + half, start + total - half), ahead[after], (shortest, longest), most=most)
        if chain is None:
            continue
        found = chain[0]
        score = (
            found[0] + 1,
            found[1] + float(places.costs[first]),
            found[2],
            found[3] + float(places.asides[first]),
        )
        indices = tuple(sorted([first, *order[after][list(chain[1])].tolist()]))
        if best is None or (score, indices) < best:
            best = (score, indices)
    return None if best is None else best[1]


def part_chain(
    places: Places, *, total: float, longest: float, shortest: float = 0.0, fixed: Sequence[_Fixed] = ()
) -> tuple[int, ...] | None:
    """Return the indices of the places to part an open chain of walls at; none where it is short enough as it is.

    places: 0 < at < total; longest, shortest, fixed: as in part_loop. None where no choice keeps every section short
    enough.

    >>> part_chain(Places.of([10.0, 50.0], np.zeros(2)), total=100.0, longest=60.0)
    (1,)
    """
    chosen: list[int] = []
    for (at, width), (end, last) in pairwise([(0.0, 0.0), *sorted(fixed), (total, 0.0)]):
        between = np.flatnonzero((places.at > at) & (places.at < end))
        chain = _best_chain((at + width / 2, end - last / 2), places[between], (shortest, longest))
        if chain is None:
            return None
        chosen += between[list(chain[1])].tolist()
    return tuple(chosen)


def _stretch_with_fewest(places: Places, total: float, longest: float) -> list[int]:
    """Return the places of the emptiest stretch that no section bridges: one of them must be an opening."""
    reach = longest + float(places.widths.max())
    if reach >= total:
        return list(range(len(places)))
    within = (places.at[None, :] - places.at[:, None]) % total <= reach + SNAP
    return [int(k) for k in np.flatnonzero(within[np.argmin(within.sum(axis=1))])]


def _best_chain(
    ends: tuple[float, float], ahead: Places, limits: tuple[float, float], *, most: int | None = None
) -> tuple[_Score, tuple[int, ...]] | None:
    """Return score and places of the best chain of openings between two ``ends`` of board, mm.

    ahead: places between them, ascending. limits: shortest and longest section. None where no chain reaches the far
    end, or none with ``most`` openings. A chain with fewest openings has its k-th where k openings lead to and
    fewer do not, so each round looks at the places that the ones of the round before reach first.
    """
    whole = ends[1] - ends[0]
    if 0.0 < whole <= limits[1] + SNAP:
        return (0, 0.0, round(whole**2 / _SQUARE), 0.0), ()
    last = len(ahead) + 1
    begins = np.array([ends[0], *(ahead.at + ahead.widths / 2), np.inf])  # of the section after a place
    stops = np.array([-np.inf, *(ahead.at - ahead.widths / 2), ends[1]])  # of the section before it
    cost, off = (np.array([0.0, *field, 0.0]) for field in (ahead.costs, ahead.asides))
    square = np.zeros(last + 1, dtype=np.int64)
    before = np.zeros(last + 1, dtype=np.int64)
    for openings, (here, there) in zip(count(), _rounds(begins, stops, limits), strict=False):
        if not len(there) or (most is not None and openings > most):
            return None
        step = stops[there, None] - begins[None, here]
        # what no section of its length leads to has an infinite cost
        paid = np.where(_is_section(step, limits), cost[None, here], np.inf)
        least = paid == paid.min(axis=1, keepdims=True)
        squares = np.rint(np.where(least, step, 0.0) ** 2 / _SQUARE).astype(np.int64) + square[None, here]
        squares_left = np.where(least, squares, np.iinfo(np.int64).max)
        least &= squares_left == squares_left.min(axis=1, keepdims=True)
        offs = np.where(least, np.broadcast_to(off[None, here], step.shape), np.inf)
        best = np.argmin(offs, axis=1)
        rows = np.arange(len(there))
        before[there] = here[best]
        cost[there] += paid[rows, best]
        square[there] = squares[rows, best]
        off[there] += offs[rows, best]
        if there[0] == last:
            break
    chain = []
    back = int(before[last])
    while back > 0:
        chain.append(back - 1)
        back = int(before[back])
    return (openings, float(cost[last]), int(square[last]), float(off[last])), tuple(chain[::-1])


def _rounds(
    begins: np.ndarray, stops: np.ndarray, limits: tuple[float, float]
) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Yield the places with as many openings before them as rounds so far, and those that they reach first.

    The far end comes alone, as soon as it is reached; nothing where no place is left that can be reached.
    """
    last = len(begins) - 1
    here = np.array([0])
    free = np.ones(last + 1, dtype=bool)
    free[0] = False
    while True:
        near = np.flatnonzero(free & (stops <= begins[here].max() + limits[1] + SNAP))
        near = near[_is_section(stops[near, None] - begins[None, here], limits).any(axis=1)]
        there = near[near == last] if (near == last).any() else near
        yield here, there
        free[there] = False
        here = there


def _is_section(step: np.ndarray, limits: tuple[float, float]) -> np.ndarray:
    """Whether there is as much board between two openings as there may be."""
    result: np.ndarray = (step > 0.0) & (step >= limits[0] - SNAP) & (step <= limits[1] + SNAP)
    return result
