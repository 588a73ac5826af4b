"""Ranges: how far real boards, kerfs, paint and places lie from what is drawn, and what measuring narrows.

All are deviations from the value drawn with, mm, except for strength, which is a share.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from ..board.spread import kerf_drift, thickness_spread
from ..board.stock import Stock

__all__ = ["Cause", "Measured", "Range", "range_of"]


class Cause(StrEnum):
    """What differs from the drawing: of a board, of a build, or of a single feature."""

    THICKNESS = "thickness"
    KERF = "kerf"
    TAPER = "taper"
    PAINT = "paint"
    CARD = "card"
    GLUE = "glue"
    PEG = "peg"
    SCALE = "scale"
    PLACE = "place"
    HAND = "hand"
    STRENGTH = "strength"


class Measured(StrEnum):
    """What a maker may measure before cutting, the quickest first."""

    THICKNESS = "thickness"
    KERF = "kerf"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class Range:
    """From ``least`` to ``most``. spread: standard deviation of a normal spread cut at the ends, 0 for an even one."""

    least: float
    most: float
    spread: float = 0.0


#: What the kerf is narrower at the lower face, mm, as a share of the thickness: a cone of 3 to 4 degrees of a 6 mm beam
#: on a 50 mm lens, focused at mid-depth (common practice, no source).
_TAPER_SHARE = 0.04

#: The others, mm. Paint: a face is brushed 0.04 to 0.12 thick; card within 10 per cent; glue lines 0.01 to 0.04 each;
#: toothpicks 1.9 to 2.2; place of a feature within 0.1 (shops guarantee ISO 9013: 0.2 at 10 to 35 mm); one way of the
#: machine against the other 0.06 per cent; what is glued by eye to a scored line lies within 0.5 of it; strength by
#: 15 per cent (shear in the Wood Handbook 14, from memory). Common practice, no source, where nothing is named.
_OTHERS = {
    Cause.PAINT: Range(-0.04, 0.04),
    Cause.CARD: Range(-0.04, 0.04),
    Cause.GLUE: Range(0.02, 0.08),
    Cause.PEG: Range(-0.1, 0.2),
    Cause.SCALE: Range(0.0, 0.0006),
    Cause.PLACE: Range(-0.1, 0.1, 0.04),
    Cause.HAND: Range(-0.5, 0.5, 0.2),
    Cause.STRENGTH: Range(-0.3, 0.3, 0.15),
}


def range_of(cause: Cause, stock: Stock, measured: Measured | None = None) -> Range:
    """Return how far a cause may lie off for parts of a stock; what was measured on it lies in a narrower range.

    >>> range_of(Cause.THICKNESS, birch)
    Range(least=-0.49, most=0.29, spread=0.0)
    """
    if cause is Cause.THICKNESS:
        known = "thickness" in stock.measured or measured in (Measured.THICKNESS, Measured.BOTH)
        return _spread(*thickness_spread(stock, measured=known), known)
    if cause is Cause.KERF:
        known = "kerf" in stock.measured or measured in (Measured.KERF, Measured.BOTH)
        drift = kerf_drift(stock, measured=known)
        return _spread(-drift, drift, known)
    if cause is Cause.TAPER:
        return Range(0.0, _TAPER_SHARE * stock.thickness)
    return _OTHERS[cause]


def _spread(least: float, most: float, known: bool) -> Range:
    """Return a range that is even where nothing is known, and normal, cut at two standard deviations, if measured."""
    return Range(least, most, (most - least) / 4 if known else 0.0)
