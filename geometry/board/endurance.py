"""Endurance: what folding again and again leaves of a board's strength, by analogy.

Nobody has published how often a lattice of thin wood can be folded. What has been published is how
wood-based boards tire when they are bent edgewise: strength falls with the logarithm of the number of
loads, S / S1 = 1 - H log10 N. ``folds_borne`` uses that law for the links and bridges of a lattice;
``ANALOGY`` says so in a sentence and belongs beside every number that comes from here.
"""

from __future__ import annotations

import math

from ..tolerance import LENGTH
from .lattice import Lattice
from .stock import Grain, Stock

__all__ = ["ANALOGY", "MOST_FOLDS", "folds_borne"]

ANALOGY = "Folds are counted as for boards bent edgewise; nobody has published counts for hinges. Fold a test piece."

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


def folds_borne(stock: Stock, made: Lattice) -> int | None:
    """Return how many folds a lattice of this board bears, at most MOST_FOLDS.

    None without an analogy, 0 where a single fold would break it.
    """
    loss = _loss(stock)
    if loss is None:
        return None
    used = max(made.held_shear / made.shear_limit, made.held_bridge_stress / made.bridge_limit)
    spare = 1.0 - used * _LIMIT_SHARE
    if spare < 0.0:
        return 0
    return math.floor(10.0 ** min(spare / loss, math.log10(MOST_FOLDS)) + LENGTH)


def _loss(stock: Stock) -> float | None:
    words = f"{stock.name} {stock.label}".lower()
    if stock.grain is Grain.NONE and not any(word in words for word in _FIBRE):
        return None
    return _LOSS[stock.grain]
