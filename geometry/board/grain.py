"""Grain: which way a wall with a lattice lies on the sheet, and what each way is worth.

Slits along the grain make links of long grain, which take a knock, and leave bridges that are moved
across the grain. Slits across it make strong bridges between links of short grain, which snap. So
neither is wrong: ``compare_grain`` puts both side by side with the joiners that each costs,
``check_grain`` and ``check_warp`` advise, and none of them refuses anything.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import BadSettingError
from ..findings import Finding, Location, Severity
from ..tolerance import LENGTH
from .stock import Grain, Stock

__all__ = ["GrainWay", "check_grain", "check_warp", "compare_grain", "is_solid_wood"]

#: Tension across the grain over bending strength along it, of solid wood: 350 / 8700 psi in basswood, 560 / 12300 in
#: cherry, 690 / 14600 in walnut, 920 / 16600 in yellow birch. From memory: Wood Handbook FPL-GTR-282, table 5-3.
_SHORT_GRAIN = 0.045

#: Shear that rolls the fibres over shear along them, in strength: 18 to 28 per cent. From memory: the same
#: handbook, chapter 5. Modulus: G_RT / sqrt(G_LR G_LT), with G_RT about 0.012 E_L as in the softer woods.
_ROLLING_STRENGTH = 0.23
_ROLLING_MODULUS = 0.24

#: Three plies: two of them run along the face grain, one across it.
_PLIES_ACROSS = 0.5
#: ... and a board bent along its face grain is stronger: 65.9 against 10.6 MPa. From memory: Handbook of Finnish
#: Plywood, birch plywood of three plies.
_FACES_ACROSS = 6.2

# From here to there slits are neither along nor across the grain. Common practice, no source.
_OBLIQUE = math.radians(15.0)
#: Solid boards longer than this rarely stay flat, mm. Common practice, no source.
_LONG_BOARD = 250.0


@dataclass(frozen=True, slots=True)
class GrainWay:
    """One way of laying a wall on the sheet, with its slits upright. All shares are of the way along the grain.

    along: whether slits run along the grain (of plywood: that of its faces).
    links: strength of the links when the flat wall is moved or knocked. twist: how far links may twist.
    moment: how hard the corner springs back. bridges: bending strength of the bridges.
    run: longest stretch of wall that the sheet takes, height: tallest, mm.
    joiners: fewest for a closed loop of walls, None where no loop was named or where its walls are too tall.
    estimated: whether the shares rest on tables of wood rather than on measured boards.
    """

    along: bool
    links: float
    twist: float
    moment: float
    bridges: float
    run: float
    height: float
    joiners: int | None
    estimated: bool


def is_solid_wood(stock: Stock) -> bool:
    """Return whether the stock is a board of one layer of wood."""
    return stock.grain in (Grain.LENGTH, Grain.WIDTH)


def compare_grain(
    stock: Stock, *, loop: float | None = None, height: float = 0.0, room: tuple[float, float] | None = None
) -> tuple[GrainWay, GrainWay]:
    """Return what a wall is worth with slits along the grain and with slits across it, in that order.

    loop: length of a closed run of walls in the flat, height: of these walls, mm. room: what of the sheet can be
    used, (length, width) mm; the whole sheet otherwise. A loop in n sections takes n joiners, and one at least.
    Face grain of plywood is taken as along the longer side. Boards without grain are the same both ways.
    Raises BadSettingError for a loop or room that is not larger than 0.
    """
    length, width = stock.sheet if room is None else room
    for what, size in (("loop", loop), ("sheet's length", length), ("sheet's width", width)):
        if size is not None and not (math.isfinite(size) and size > 0.0):
            raise BadSettingError(f"The {what} is {size:g} mm; it must be larger than 0.")
    # Upright slits along the grain turn the grain upright, so that the wall runs across it.
    with_grain, across_grain = (width, length) if stock.grain is Grain.WIDTH else (length, width)
    shares = (1.0, 1.0, 1.0, 1.0)
    if is_solid_wood(stock):
        shares = (_SHORT_GRAIN, _ROLLING_STRENGTH / _ROLLING_MODULUS, _ROLLING_MODULUS, 1.0 / _SHORT_GRAIN)
    elif stock.grain is Grain.CROSSED:
        # Links of either way hold a ply whose fibres roll, so they twist as far.
        shares = (_PLIES_ACROSS, 1.0, 1.0, _FACES_ACROSS)
    estimated = stock.grain is not Grain.NONE

    def way(along: bool, run: float, tall: float) -> GrainWay:
        joiners = None
        if loop is not None and height <= tall + LENGTH:
            joiners = max(1, math.ceil(loop / run - LENGTH))
        return GrainWay(along, *(shares if not along else (1.0,) * 4), run, tall, joiners, estimated)

    if stock.grain is Grain.NONE:
        return way(True, length, width), way(False, length, width)
    return way(True, across_grain, with_grain), way(False, with_grain, across_grain)


def check_grain(stock: Stock, where: Location, *, between: float) -> tuple[Finding, ...]:
    """Return what the maker should know about slits at ``between`` radians to the grain of a solid board.

    Directions have no sense: 0 and pi are both along. Code: grain-across-links; sheet goods have none.
    """
    turned = abs(math.remainder(between, math.pi))
    if not is_solid_wood(stock) or turned <= _OBLIQUE:
        return ()
    times = round(1.0 / _SHORT_GRAIN)
    if turned < math.pi / 2 - _OBLIQUE:
        message = (
            f"The slits run {math.degrees(turned):.0f} degrees to the grain of {stock.label}, which neither links nor "
            "bridges bear well; turn the part so that the slits follow the grain, or choose plywood or MDF there."
        )
    else:
        message = (
            f"The slits run across the grain of {stock.label}: the corner bends about as far, but its links are some "
            f"{times} times weaker when the flat wall is moved or knocked; cut it along the grain with more joiners, "
            "or handle it with care until it stands."
        )
    return (Finding(Severity.WARNING, "grain-across-links", message, where),)


def check_warp(stock: Stock, where: Location, *, length: float) -> tuple[Finding, ...]:
    """Return a note where a part of solid wood is so long, mm, that it rarely stays flat. Code: board-warp."""
    if not is_solid_wood(stock) or length <= _LONG_BOARD:
        return ()
    message = (
        f"This part of {stock.label} is {length:.0f} mm long, and solid boards beyond about {_LONG_BOARD:.0f} mm "
        "seldom stay flat as the air's moisture changes; store it flat under weight, or choose plywood or MDF."
    )
    return (Finding(Severity.NOTE, "board-warp", message, where),)
