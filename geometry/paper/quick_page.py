"""The quick coupon's paper: a page to fill in that says what every reading leads to, and its files."""

from __future__ import annotations

import math
from pathlib import Path

from ..board.lattice import STRENGTH
from ..board.stock import Stock
from ..durations import minutes
from ..files import replace_files, seal
from ..fit.clearances import LatticeCloses, LatticeHolds
from ..outcome import Outcome
from ..sheet.quick_corners import Corner
from ..sheet.quick_coupon import QUICK_SIZE, QuickCoupon, lay_out_quick_coupon
from ..sheet.svg import draw_sheet
from .coupon_form import FITS, blank, cautions, identity, thickness
from .markup import bold, joined, length, name, plural, table, text
from .page import page
from .pictures import draw_sheet as picture_sheet

__all__ = ["deliver_quick_coupon", "make_quick_coupon", "quick_coupon_files", "render_quick_page"]

_PAGE = "quick-coupon.html"

#: A bend read to be further than this is as good as one that never closes, degrees: nobody bends a corner further.
_NEVER = 150.0

#: A core is thickened with card where the channel lacks more than this, mm.
_NO_CARD = 0.05


def make_quick_coupon(outcome: Outcome) -> QuickCoupon:
    """Return the quick coupon of a building. Raises as ``lay_out_quick_coupon`` does."""
    made = outcome.settings.as_cut
    return lay_out_quick_coupon(outcome.parts, outcome.joiners, outcome.tabs, made, outcome.settings.laser)


def quick_coupon_files(coupon: QuickCoupon, outcome: Outcome, *, date: str = "") -> dict[str, str]:
    """Return the text of the scraps to cut and of the page, by the names of their files."""
    parts = {part.id: part for part in coupon.parts}
    title = f"Quick coupon of {outcome.title}"
    files = {
        sheet.file: seal(draw_sheet(coupon.layout, index, parts, title=title, date=date))
        for index, sheet in enumerate(coupon.layout.sheets)
    }
    files[_PAGE] = render_quick_page(coupon, outcome, date=date)
    return files


def deliver_quick_coupon(coupon: QuickCoupon, outcome: Outcome, folder: Path, *, date: str = "") -> tuple[Path, ...]:
    """Write the scraps as SVG and the page, whole or not at all; return the files written.

    Raises UnreadableError where the folder cannot be written.
    """
    return replace_files(folder, quick_coupon_files(coupon, outcome, date=date), obsolete=["quick-coupon-*.svg"])


def render_quick_page(coupon: QuickCoupon, outcome: Outcome, *, date: str = "") -> str:
    """Return the page to fill in as the text of one HTML page. date: printed under the title when given."""
    dated = f'<p class="date">{text(date)}</p>\n' if date else ""
    scraps = plural(len(coupon.layout.sheets), "scrap")
    header = (
        f"<h1>Quick coupon of {name(outcome.title)}</h1>\n{dated}"
        f'<p class="lead">A test-fit of this building before its sheets are cut: <b>{minutes(coupon.seconds)} of'
        f" laser</b>, {scraps} of {length(QUICK_SIZE[0])} × {length(QUICK_SIZE[1])} mm, a quarter of an hour at the"
        " bench. Put the readings into Stowfold: sidebar, Stock, Readings. What you leave out keeps its present"
        " value.</p>"
    )
    walls = outcome.settings.as_cut.walls
    chapters = [
        ("Before you switch the laser on", cautions()),
        ("Cut", _cut(coupon, outcome)),
        ("Which board, which laser", identity()),
        ("Thickness", thickness() + _leads(_OF_THICKNESS)),
        *((("Kerf", _kerf(coupon, walls)),) if coupon.plans[walls.name].slats else ()),
        ("Fits", _fits(coupon, walls)),
        *((("Tab and slot", _tab(coupon)),) if coupon.tab is not None else ()),
        *((("Joiner", _joiner(coupon, outcome)),) if coupon.joiner is not None else ()),
        *((("Corners", _corners(coupon, outcome)),) if coupon.corners else ()),
    ]
    return page(f"Quick coupon of {outcome.title}", header, chapters)


_OF_THICKNESS = "slots, tabs, stops and cheeks are drawn for your board, and play shrinks to what one sheet varies by"


def _leads(words: str) -> str:
    """Say what a reading leads to."""
    return f'\n<p class="small"><b>Leads to:</b> {words}.</p>'


def _cut(coupon: QuickCoupon, outcome: Outcome) -> str:
    pictures = "\n".join(
        f"<figure>{picture_sheet(coupon.layout, index, coupon.parts)}<figcaption>{text(sheet.file)}:"
        f" {name(sheet.stock.label)}, kerf {length(sheet.stock.kerf, 3)} mm</figcaption></figure>"
        for index, sheet in enumerate(coupon.layout.sheets)
    )
    out = f"<p>No room or time was left for {text(joined(coupon.left_out))}.</p>\n" if coupon.left_out else ""
    share = outcome.fit.share
    told = (
        f" With nothing measured, {100 * share:.1f} of 100 builds of this building go together by calculation."
        if share is not None and not outcome.settings.as_cut.walls.measured
        else ""
    )
    return (
        "<p>Cut it at the speed and power of the building, from the same boards: its corners, slots and joiner have"
        f" the building's own sizes.{told} For strength that you can build on, break three hinges or more: that is what"
        " the large coupon is for (Stock, Cut Coupon).</p>\n"
        f'{out}<div class="sheets">{pictures}</div>'
    )


