"""The coupon as parts: slats, a ladder of slots with a piece to try, and hinges, named by engraving.

``lay_out_coupon`` makes and lays them out. Pieces keep their direction on the sheet, since both the
beam and the board may differ with it: the slats named X are narrow along the laser's x.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Point, Polygon, box

from ..beam.laser import Laser
from ..beam.lettering import TEXT_HEIGHT_LEAST, letter, letter_width
from ..board.coupon import CouponPlan, Rung, plan_coupon
from ..board.stock import Grain, Stock
from ..files import file_word
from ..findings import Finding, in_order
from ..part import LabelSpot, Part, frozen
from .check import check_sheets
from .coupon_pieces import bend_piece, piece, slat
from .layout import Layout, lay_out

__all__ = ["Coupon", "lay_out_coupon", "make_coupon_parts"]

# Sizes, mm. Common practice, no source: pieces that can be held, measured with a calliper and clamped.
_SLAT_LENGTH = 25.0
_SLOT_LENGTH = 15.0
_SLOT_PITCH = 10.0
_LADDER_EDGE = 6.0
_TRY_LENGTH = 45.0
_TRY_PLAY = 1.0
_LEG = 32.0
_HOLE = 1.25  # radius of the hole that takes the string


@dataclass(frozen=True, slots=True, eq=False)
class Coupon:
    """A coupon ready to be cut."""

    plan: CouponPlan
    parts: tuple[Part, ...]
    layout: Layout
    findings: tuple[Finding, ...]


def lay_out_coupon(stock: Stock, laser: Laser, *, repeats: int = 1) -> Coupon:
    """Plan the coupon of a stock, make its parts and lay them out on as few sheets as the packer finds.

    Sheet files are named after the stock. Raises GeometryError where nothing can be made.
    """
    plan = plan_coupon(stock, repeats=repeats)
    # a board without grain would let the layout turn pieces that must keep their direction
    stocks = {stock.name: replace(stock, grain=Grain.WIDTH if stock.grain is Grain.WIDTH else Grain.LENGTH)}
    parts = make_coupon_parts(plan, stock)
    layout = lay_out(parts, stocks, laser)
    if any(placement.part == "X1" and abs(math.cos(placement.turn)) < 0.5 for placement in layout.placements):
        parts = make_coupon_parts(plan, stock, turned=True)
        layout = lay_out(parts, stocks, laser)
    sheets = tuple(
        replace(sheet, file=f"coupon-{file_word(stock.name, 'stock')}-{number}.svg")
        for number, sheet in enumerate(layout.sheets, 1)
    )
    layout = replace(layout, sheets=sheets)
    findings = in_order([*layout.findings, *check_sheets(layout, {part.id: part for part in parts})])
    return Coupon(plan, parts, layout, findings)


def make_coupon_parts(plan: CouponPlan, stock: Stock, *, turned: bool = False) -> tuple[Part, ...]:
    """Return the parts of a coupon, those of the combs first.

    turned: the layout turns parts without grain of their own by a quarter, so X and Y change places.
    """
    upright = (math.pi / 2) if stock.grain is Grain.WIDTH else 0.0
    slats = []
    for letters, narrow_x in (("X", not turned), ("Y", turned)):
        for number in range(1, plan.slats + 1):
            # drawn one pitch wide, so that its true width is one pitch less one kerf
            name, size = f"{letters}{number}", (plan.pitch - plan.kerf, _SLAT_LENGTH)
            label = f"slat {number} of comb {letters}"
            slats.append(slat(name, label, stock, size, narrow_x=narrow_x, grain=upright))
    return (
        *slats,
        _ladder(plan, stock, upright),
        _try_piece(stock, upright),
        *(_hinge(rung, plan, stock) for rung in plan.rungs),
    )


def _ladder(plan: CouponPlan, stock: Stock, grain: float) -> Part:
    """Return the plate with the slots; the number under each is its width as it is drawn."""
    high = _LADDER_EDGE + 2.0 * TEXT_HEIGHT_LEAST
    wide = _SLOT_PITCH * len(plan.slots) + _LADDER_EDGE
    holes, engrave = [], []
    for number, drawn in enumerate(plan.slots):
        middle = _LADDER_EDGE / 2 + _SLOT_PITCH * (number + 0.5)
        # holes are drawn half a kerf inside on either side
        half, long = (drawn + plan.kerf) / 2, _SLOT_LENGTH + plan.kerf
        holes.append(box(middle - half, high, middle + half, high + long).exterior.coords)
        words = f"{drawn:.2f}"
        left = middle - letter_width(words, TEXT_HEIGHT_LEAST) / 2
        engrave += [stroke + np.array([left, _LADDER_EDGE]) for stroke in letter(words, TEXT_HEIGHT_LEAST)]
    outline = Polygon(box(0.0, 0.0, wide, high + _SLOT_LENGTH + 2 * _LADDER_EDGE).exterior, holes)
    spot = LabelSpot((wide / 2, high + _SLOT_LENGTH + 1.1 * _LADDER_EDGE), 0.0, 20.0, 4.0)
    return piece("S", "ladder of slots", stock, outline, grain, engrave=tuple(map(frozen, engrave)), label_spot=spot)


def _try_piece(stock: Stock, grain: float) -> Part:
    width = _SLOT_LENGTH - _TRY_PLAY
    spot = LabelSpot((width / 2, _TRY_LENGTH / 2), math.pi / 2, 12.0, 6.0)
    return piece("T", "piece to try in the slots", stock, box(0.0, 0.0, width, _TRY_LENGTH), grain, label_spot=spot)


def _hinge(rung: Rung, plan: CouponPlan, stock: Stock) -> Part:
    """Return a hinge between two legs, each with a hole for the string at the arm."""
    made = rung.lattice
    middle, high = made.flat_width / 2 + _LEG, made.axis_length
    return bend_piece(
        rung.id,
        f"hinge, {rung.differs}",
        stock,
        made,
        leg=_LEG,
        spot=LabelSpot((_LEG / 2 + 3.0, high / 2), 0.0, _LEG - 10.0, 8.0),
        grain=0.0 if rung.across_grain else math.pi / 2,
        holes=tuple(Point(middle + side * plan.arm, high / 2).buffer(_HOLE, quad_segs=8) for side in (-1, 1)),
    )
