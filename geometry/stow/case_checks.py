"""What a maker should know about a case before it is cut: boards in pieces, and a bottom too soft for its load."""

from __future__ import annotations

from collections.abc import Sequence

from ..board.stock import Stock
from ..findings import Finding, Location, Severity
from .stow import Stow

__all__ = ["bottom_sag", "check_bottom", "check_pieces"]

#: What a cubic millimetre of plywood or fibreboard weighs, N (700 kg/m^3, from memory: 600 to 800).
_WEIGHT = 700e-9 * 9.81

#: A bottom that sags by more than this share of its span is soft (common practice, no source).
_SAG_SHARE = 1 / 200


def bottom_sag(stock: Stock, load: float, width: float) -> float:
    """Return how far a bottom of one board sags under ``load`` (N/mm^2) over its shorter span ``width``, mm.

    A strip that rests freely on the long walls: 5 q w^4 / 384 E I with I = t^3 / 12 for each mm of its breadth
    (beam tables of any handbook). The short walls help and are left out.
    """
    return 5.0 * load * width**4 / (32.0 * stock.elastic_modulus * stock.thickness**3)


def check_bottom(stow: Stow, stock: Stock, width: float, *, layers: int) -> tuple[Finding, ...]:
    """Say when the bottom is too soft for a stack as heavy as if it were board all through.

    width: its shorter span, mm. layers: boards on one another, taken as not glued, to be careful.
    """
    sag = bottom_sag(stock, _WEIGHT * stow.box[2], width) / layers
    allowed = _SAG_SHARE * width
    if sag <= allowed:
        return ()
    message = (
        f"The bottom of the case would sag by about {sag:.1f} mm under what it carries, more than {allowed:.1f} mm; "
        f"take a board thicker than {stock.label} for the floor, or glue a second layer of it under the bottom"
    )
    return (Finding(Severity.NOTE, "case-bottom-soft", message, Location(part="K1")),)


def check_pieces(parted: Sequence[str], largest: tuple[float, float]) -> tuple[Finding, ...]:
    """Say which boards of the case are cut in pieces. parted: their ids; largest: (length, width), mm."""
    if not parted:
        return ()
    message = (
        f"Boards {', '.join(parted)} of the case are larger than the {largest[0]:.0f} x {largest[1]:.0f} mm that stock "
        "and laser take; they are cut in pieces, and the guide says how to join them"
    )
    return (Finding(Severity.NOTE, "case-in-pieces", message),)
