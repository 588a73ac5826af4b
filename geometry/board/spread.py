"""Spread: how far board and kerf lie from what is drawn with, and what cells bear at the worst of both.

Every limit of a cell falls or rises steadily with thickness and kerf, so that it is worst at a corner of what both
may be: links and the closing of slits where the kerf is narrow and the board thick, bridges where the kerf is
narrow and the board thin.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .cells import Twists, allowed_twists
from .stock import Stock

__all__ = ["kerf_drift", "reserved_twists", "thickness_spread"]

#: How far the kerf of another day or corner of the bed lies from the one drawn with, +- mm (common practice, no
#: source: shops quote 0.08 to 0.45 for the same work). Once a comb of slats was cut, what is left is the day.
_KERF_DRIFT, _KERF_MEASURED = 0.05, 0.015

#: Thickness about a reading of the calliper near the parts, +- mm: a sheet's own spread (common practice, no source).
_THICKNESS_MEASURED = 0.06

#: What a slit keeps of its opening at least, however narrow the kerf, mm.
_LEAST_OPENING = 0.01


def thickness_spread(stock: Stock, *, measured: bool = False) -> tuple[float, float]:
    """Return how much thinner, as a negative number, and how much thicker real board is than drawn, mm, at most."""
    if measured or "thickness" in stock.measured:
        return -_THICKNESS_MEASURED, _THICKNESS_MEASURED
    under = stock.thickness_tolerance if stock.thickness_under is None else stock.thickness_under
    over = stock.thickness_tolerance if stock.thickness_over is None else stock.thickness_over
    return -under, over


def kerf_drift(stock: Stock, *, measured: bool = False) -> float:
    """Return how far the kerf lies from the one drawn with, +- mm, at most."""
    return _KERF_MEASURED if measured or "kerf" in stock.measured else _KERF_DRIFT


def reserved_twists(
    stock: Stock, *, link_width: np.ndarray, opening: np.ndarray, bridge: float | np.ndarray, free: np.ndarray
) -> Twists:
    """Return the twists that links of these cells bear at the worst thickness and kerf; sizes as ``allowed_twists``."""
    drift = kerf_drift(stock)
    thin, thick = thickness_spread(stock)
    # a kerf narrower than drawn leaves more of every link and bridge, and less of every opening and free length
    found = [
        allowed_twists(
            replace(stock, thickness=stock.thickness + more),
            link_width=link_width + drift,
            opening=np.maximum(opening - drift, _LEAST_OPENING),
            bridge=bridge + drift,
            free=np.maximum(free - drift, _LEAST_OPENING),
        )
        for more in (thick, thin)
    ]
    when_thick, when_thin = found
    return Twists(when_thick.link, when_thin.bridge, when_thick.contact)
