"""The coupon's paper: a page to print, take to the laser and fill in, and its delivery with the cut files."""

from __future__ import annotations

from pathlib import Path

from ..board.stock import Stock
from ..files import file_word, replace_files, seal
from ..findings import Finding, Severity
from ..part import Part
from ..sheet.coupon import Coupon
from ..sheet.svg import draw_sheet
from .coupon_form import FITS, blank, cautions, identity, thickness
from .markup import length, name, plural, table, text
from .page import page
from .pictures import draw_part, picture_scale
from .pictures import draw_sheet as picture_sheet

__all__ = ["coupon_files", "deliver_coupon", "render_coupon_sheet"]


def coupon_files(coupon: Coupon, stock: Stock) -> tuple[str, ...]:
    """Return the names of the files that ``deliver_coupon`` writes."""
    return (*(sheet.file for sheet in coupon.layout.sheets), f"coupon-{file_word(stock.name, 'stock')}.html")


def deliver_coupon(coupon: Coupon, stock: Stock, folder: Path, *, date: str = "") -> tuple[Path, ...]:
    """Write the coupon's sheets as SVG and the page to fill in, whole or not at all; return the files written.

    Raises UnreadableError where the folder cannot be written.
    """
    parts = {part.id: part for part in coupon.parts}
    files = {
        sheet.file: seal(draw_sheet(coupon.layout, index, parts, title=f"Coupon of {stock.label}", date=date))
        for index, sheet in enumerate(coupon.layout.sheets)
    }
    word = file_word(stock.name, "stock")
    files[f"coupon-{word}.html"] = render_coupon_sheet(coupon, stock, date=date)
    return replace_files(folder, files, obsolete=[f"coupon-{word}-[0-9].svg"])


def render_coupon_sheet(coupon: Coupon, stock: Stock, *, date: str = "") -> str:
    """Return the page to fill in as the text of one HTML page. date: printed under the title when given."""
    dated = f'<p class="date">{text(date)}</p>\n' if date else ""
    header = (
        f"<h1>Coupon of {name(stock.label)}</h1>\n{dated}"
        '<p class="lead">Test pieces that tell how your board and your laser really are. Cut them once for each batch'
        " of board, fill in what you can, and put the readings into Stowfold: sidebar, Stock, Readings. What you leave"
        " out keeps its present value.</p>"
    )
    chapters = [
        ("Before you switch the laser on", cautions()),
        ("Cut", _cut(coupon, stock)),
        ("Which board, which laser", identity()),
        ("Thickness", thickness()),
        ("Kerf", _kerf(coupon)),
        ("Fits", _fits(coupon)),
        ("Stiffness", _stiffness(coupon)),
        ("Strength", _strength(coupon)),
        ("The hinges", _hinges(coupon)),
    ]
    return page(f"Coupon of {stock.label}", header, chapters)


def _cut(coupon: Coupon, stock: Stock) -> str:
    pictures = "\n".join(
        f"<figure>{picture_sheet(coupon.layout, index, coupon.parts)}<figcaption>{text(sheet.file)}:"
        f" {length(sheet.size[0])} × {length(sheet.size[1])} mm</figcaption></figure>"
        for index, sheet in enumerate(coupon.layout.sheets)
    )
    grain = "" if stock.grain.value == "none" else " Lay the sheet so that its grain runs as the stock says."
    return (
        f"<p>{plural(len(coupon.parts), 'piece')}, drawn for {length(stock.thickness, 2)} mm of thickness and a kerf of"
        f" {length(stock.kerf, 3)} mm. Use the speed and power that you will use for buildings.{grain} Slats and hinges"
        " are small: let nothing fall through the bed while the head moves.</p>\n"
        f"{_remarks(coupon.findings)}"
        f'<div class="sheets">{pictures}</div>'
    )


