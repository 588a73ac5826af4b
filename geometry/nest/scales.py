"""Scales: other sizes for things on a line, such that whatever went on the line before still does.

Count a part that is wider than half the line as one and all others as nothing: no line then holds more than one.
Such scales turn sizes that add up badly into sizes that add up, and show that parts do not go together
though their areas would. They are known as dual feasible functions (Fekete and Schepers, "New classes of fast
lower bounds for bin packing problems", 2001) and, where they look at the things at hand, as data-dependent ones
(Carlier, Clautiaux and Moukrim, "New reduction procedures and lower bounds for the two-dimensional bin packing
problem with fixed orientation", 2007). Both from memory; the tests prove the property itself by trying.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ..tolerance import DRAWN, LENGTH

__all__ = ["Scale", "scales"]

#: So many thresholds are tried at most.
_THRESHOLDS = 12


@dataclass(frozen=True, slots=True, eq=False)
class Scale:
    """A scale for a line of ``room`` mm. least: what is smaller counts nothing, mm.

    counted: None where sizes from least on keep their share of the line, except that those which leave less than
    ``least`` count as the whole line; else the least sizes of things no wider than half the line, in order, mm:
    each of them counts as one place, and a wider one as the places that it takes from them.
    """

    room: float
    least: float
    counted: np.ndarray | None

    @property
    def places(self) -> int:
        """How many places a line has; 1 where nothing but one wide thing counts, and for shares."""
        return max(1, int(self._places(np.array([self.room]))[0])) if self.counted is not None else 1

    def __call__(self, sizes: np.ndarray) -> np.ndarray:
        """Return the sizes, mm, on this scale: as shares of the line, 0 to 1."""
        if self.counted is None:
            full = np.where(sizes > self.room - self.least + LENGTH, 1.0, np.minimum(sizes / self.room, 1.0))
            return np.where(sizes < self.least, 0.0, full)
        wide = sizes > self.room / 2 + LENGTH
        total = self._places(np.array([self.room]))[0]
        if total == 0:
            return wide.astype(np.float64)
        taken = np.where(wide, total - self._places(self.room - sizes), 1.0)
        return np.where(sizes < self.least, 0.0, taken / total)

    def _places(self, free: np.ndarray) -> np.ndarray:
        """Return how many of the counted things go on so much of a line."""
        assert self.counted is not None
        return np.searchsorted(np.cumsum(self.counted), free + LENGTH, side="right").astype(np.float64)


def scales(sizes: Sequence[np.ndarray], lengths: Sequence[np.ndarray], room: float) -> Iterator[Scale]:
    """Yield scales for things of which each has one of the sizes given for it, (k,) mm, on a line of ``room`` mm.

    lengths: how much each size matters; the sizes that matter most serve as thresholds.
    """
    every, which = np.unique(np.floor(np.concatenate(list(sizes)) / DRAWN) * DRAWN, return_inverse=True)
    weight = np.bincount(which, np.concatenate(list(lengths)))
    halves = np.flatnonzero((every > LENGTH) & (every <= room / 2))
    halves = np.sort(halves[np.argsort(-weight[halves], kind="stable")[:_THRESHOLDS]])
    yield Scale(room, 0.0, None)
    yield Scale(room, room / 2, np.empty(0))
    for least in every[halves].tolist():
        yield Scale(room, least, None)
        smallest = [size[size >= least].min() for size in sizes if (size >= least).any()]
        yield Scale(room, least, np.sort([scale for scale in smallest if scale <= room / 2 + LENGTH]))
