"""Draws: a few thousand builds by chance, each with its own boards, kerf and paint, always the same ones.

Every quantity has its own stream of numbers, so that what is asked first changes nothing.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping

import numpy as np

from ..board.stock import Stock
from .ranges import Cause, Measured, Range, range_of

__all__ = ["BUILDS", "Draws"]

#: Builds that are drawn: a share of one half is then known within one point (two standard errors of a binomial).
BUILDS = 10_000

#: What differs between the stocks of one build; the other causes are the same in all of it.
_OF_A_STOCK = (Cause.THICKNESS, Cause.KERF, Cause.TAPER)

#: Which stream of chance this is.
_SEED = 1


class Draws:
    """Builds by chance. measured: what is measured before, of stocks that are not calibrated."""

    def __init__(self, stocks: Mapping[str, Stock], *, count: int = BUILDS, measured: Measured | None = None) -> None:
        self.count = count
        self.stocks = stocks
        self.measured = measured
        self._known: dict[tuple[Cause, str], np.ndarray] = {}

    def of(self, cause: Cause, stock: str) -> np.ndarray:
        """Return the deviation in every build, (count,) float32: mm, or a share for strength."""
        key = (cause, stock if cause in _OF_A_STOCK else "")
        if key not in self._known:
            self._known[key] = self._drawn(range_of(cause, self.stocks[stock], self.measured), *key)
        return self._known[key]

    def places(self, name: str, features: int) -> np.ndarray:
        """Return by how much the places of a joint's own features miss each other in all, (count,) float32, mm."""
        spread = range_of(Cause.PLACE, next(iter(self.stocks.values())))
        total = np.zeros(self.count, dtype=np.float32)
        for k in range(features):
            total += np.abs(self._drawn(spread, Cause.PLACE, f"{name} {k}"))
        return total

    def by_hand(self, name: str, pieces: int) -> np.ndarray:
        """Return by how much pieces glued by eye miss their places in all, (count,) float32, mm."""
        spread = range_of(Cause.HAND, next(iter(self.stocks.values())))
        total = np.zeros(self.count, dtype=np.float32)
        for k in range(pieces):
            total += np.abs(self._drawn(spread, Cause.HAND, f"{name} {k}"))
        return total

    def _drawn(self, within: Range, cause: Cause, name: str) -> np.ndarray:
        chance = np.random.default_rng([_SEED, zlib.crc32(f"{cause.value} {name}".encode())])
        if within.spread == 0.0:
            low, high = np.float32(within.least), np.float32(within.most)
            even: np.ndarray = low + (high - low) * chance.random(self.count, dtype=np.float32)
            return even
        middle = (within.least + within.most) / 2
        normal = middle + within.spread * chance.standard_normal(self.count, dtype=np.float32)
        return np.clip(normal, within.least, within.most)