def _remarks(findings: tuple[Finding, ...]) -> str:
    told = [
        finding
        for finding in findings
        if finding.severity is not Severity.NOTE or finding.code == "sheet-larger-than-bed"
    ]
    if not told:
        return ""
    rows = "".join(
        f'<li><span class="weight">{text(finding.severity)}:</span> {text(finding.message)}.</li>\n' for finding in told
    )
    return f'<ul class="findings">{rows}</ul>\n'


def _kerf(coupon: Coupon) -> str:
    plan = coupon.plan
    return (
        f"<p>Lay the slats X1 to X{plan.slats} side by side in the order of their numbers, same face up, push them"
        " together without force and measure the stack across all of them; then the slats Y. Measure each stack three"
        f" times, lifting the calliper in between. {plan.slats} × {length(plan.pitch)} = "
        f"{length(plan.slats * plan.pitch)} mm were drawn; what is missing is {plan.slats} times the kerf.</p>\n"
        + table(
            ("Stack, mm", "first", "second", "third", "slats, if one is lost"),
            [(f"slats {axis}", *(blank(22) for _ in range(4))) for axis in "XY"],
        )
    )


def _fits(coupon: Coupon) -> str:
    plan = coupon.plan
    return (
        f"<p>Try the end of piece T in the slots of the ladder S, from {plan.slots[-1]:.2f} down. The number beside a"
        " slot is the width that was drawn. Wipe off soot first.</p>\n"
        + table(
            ("Fit", "Slot", "Number", "again"),
            [(f"<b>{fit.value}</b>", words, blank(18), blank(18)) for fit, words in FITS.items()],
        )
    )


def _stiffness(coupon: Coupon) -> str:
    arm = length(coupon.plan.arm)
    return (
        "<p>Clamp one leg of a hinge level at the edge of the table, up to the first row of slits, the lattice and the"
        f" other leg free. Hang weights on a string through the hole, {arm} mm from the middle of the lattice, and read"
        " how many degrees the free leg hangs below level. First without any weight: the leg itself weighs something."
        " Stay below 60 degrees, and well below the angle at which slits close. Two or more hinges are better than"
        " one.</p>\n"
        + table(
            ("Hinge", "Mass, g", "Arm, mm", "Angle, degrees"),
            [
                (blank(18), "0" if number % 3 == 0 else blank(22), f"{arm} or {blank(14)}", blank(22))
                for number in range(6)
            ],
        )
    )


def _strength(coupon: Coupon) -> str:
    return (
        "<p>Bend a hinge slowly over its whole length until something gives, and read the angle between the legs'"
        " directions (0 is flat). Say what broke first: a link (a strip between two rows, twisted apart) or a bridge"
        " (the web between two slits in line). Leave out those that reach 150 degrees whole. Break three or more that"
        " are alike, and those with wide openings first: where slits close before anything breaks, the reading tells"
        " less.</p>\n"
        + table(
            ("Hinge", "Slits closed at, degrees", "Broke at, degrees", "Link or bridge"),
            [tuple(blank(28) for _ in range(4)) for _ in range(6)],
        )
    )


def _hinges(coupon: Coupon) -> str:
    rows = [
        (
            f"<b>{rung.id}</b>",
            text(rung.differs),
            length(rung.lattice.link_width, 2),
            length(rung.lattice.opening, 2),
            length(rung.lattice.slit),
            length(rung.lattice.bridge),
            str(rung.lattice.rows),
        )
        for rung in coupon.plan.rungs
    ]
    heads = ("Piece", "Differs by", "Link, mm", "Opening, mm", "Slit, mm", "Bridge, mm", "Rows")
    shown: list[Part] = [part for part in coupon.parts if part.lattices][:1]
    scale = picture_scale([part.size for part in shown])
    figures = "".join(
        f"<figure>{draw_part(part, scale=scale)}<figcaption>{text(part.id)}: clamp one leg, hang the weight in the"
        " hole of the other</figcaption></figure>"
        for part in shown
    )
    return table(heads, rows, numbers=(2, 3, 4, 5, 6)) + f'\n<div class="pictures">{figures}</div>'
