"""Endurance: what folding again and again leaves of a board's strength, by analogy.

Nobody has published how often a lattice of thin wood can be folded. What has been published is how
wood-based boards tire when they are bent edgewise: strength falls with the logarithm of the number of
loads, S / S1 = 1 - H log10 N. ``after_folds`` and ``folds_borne`` use that law for the twist of links;
``ANALOGY`` says so in a sentence and belongs beside every number that comes from here.
"""

from __future__ import annotations

import math

from ..errors import BadSettingError
from ..tolerance import LENGTH
from .stock import Grain, Stock

__all__ = ["ANALOGY", "MOST_FOLDS", "after_folds", "folds_borne"]

ANALOGY = (
    "The number of folds is an analogy from boards bent edgewise again and again; nobody has published it for "
    "lattices, so fold a test piece of your own."
)

#: The published line ends here; beyond it no count is given.
MOST_FOLDS = 25_000

#: Loss of strength per tenfold number of loads. Plywood 0.05, and particle board 0.09, here for fibre board:
#: "Fatigue performance of wood-based composites as upholstered furniture frame stock" (read in excerpts), up to
#: 25,000 loads. Solid wood: pine and beech bore a million bendings at 40 and 50 per cent; 0.1 is the careful one.
_LOSS = {Grain.CROSSED: 0.05, Grain.NONE: 0.09, Grain.LENGTH: 0.10, Grain.WIDTH: 0.10}

#: Limits of a stock are two thirds of its strength.
_LIMIT_SHARE = 2.0 / 3.0


#: Boards without grain count as fibre board only where their name says so: plastic and paper tire otherwise.
_FIBRE = ("mdf", "hdf", "fibre", "fiber", "hardboard", "particle")


def after_folds(stock: Stock, folds: int) -> float | None:
    """Return the share of a board's strength that is left after this many folds, or None without an analogy.

    Raises BadSettingError for less than one fold; more than MOST_FOLDS count as so many.
    """
    if folds < 1:
        raise BadSettingError(f"The number of folds is {folds}; it must be at least 1.")
    loss = _loss(stock)
    return None if loss is None else 1.0 - loss * math.log10(min(folds, MOST_FOLDS))


def folds_borne(stock: Stock, used: float) -> int | None:
    """Return how many folds a hinge bears whose most loaded limit is ``used``, as a share of it.

    None without an analogy, 0 where a single fold would break it, at most MOST_FOLDS. Raises
    BadSettingError for a share below 0.
    """
    if not used >= 0.0:
        raise BadSettingError(f"The share of the limit is {used:g}; it must be at least 0.")
    loss = _loss(stock)
    if loss is None:
        return None
    spare = 1.0 - used * _LIMIT_SHARE
    if spare < 0.0:
        return 0
    return math.floor(10.0 ** min(spare / loss, math.log10(MOST_FOLDS)) + LENGTH)


def _loss(stock: Stock) -> float | None:
    words = f"{stock.name} {stock.label}".lower()
    if stock.grain is Grain.NONE and not any(word in words for word in _FIBRE):
        return None
    return _LOSS[stock.grain]
