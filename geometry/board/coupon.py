"""The coupon: small test pieces that tell what the catalogue can only guess of a board.

``plan_coupon`` says what is on it, in numbers alone: slats of a kerf comb, slots of a ladder that
grow by a twentieth of a millimetre, and rungs of a hinge ladder that differ from a common one in one
size each. The pieces are drawn from the plan, and the readings are worked out with it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..errors import BadSettingError
from .lattice import Lattice, lattice
from .stock import Grain, Stock

__all__ = ["CouponPlan", "Rung", "plan_coupon", "plan_quick_coupon"]

# Sizes of the pieces, mm. Common practice, no source: large enough to hold and to measure with a calliper.
_SLATS = 10
_PITCH = 10.0
_LADDER_FROM, _LADDER_TO, _LADDER_STEP = -0.40, 0.20, 0.05
_AXIS = 66.0
_LINKS = 12
_LINK = 1.0
_OPENING = 0.4
_LINKS_TRIED = (0.8, 1.2, 1.5)
_SLITS = 2
_SLITS_TRIED = (1, 3)
_ARM = 35.0

# The same of a quick coupon, mm (common practice, no source): half the slats, and steps that the eye still tells.
_QUICK_SLATS, _QUICK_PITCH, _QUICK_STEP = 5, 8.0, 0.10


@dataclass(frozen=True, slots=True)
class Rung:
    """One piece of the hinge ladder. across_grain: its slits run across the sheet's grain.

    differs: in what it differs from the common one, as the maker reads it.
    """

    id: str
    lattice: Lattice
    across_grain: bool
    differs: str


@dataclass(frozen=True, slots=True)
class CouponPlan:
    """What is on the coupon of a stock, drawn for its thickness and kerf as they were then. Lengths in mm.

    slats per comb, drawn ``pitch`` wide each. slots: drawn widths of the ladder, narrowest first.
    rungs: the hinge ladder. arm: from the middle of a lattice to the hole that takes the weight.
    """

    thickness: float
    kerf: float
    slats: int
    pitch: float
    slots: tuple[float, ...]
    rungs: tuple[Rung, ...]
    arm: float

    def rung(self, name: str) -> Rung:
        """Return the rung of this id; raise BadSettingError that lists the ids otherwise."""
        for rung in self.rungs:
            if rung.id == name:
                return rung
        raise BadSettingError(f"The coupon has no piece {name!r}; it has {', '.join(rung.id for rung in self.rungs)}.")


def plan_coupon(stock: Stock, *, repeats: int = 1) -> CouponPlan:
    """Plan the coupon of a stock with its present thickness and kerf.

    repeats: how many of each hinge are cut; three or more let a breaking strength be trusted.
    Raises BadSettingError for a number of repeats that is not within 1 .. 9.
    """
    if not 1 <= repeats <= 9:
        raise BadSettingError(f"Each hinge is to be cut {repeats} times; 1 to 9 times are possible.")
    wider = (max(_OPENING, stock.kerf + 0.2), max(0.6, stock.kerf + 0.4))
    made = [_rung(stock, "common")]
    made += [_rung(stock, f"links {width:g} mm", link_width=width) for width in _LINKS_TRIED]
    made += [_rung(stock, f"{count} slit{'s' if count > 1 else ''} in a row", slits=count) for count in _SLITS_TRIED]
    made += [_rung(stock, "slits of one pass", opening=stock.kerf), _rung(stock, "openings", opening=wider[1])]
    rungs = [(lattice, differs, False) for lattice, differs in made]
    if stock.grain is not Grain.NONE:
        rungs.append((made[0][0], "slits across the grain", True))
    letters = [""] if repeats == 1 else list("abcdefghi"[:repeats])
    ladder = tuple(
        Rung(f"H{number}{letter}", lattice, across, differs)
        for number, (lattice, differs, across) in enumerate(rungs, 1)
        for letter in letters
    )
    return CouponPlan(
        thickness=stock.thickness,
        kerf=stock.kerf,
        slats=_SLATS,
        pitch=_PITCH,
        slots=_slots(stock, _LADDER_STEP),
        rungs=ladder,
        arm=_ARM,
    )


def plan_quick_coupon(stock: Stock, rungs: tuple[Rung, ...], *, comb: bool, ladder: bool) -> CouponPlan:
    """Plan what a quick coupon has of a stock: the corners of a building, and a short comb and ladder where wanted."""
    return CouponPlan(
        thickness=stock.thickness,
        kerf=stock.kerf,
        slats=_QUICK_SLATS if comb else 0,
        pitch=_QUICK_PITCH,
        slots=_slots(stock, _QUICK_STEP) if ladder else (),
        rungs=rungs,
        arm=_ARM,
    )


def _slots(stock: Stock, step: float) -> tuple[float, ...]:
    """Return the widths of a ladder's slots as they are drawn, mm, narrowest first."""
    steps = math.floor((_LADDER_TO - _LADDER_FROM) / step + 0.5)
    widths = np.round(stock.thickness + _LADDER_FROM + step * np.arange(steps + 1), 2)
    return tuple(widths[widths > stock.kerf].tolist())


def _rung(
    stock: Stock, differs: str, *, link_width: float = _LINK, opening: float | None = None, slits: int = _SLITS
) -> tuple[Lattice, str]:
    opening = max(_OPENING, stock.kerf + 0.2) if opening is None else opening
    made = lattice(
        stock,
        angle=math.pi / 2,
        axis_length=_AXIS,
        link_width=link_width,
        opening=opening,
        links=_LINKS,
        slits=slits,
    )
    return made, f"{differs} {opening:.2g} mm" if differs == "openings" else differs