def _kerf(coupon: QuickCoupon, walls: Stock) -> str:
    plan = coupon.plans[walls.name]
    drawn = plan.slats * plan.pitch
    return (
        f"<p>Push the slats X1 to X{plan.slats} together in their order, same face up, and measure the stack: "
        f"{length(drawn)} mm were drawn; what is missing is {plan.slats} times the kerf.</p>\n"
        + table(("Stack, mm", "first", "second", "third"), [("slats X", *(blank(22) for _ in range(3)))])
        + _leads(
            f"lines are moved by the true kerf. {length(drawn - plan.slats * plan.kerf, 2)} mm is what was drawn for; "
            f"{length(0.05 * plan.slats, 2)} mm more or less is a kerf off by 0.05, the usual drift of a day"
        )
    )


def _fits(coupon: QuickCoupon, walls: Stock) -> str:
    slots = coupon.plans[walls.name].slots
    piece = "T" if coupon.tab is not None else "another piece"
    return (
        f"<p>Try an edge of {piece} in the open slots of the ladder S, from {slots[-1]:.1f} down. The number below a"
        " slot is the width that was drawn.</p>\n"
        + table(
            ("Fit", "Slot", "Number"),
            [(f"<b>{fit.value}</b>", words, blank(18)) for fit, words in FITS.items()],
        )
        + _leads(
            "the <b>slide</b> fit becomes the play of all slots in the floor and of rings over fins; board, kerf and"
            " taper are all in it"
        )
    )


def _tab(coupon: QuickCoupon) -> str:
    assert coupon.tab is not None
    across, along = coupon.tab.play
    rows = [
        ("drops in and out by itself, leans little", "well", "nothing to change"),
        ("has to be forced", "tight", "enter the slide fit above: all slots follow it"),
        ("leans over more than a board's thickness", "loose", "enter the slide fit above; card in the slot saves one"),
    ]
    return (
        f"<p>T has a tab of the walls, P its slot, {length(across, 2)} mm wider and {length(along, 2)} mm longer than"
        " the tab. Break the slot's upper edges with sandpaper, as you will on the floor.</p>\n"
        + table(("The tab", "", "Leads to", ""), [(text(a), text(b), text(c), blank(10)) for a, b, c in rows])
    )


def _joiner(coupon: QuickCoupon, outcome: Outcome) -> str:
    joiner = coupon.joiner
    assert joiner is not None
    paint = outcome.settings.joiner.painted_faces
    card = (
        f"thicken the core K with card, {length(joiner.shim, 2)} mm in all, as for the building; "
        if joiner.shim > _NO_CARD
        else ""
    )
    painted = "Paint both faces of the wall ends first, as you will paint the walls. " if paint else ""
    pegs = "put a toothpick through the three holes, " if outcome.settings.joiner.peg > 0.0 else ""
    rows = [
        ("both slide in by hand and stay", "nothing to change"),
        ("bind", "one layer of card more, or a larger Slide in the joiner's settings (Bends, Joiners)"),
        ("rattle, or the walls kink", "one layer of card less, or a smaller Slide"),
        (
            "toothpick does not pass",
            f"a larger Peg hole than {length(outcome.settings.joiner.peg, 1)} mm, or thinner pegs",
        ),
    ]
    return (
        f"<p>{painted}Do not glue: {card}lay it between the cheeks A and B, {pegs}pinch, and slide the wall ends E1 and"
        f" E2 in from both sides, {length(joiner.engaged)} mm deep.</p>\n"
        + table(("The wall ends", "Leads to", ""), [(text(a), text(b), blank(10)) for a, b in rows])
    )


def _corners(coupon: QuickCoupon, outcome: Outcome) -> str:
    stocks = outcome.settings.as_cut.stocks
    rows = [_corner_row(corner, stocks[corner.kind.stock]) for corner in coupon.corners]
    heads = ("Piece", "As in", "Rows", "Bends to", "Closes at", "closed", "Bears about", "broke", "Link, bridge")
    other = sorted({corner.kind.stock for corner in coupon.corners} - {outcome.settings.walls.name})
    where = (
        f" Enter what belongs to {joined([name(stocks[stock].label) for stock in other])} beside that board."
        if other
        else ""
    )
    return (
        "<p>Bend each corner slowly over its whole length, the face that lay up outward. It has the building's cell of"
        " link, opening, bridge and slit; where it has fewer rows than the building, all its angles are less in the"
        " same share. <b>Bends to</b>: what the building asks of it, in degrees. <b>Closes at</b>: where its slits"
        " touch, from narrow kerf and thick board to wide kerf and thin board. Then bend on until something gives."
        f"{where}</p>\n"
        + table(heads, rows, numbers=(2, 3, 4, 6))
        + _leads(
            "<b>closed</b> before <b>bends to</b>: the kerf is narrower or the board thicker than drawn; enter both,"
            " and the bend gets more or wider slits. <b>broke</b>, entered with what broke: the board's limits follow,"
            " and with them the rows of every bend; one piece is a hint, three or more of the large coupon a strength"
        )
    )


def _corner_row(corner: Corner, stock: Stock) -> tuple[str, ...]:
    made, kind = corner.lattice(stock), corner.kind
    closes = LatticeCloses((corner.id,), made, stock.name)
    least, most = (math.degrees(made.angle) * (1.0 + end) for end in closes.ends({stock.name: stock}))
    bears = math.degrees(made.angle) * (1.0 + LatticeHolds((corner.id,), made, stock).nominal())
    rows = f"{made.rows}" if corner.share == 1.0 else f"{made.rows} of {kind.lattice.rows}"
    closing = "never" if least > _NEVER else f"{least:.0f} to {'never' if most > _NEVER else f'{most:.0f}'}"
    return (
        bold(corner.id),
        f"{text(kind.part)}, {plural(kind.bends, 'bend')}",
        rows,
        f"{math.degrees(made.angle):.0f}",
        closing,
        blank(12),
        f"{min(bears, STRENGTH * _NEVER):.0f}",
        blank(12),
        blank(14),
    )
