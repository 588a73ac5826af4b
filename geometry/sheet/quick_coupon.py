"""The quick coupon: a test-fit of one building that a laser cuts in ten minutes from a scrap of 150 x 120 mm.

Its pieces are the building's own: a corner of every kind, a joiner with two wall stubs, a tab with its slot, with the
sizes that the building is cut to; beside them a ladder of slots and a comb of slats. Where time or scrap do not hold
all of it, corners get shorter and narrower first, then the piece that tells least is left out, and told. What time and
scrap that piece leaves goes back to the corners as links.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Point, Polygon, box

from ..beam.laser import Laser
from ..beam.lasers import stock_on
from ..beam.lettering import TEXT_HEIGHT_LEAST, letter, letter_width
from ..board.coupon import CouponPlan, Rung, plan_quick_coupon
from ..board.stock import Grain, Stock
from ..errors import BadSettingError
from ..files import file_word
from ..findings import Finding, in_order
from ..part import Joiner, LabelSpot, Part, Tab, frozen
from ..settings import BuildSettings
from ..unfold.tabs import tab_outline
from .check import check_sheets
from .coupon_pieces import bend_piece, piece, slat
from .layout import Layout, lay_out
from .quick_corners import Corner, bend_kinds
from .times import estimate_seconds, part_seconds, total_seconds

__all__ = ["QUICK_SECONDS", "QUICK_SIZE", "QuickCoupon", "lay_out_quick_coupon"]

#: What a quick coupon may take: laser time, s, and the scrap that it is cut from, mm.
QUICK_SECONDS = 600.0
QUICK_SIZE = (150.0, 120.0)

# Sizes of the pieces, mm. Common practice, no source: as small as fingers can hold and a calliper can measure.
_LEG = 30.0
_SLAT_LENGTH = 14.0
_SLOT_DEPTH, _SLOT_PITCH, _LADDER_FOOT, _LADDER_EDGE = 8.0, 8.0, 5.0, 5.0
_JOINER_HEIGHT, _STUB = 14.0, 18.0
_TAB_SHOULDER, _TAB_HEIGHT, _PLATE_EDGE = 3.0, 14.0, 5.0


@dataclass(frozen=True, slots=True, eq=False)
class QuickCoupon:
    """A quick coupon ready to be cut.

    plans: per stock, what its readings are worked out with. corners: those that are on it. seconds: of the laser.
    sizes: of the joiner and the slot that are on it, None where they are not. left_out: pieces that found no room or
    time, in words.
    """

    plans: Mapping[str, CouponPlan]
    corners: tuple[Corner, ...]
    parts: tuple[Part, ...]
    layout: Layout
    seconds: float
    joiner: Joiner | None
    tab: Tab | None
    left_out: tuple[str, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Choice:
    """What is to be on the coupon."""

    corners: tuple[Corner, ...]
    comb: bool
    joiner: Joiner | None
    tab: Tab | None
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A choice with its parts on their scraps. seconds: of the laser."""

    choice: _Choice
    made: tuple[Part, ...]
    layout: Layout
    seconds: float


def lay_out_quick_coupon(
    parts: Sequence[Part],
    joiners: Sequence[Joiner],
    tabs: Sequence[Tab],
    settings: BuildSettings,
    laser: Laser,
) -> QuickCoupon:
    """Make the quick coupon of a building and lay it out, one scrap for each of its boards.

    settings: with the stocks as the building was designed with them. Raises BadSettingError where not even a ladder of
    slots can be cut.
    """
    stocks = {name: stock_on(stock, laser) for name, stock in settings.stocks.items()}
    # a board without grain would let the layout turn slats of one comb differently
    scraps = {
        name: replace(stock, sheet=QUICK_SIZE, grain=Grain.WIDTH if stock.grain is Grain.WIDTH else Grain.LENGTH)
        for name, stock in stocks.items()
    }

    def laid_out(choice: _Choice) -> _Laid | None:
        """Return a choice laid out, None where time or scrap do not hold it."""
        made = _pieces(choice, settings, stocks)
        # nothing is laid out that the laser could not cut in time
        if sum(part_seconds(part, stocks[part.stock], laser) for part in made) > QUICK_SECONDS:
            return None
        layout = lay_out(made, scraps, laser)
        seconds = total_seconds(estimate_seconds(layout, {part.id: part for part in made}))["total"]
        return _Laid(choice, made, layout, seconds) if _holds(layout, made, seconds) else None

    choice = _all_of(parts, joiners, tabs, stocks)
    while (found := laid_out(choice)) is None:
        less = _less(choice)
        if less is None:
            raise BadSettingError(
                f"The laser cuts no quick coupon within {QUICK_SECONDS / 60:.0f} minutes and {QUICK_SIZE[0]:g} x "
                f"{QUICK_SIZE[1]:g} mm; its speed, margins or bed leave room for nothing."
            )
        choice = less
    for k in range(len(choice.corners)):
        while (wider := _wider(found.choice, k)) is not None and (more := laid_out(wider)) is not None:
            found = more
    choice, made, layout, seconds = found.choice, found.made, found.layout, found.seconds
    sheets = tuple(
        replace(sheet, file=f"quick-coupon-{file_word(sheet.stock.name, 'stock')}.svg") for sheet in layout.sheets
    )
    layout = replace(layout, sheets=sheets)
    board = settings.walls.name
    plans = {
        name: plan_quick_coupon(stock, _rungs(choice, stock), comb=choice.comb and name == board, ladder=name == board)
        for name, stock in stocks.items()
    }
    return QuickCoupon(
        plans=plans,
        corners=choice.corners,
        parts=made,
        layout=layout,
        seconds=seconds,
        joiner=choice.joiner,
        tab=choice.tab,
        left_out=choice.left_out,
        findings=in_order([*layout.findings, *check_sheets(layout, {part.id: part for part in made})]),
    )


