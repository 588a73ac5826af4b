"""The order of cutting: a coupon, then the sheets by their numbers, and why in this order."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..durations import minutes
from ..part import Part, PartKind
from ..sheet.layout import layout_cost, sheet_cost
from .markup import bold, bold_list, joined, length, name, table, text
from .report import stocks_used

if TYPE_CHECKING:
    from ..outcome import Outcome
    from ..sheet.layout import Sheet

__all__ = ["order_section", "what_lies_on"]

#: What kinds of parts are called where several lie on a sheet, in the order in which they are cut.
_KINDS: tuple[tuple[str, tuple[PartKind, ...]], ...] = (
    ("walls", (PartKind.WALL,)),
    ("panels", (PartKind.PANEL,)),
    ("joiners", (PartKind.CORE, PartKind.CHEEK)),
    ("floor", (PartKind.FLOOR,)),
    ("tiles and inlay of the floor", (PartKind.TILE, PartKind.DARK_TILE)),
    ("roof", (PartKind.ROOF,)),
    ("dormers, chimneys, porches", (PartKind.UPSTAND,)),
    ("what is glued under the roof", (PartKind.STOP, PartKind.LAP, PartKind.CARRIER)),
    ("caps of the roof", (PartKind.CAP,)),
    ("trim", (PartKind.TRIM,)),
    ("signboards that hang", (PartKind.SIGN,)),
    ("props for doors and shutters", (PartKind.PROP,)),
    ("carrying case", (PartKind.CASE,)),
)


def what_lies_on(outcome: Outcome, index: int) -> tuple[str, ...]:
    """Return the kinds of parts on a sheet, in the order in which they are cut."""
    here = {placement.part for placement in outcome.layout.placements if placement.sheet == index}
    kinds = {part.kind for part in outcome.pieces if part.id in here}
    return tuple(word for word, named in _KINDS if kinds & set(named))


def order_section(outcome: Outcome) -> str:
    """Return the markup that says in which order to cut, empty where nothing lies on sheets."""
    sheets = outcome.layout.sheets
    if not sheets:
        return ""
    columns = {
        "": [f"{number}." for number in range(1, len(sheets) + 1)],
        "File": [f'<b class="file">{text(sheet.file)}</b>' for sheet in sheets],
        "Board": [_board(sheet) for sheet in sheets],
        "Holds": [text(joined(what_lies_on(outcome, index))) for index in range(len(sheets))],
    }
    if len({sheet.laser.name for sheet in sheets}) > 1:
        columns["Laser"] = [name(sheet.laser.label) for sheet in sheets]
    columns["Time"] = [minutes(seconds["total"]) for seconds in outcome.sheet_seconds]
    costs = [sheet_cost(sheet) for sheet in sheets]
    if any(cost is not None for cost in costs):
        columns["Board costs"] = ["" if cost is None else f"{cost:.2f}" for cost in costs]
    numbers = [k for k, head in enumerate(columns) if head in ("", "Time", "Board costs")]
    return f"""<h3>In which order</h3>
<p class="ahead">{_coupon(outcome)} Then cut the sheets by their numbers:</p>
{table(tuple(columns), list(zip(*columns.values(), strict=True)), numbers=numbers)}
{_cost(outcome)}<p>{_why(outcome)}</p>{_left_out(outcome)}"""


def _board(sheet: Sheet) -> str:
    """Name the board that lies on the laser, and say where it is not a whole sheet out of the packet."""
    if not sheet.offcut:
        return name(sheet.stock.label)
    return f"{name(sheet.stock.label)}, an offcut of {length(sheet.size[0])} × {length(sheet.size[1])} mm"


def _cost(outcome: Outcome) -> str:
    """Say what all boards cost, as far as their prices are known; nothing where none is."""
    cost, lacking = layout_cost(outcome.layout)
    if cost is None:
        return ""
    without = f" {joined([name(label) for label in lacking])} not counted: no price is known." if lacking else ""
    return f"<p>All boards together cost {cost:.2f} by the prices that you entered.{without}</p>\n"


def _left_out(outcome: Outcome) -> str:
    laid = {placement.part for placement in outcome.layout.placements}
    out = [bold(part.id) for part in outcome.pieces if part.id not in laid]
    if not out:
        return ""
    return f"\n<p>On no sheet: {joined(out)}. The last chapter says why and what to do.</p>"


def _coupon(outcome: Outcome) -> str:
    untested = [stock for stock in stocks_used(outcome.settings, outcome.pieces) if not stock.calibration]
    if not untested:
        return (
            "Your boards were measured with a coupon; cut a new one when a new batch comes in or when the laser was"
            " cleaned, focused or set otherwise."
        )
    one = untested[0]
    labels = joined([name(stock.label) for stock in untested])
    each, whose = ("a coupon", "its") if len(untested) == 1 else ("a coupon each", "their")
    return (
        f"First of all cut {each} of {labels}: {whose} values are still from the catalogue. In the sidebar choose"
        f" Stock, Cut Coupon, or type <code>stowfold coupon {text(one.name)} -o coupon</code>; it comes with a page to"
        " fill in. Enter the readings, apply them, and write these files again."
    )


def _why(outcome: Outcome) -> str:
    kinds = {part.kind for part in outcome.pieces}
    floors = [part for part in outcome.pieces if part.kind is PartKind.FLOOR]
    if not floors:
        return "On every sheet the parts follow one another in the same order; the file keeps it."
    first = "walls and joiners" if PartKind.CORE in kinds else "walls"
    written = f"The {first} come first, since the floor can be made again from what they measure when they stand."
    shared = _shared(outcome, floors)
    return written + (f" {shared}" if shared else "")


def _shared(outcome: Outcome, floors: Sequence[Part]) -> str:
    """Say what to do about floors that lie on a sheet with walls, so that they need not be cut in vain."""
    sheet_of = {placement.part: placement.sheet for placement in outcome.layout.placements}
    early = {
        sheet_of[part.id]
        for part in outcome.pieces
        if part.kind in (PartKind.WALL, PartKind.CORE, PartKind.CHEEK) and part.id in sheet_of
    }
    both = [part for part in floors if sheet_of.get(part.id) in early]
    if not both:
        return ""
    ids = bold_list([part.id for part in both])
    board = length(both[0].thickness)
    groups = joined([f"<code>{text(both[0].id)}-{operation}</code>" for operation in ("engrave", "inner", "outer")])
    return (
        f"To save board {ids} lies on a sheet with walls; its lines come after theirs. If you are not sure of your"
        f" {board} mm board yet, leave the lines named {ids} out and cut them when the walls are up: in every"
        f" group of the file they are a group of their own ({groups}), which you switch off in your laser's program."
    )
