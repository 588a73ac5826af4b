"""Clearances: what is left free in a joint, as a function of what real boards, kerf and paint do.

A joint goes together while its clearance is not below 0. Linear ones have their extremes at the corners of the box
that all ranges span, and so have lattices, whose clearance falls or rises steadily with each cause.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Protocol

import numpy as np

from ..board.cells import allowed_twists, contact_twists
from ..board.lattice import STRENGTH, Lattice
from ..board.stock import Stock
from .draws import Draws
from .ranges import Cause, range_of

__all__ = ["Clearance", "Joint", "JointKind", "LatticeCloses", "LatticeHolds", "Term"]

#: Slits that never close have room for more than anyone bends: so many times the angle.
_FAR = 10.0

#: Values of thickness and of kerf that stress is worked out for.
_GRID = 4

#: Links of an axis too short for one cell cannot twist: as good as no length at all, mm.
_NO_LENGTH = 1e-9


class JointKind(StrEnum):
    """What goes together."""

    TAB_ACROSS = "tab across its slot"
    TAB_ALONG = "tab along its slot"
    CHANNEL = "wall end in its channel"
    GAP = "wall end before its core"
    PEG = "peg in its hole"
    RING_ACROSS = "ring over two fins"
    CLOSES = "bend before its slits close"
    HOLDS = "links and bridges of a bend"
    CHEEK = "cheek under the roof"
    STOP = "stop beside its wall"
    PROP = "prop over leaf and wall"
    SIGN = "signboard in its slot"
    TRIM_CHEEK = "trim beside a joiner"
    STRIPS = "shingle strips beside what stands there"
    TRIM_LEAF = "trim beside a leaf"
    TILES = "row of tiles between walls"
    INLAY = "joint of the inlay"


@dataclass(frozen=True, slots=True)
class Term:
    """How much of a clearance, mm per mm, a cause gives in parts of a stock."""

    cause: Cause
    stock: str
    share: float


class Joint(Protocol):
    """One joint: its kind, the parts that meet, and its clearance, mm, or as a share for lattices."""

    @property
    def kind(self) -> JointKind: ...

    @property
    def parts(self) -> tuple[str, ...]: ...

    def nominal(self) -> float:
        """Return the clearance as drawn."""
        ...

    def ends(self, stocks: Mapping[str, Stock]) -> tuple[float, float]:
        """Return the least and the most clearance over all ranges."""
        ...

    def drawn(self, draws: Draws) -> np.ndarray:
        """Return the clearance in every build, (n,)."""
        ...


@dataclass(frozen=True, slots=True)
class Clearance:
    """A clearance that every cause changes in proportion.

    drawn_as: mm; features: whose places may miss each other; by_hand: pieces that are glued by eye.

    >>> slot = Clearance(JointKind.TAB_ACROSS, ('W1', 'F1'), 0.2, (Term(Cause.THICKNESS, birch.name, -1.0),))
    >>> slot.ends({birch.name: birch})
    (-0.09, 0.69)
    """

    kind: JointKind
    parts: tuple[str, ...]
    drawn_as: float
    terms: tuple[Term, ...]
    features: int = 0
    name: str = ""
    by_hand: int = 0

    def nominal(self) -> float:
        return self.drawn_as

    def ends(self, stocks: Mapping[str, Stock]) -> tuple[float, float]:
        low = high = self.drawn_as
        for term in self.terms:
            within = range_of(term.cause, stocks[term.stock])
            reach = sorted((term.share * within.least, term.share * within.most))
            low, high = low + reach[0], high + reach[1]
        any_stock = next(iter(stocks.values()))
        miss = self.features * range_of(Cause.PLACE, any_stock).most
        miss += self.by_hand * range_of(Cause.HAND, any_stock).most
        return round(low - miss, 9), round(high, 9)

    def drawn(self, draws: Draws) -> np.ndarray:
        clear = np.full(draws.count, self.drawn_as, dtype=np.float32)
        for term in self.terms:
            clear += np.float32(term.share) * draws.of(term.cause, term.stock)
        name = self.name or " ".join(self.parts)
        if self.by_hand:
            clear -= draws.by_hand(name, self.by_hand)
        return clear - draws.places(name, self.features) if self.features else clear


@dataclass(frozen=True, slots=True)
class LatticeCloses:
    """How much further than its angle a lattice bends before its slits close, as a share of that angle."""

    parts: tuple[str, ...]
    lattice: Lattice
    stock: str
    kind: JointKind = JointKind.CLOSES

    def nominal(self) -> float:
        return float(self._at(np.zeros(()), np.zeros(())))

    def ends(self, stocks: Mapping[str, Stock]) -> tuple[float, float]:
        found = [float(self._at(np.asarray(t), np.asarray(k))) for t, k in _corners(stocks[self.stock])]
        return min(found), max(found)

    def drawn(self, draws: Draws) -> np.ndarray:
        return self._at(draws.of(Cause.THICKNESS, self.stock), draws.of(Cause.KERF, self.stock))

    def _at(self, thickness: np.ndarray, kerf: np.ndarray) -> np.ndarray:
        made = self.lattice
        twist = contact_twists(made.link_width - kerf, made.opening + kerf, made.thickness + thickness)
        # slits that never close have room for more than anyone bends
        return np.asarray(np.minimum(twist * made.links / made.angle, _FAR) - 1.0)


@dataclass(frozen=True, slots=True)
class LatticeHolds:
    """How far links and bridges are from breaking, as a share of the stress in them."""

    parts: tuple[str, ...]
    lattice: Lattice
    stock: Stock
    kind: JointKind = JointKind.HOLDS

    def nominal(self) -> float:
        return float(self._reserves(0.0, np.zeros(1))[0]) - 1.0

    def ends(self, stocks: Mapping[str, Stock]) -> tuple[float, float]:
        strength = range_of(Cause.STRENGTH, self.stock)
        found = [float(self._reserves(t, np.array([k]))[0]) for t, k in _corners(stocks[self.stock.name])]
        return min(found) * (1.0 + strength.least) - 1.0, max(found) * (1.0 + strength.most) - 1.0

    def drawn(self, draws: Draws) -> np.ndarray:
        name = self.stock.name
        thickness, kerf = draws.of(Cause.THICKNESS, name), draws.of(Cause.KERF, name)
        # stress changes smoothly with both, so that a few values joined by straight lines tell it
        grid = [np.linspace(float(v.min()), float(v.max()), _GRID) for v in (thickness, kerf)]
        table = np.array([self._reserves(float(t), grid[1]) for t in grid[0]])
        return _between(table, grid, thickness, kerf) * (1.0 + draws.of(Cause.STRENGTH, name)) - 1.0

    def _reserves(self, thickness: float, kerf: np.ndarray) -> np.ndarray:
        """Return strength over stress, of links or bridges, whichever is less; limits are 2/3 of strength.

        thickness, kerf: deviations from what is drawn, mm. A wider kerf takes from links and bridges, and adds to
        openings and slits.
        """
        made = self.lattice
        free = (made.slit - made.bridge) / 2.0 + kerf
        twists = allowed_twists(
            replace(self.stock, thickness=made.thickness + thickness),
            link_width=made.link_width - kerf,
            opening=made.opening + kerf,
            # an edge bridge carries the torque of one link, the others that of two
            bridge=np.minimum(made.bridge - kerf, 2.0 * made.edge_bridge - kerf),
            free=np.maximum(free, _NO_LENGTH),
        )
        return np.asarray(STRENGTH * np.minimum(twists.link, twists.bridge) / made.twist)


def _corners(stock: Stock) -> Sequence[tuple[float, float]]:
    """Return the corners of what thickness and kerf may be, as deviations, mm."""
    thickness, kerf = range_of(Cause.THICKNESS, stock), range_of(Cause.KERF, stock)
    return tuple(itertools.product((thickness.least, thickness.most), (kerf.least, kerf.most)))


def _between(table: np.ndarray, grid: Sequence[np.ndarray], x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return values between those of a table, (a, b), over the grid of two evenly spaced axes: bilinear."""
    whole, part = [], []
    for axis, values in zip(grid, (x, y), strict=True):
        step = (axis[-1] - axis[0]) / (len(axis) - 1)
        at = (values - axis[0]) / step if step > 0.0 else np.zeros_like(values)
        below = np.clip(at.astype(np.int64), 0, len(axis) - 2)
        whole.append(below)
        part.append(at - below)
    (i, j), (s, t) = whole, part
    low = table[i, j] * (1.0 - t) + table[i, j + 1] * t
    high = table[i + 1, j] * (1.0 - t) + table[i + 1, j + 1] * t
    return np.asarray(low * (1.0 - s) + high * s)