def _wider(choice: _Choice, k: int) -> _Choice | None:
    """Return the choice with two links more at one corner, None where it has all of them."""
    corners = choice.corners
    wider = corners[k].wider()
    return None if wider is None else replace(choice, corners=(*corners[:k], wider, *corners[k + 1 :]))


def _all_of(
    parts: Sequence[Part], joiners: Sequence[Joiner], tabs: Sequence[Tab], stocks: Mapping[str, Stock]
) -> _Choice:
    """Return everything that a building has, as large as it has it."""
    kinds = bend_kinds(parts, stocks)
    corners = tuple(Corner.whole(f"C{number}", kind) for number, kind in enumerate(kinds, 1))
    walls = [tab for tab in tabs if tab.reach is None]
    # the longest tab is the usual one; beside tight bends there are short ones
    tab = max(walls, key=lambda tab: round(_long(tab.tab), 6), default=None)
    return _Choice(corners, True, next(iter(joiners), None), tab)


def _holds(layout: Layout, made: Sequence[Part], seconds: float) -> bool:
    """Whether a scrap of each board takes all pieces, in time."""
    one_each = len(layout.sheets) == len({part.stock for part in made})
    return one_each and len(layout.placements) == len(made) and seconds <= QUICK_SECONDS


def _less(choice: _Choice) -> _Choice | None:
    """Return what is on the coupon with one thing less: corners shorter, then narrower, then without a piece."""
    corners = choice.corners
    for k in reversed(range(len(corners))):
        shorter = corners[k].shorter()
        if shorter is not None:
            return replace(choice, corners=(*corners[:k], shorter, *corners[k + 1 :]))
    # the corner that has most of its links gives two of them away, the last of several
    for k in sorted(range(len(corners)), key=lambda k: (-round(corners[k].share, 6), -k)):
        narrower = corners[k].narrower()
        if narrower is not None:
            return replace(choice, corners=(*corners[:k], narrower, *corners[k + 1 :]))
    return _without(choice)


def _without(choice: _Choice) -> _Choice | None:
    """Return the choice without the piece that tells least, None where only the ladder is left.

    A channel of the board's own thickness hardly depends on it, so that the joiner tells less than the comb; rarer
    bends tell less than frequent ones, and what bends most often tells most.
    """
    corners, told = choice.corners, choice.left_out
    if len(corners) > 2 or (len(corners) == 2 and not choice.comb):
        rarest = corners[-1]
        words = f"the corner like a bend of {rarest.kind.part}, {_bends_in_words(rarest.kind.bends)} in the building"
        return replace(choice, corners=corners[:-1], left_out=(*told, words))
    if choice.joiner is not None:
        return replace(choice, joiner=None, left_out=(*told, "the joiner with its two wall ends"))
    if choice.comb:
        return replace(choice, comb=False, left_out=(*told, "the comb of slats for the kerf"))
    if choice.tab is not None:
        return replace(choice, tab=None, left_out=(*told, "the tab with its slot"))
    if corners:
        return replace(choice, corners=(), left_out=(*told, f"the corner like a bend of {corners[0].kind.part}"))
    return None


def _bends_in_words(count: int) -> str:
    """Return how many bends there are, in words."""
    return f"{count} bend{'' if count == 1 else 's'}"


def _rungs(choice: _Choice, stock: Stock) -> tuple[Rung, ...]:
    """Return the corners of a stock as the readings know them."""
    return tuple(
        Rung(corner.id, corner.lattice(stock), False, f"as in {corner.kind.part}")
        for corner in choice.corners
        if corner.kind.stock == stock.name
    )


def _pieces(choice: _Choice, settings: BuildSettings, stocks: Mapping[str, Stock]) -> tuple[Part, ...]:
    walls = stocks[settings.walls.name]
    made = [_corner(corner, stocks[corner.kind.stock]) for corner in choice.corners]
    made.append(_ladder(plan_quick_coupon(walls, (), comb=False, ladder=True), walls))
    if choice.tab is not None:
        made += _tab_and_slot(choice.tab, settings, walls, stocks[settings.floor.name])
    if choice.joiner is not None:
        made += _joiner(choice.joiner, settings, walls, stocks[settings.joiners.name])
    if choice.comb:
        plan = plan_quick_coupon(walls, (), comb=True, ladder=False)
        size = (plan.pitch - plan.kerf, _SLAT_LENGTH)
        upright = math.pi / 2 if walls.grain is Grain.WIDTH else 0.0
        made += [
            slat(f"X{number}", f"slat {number}", walls, size, narrow_x=True, grain=upright)
            for number in range(1, plan.slats + 1)
        ]
    return tuple(made)


def _corner(corner: Corner, stock: Stock) -> Part:
    made = corner.lattice(stock)
    spot = LabelSpot((_LEG / 2, made.axis_length / 2), 0.0, _LEG - 10.0, 8.0)
    label = f"corner like a bend of {corner.kind.part}"
    grain = corner.kind.grain if stock.grain in (Grain.LENGTH, Grain.WIDTH) else None
    return bend_piece(corner.id, label, stock, made, leg=_LEG, spot=spot, grain=grain)


def _ladder(plan: CouponPlan, stock: Stock) -> Part:
    """Return the plate with open slots along its upper side; the number below a slot is its width as drawn."""
    wide = _SLOT_PITCH * len(plan.slots) + _LADDER_EDGE
    foot = _LADDER_FOOT + TEXT_HEIGHT_LEAST
    outline, engrave = box(0.0, 0.0, wide, foot + _SLOT_DEPTH), []
    for number, drawn in enumerate(plan.slots):
        middle = _LADDER_EDGE / 2 + _SLOT_PITCH * (number + 0.5)
        # what is drawn so wide comes out one kerf wider
        half = (drawn + plan.kerf) / 2
        outline = outline.difference(box(middle - half, foot, middle + half, foot + 2 * _SLOT_DEPTH))
        words = f"{drawn:.1f}"
        shift = np.array([middle - letter_width(words, TEXT_HEIGHT_LEAST) / 2, _LADDER_FOOT / 2])
        engrave += [frozen(stroke + shift) for stroke in letter(words, TEXT_HEIGHT_LEAST)]
    return piece("S", "ladder of slots", stock, outline, None, engrave=tuple(engrave))


def _tab_and_slot(tab: Tab, settings: BuildSettings, walls: Stock, floor: Stock) -> tuple[Part, Part]:
    """Return a stub of wall with a tab of the building, and a plate with its slot."""
    long, depth = _long(tab.tab), settings.floor.thickness - settings.ground.tab_short
    wide = long + 2 * _TAB_SHOULDER
    hanging = tab_outline((_TAB_SHOULDER, _TAB_SHOULDER + long), 0.0, depth)
    stub = Polygon([(0.0, 0.0), *hanging, (wide, 0.0), (wide, _TAB_HEIGHT), (0.0, _TAB_HEIGHT)])
    spot = LabelSpot((wide / 2, _TAB_HEIGHT / 2), 0.0, wide - 6.0, _TAB_HEIGHT - 6.0)
    slot = (_long(tab.slot), walls.thickness + tab.play[0])
    edge = _PLATE_EDGE
    plate = Polygon(
        box(0.0, 0.0, slot[0] + 2 * edge, slot[1] + 2 * edge).exterior,
        [box(edge, edge, edge + slot[0], edge + slot[1]).exterior],
    )
    return (
        piece("T", "wall with a tab", walls, stub, None, label_spot=spot),
        piece("P", "plate with a slot", floor, plate, None),
    )


def _long(rectangle: np.ndarray) -> float:
    """Return the length of a tab or slot along its wall, mm."""
    return float(np.linalg.norm(rectangle[1] - rectangle[0]))


def _joiner(joiner: Joiner, settings: BuildSettings, walls: Stock, boards: Stock) -> tuple[Part, ...]:
    """Return a low piece of a joiner, core and cheeks with one peg hole each, and the ends of two walls."""
    peg = settings.joiner.peg
    made = []
    for name, label, width in (
        ("K", "joiner core", joiner.core_width),
        ("A", "joiner cheek", joiner.cheek_width),
        ("B", "joiner cheek", joiner.cheek_width),
    ):
        holes = [Point(width / 2, _JOINER_HEIGHT / 2).buffer(peg / 2, quad_segs=8).exterior] if peg > 0.0 else []
        outline = Polygon(box(0.0, 0.0, width, _JOINER_HEIGHT).exterior, holes)
        spot = LabelSpot((width / 2, _JOINER_HEIGHT / 4), 0.0, width - 4.0, _JOINER_HEIGHT / 2 - peg - 2.0)
        made.append(piece(name, label, boards, outline, None, label_spot=spot))
    for name in ("E1", "E2"):
        spot = LabelSpot((_STUB / 2, _JOINER_HEIGHT / 2), 0.0, _STUB - 6.0, 6.0)
        made.append(piece(name, "wall end", walls, box(0.0, 0.0, _STUB, _JOINER_HEIGHT), None, label_spot=spot))
    return tuple(made)
