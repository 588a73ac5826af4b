"""The cut list: by stock, what is cut from which sheet, in what order, and how long it takes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ..board.stock import Stock
from ..flat.part import FaceUp, Part
from .markup import length, minutes, name, plural, table, text
from .pictures import draw_part, draw_sheet, picture_scale
from .report import stocks_used

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["cut_section", "parts_section"]

_FACES = {FaceUp.OUTSIDE: "outside", FaceUp.ROOM: "room side"}


def cut_section(outcome: Outcome) -> str:
    """Return the markup of the cut list with its sheet pictures."""
    if not outcome.pieces:
        return "<p>There is nothing to cut.</p>"
    written = [
        "<p>Measure each board in several places first. If it differs from the thickness below, put the measured"
        " value into"
        " the stock and write the files again; bends and slots depend on it.</p>",
        "<p>On each sheet cut in this order: engraving, scores, slits, inner lines, outer lines; each has its own"
        " stroke"
        " colour in the file.</p>",
    ]
    if any(part.stage == 2 for part in outcome.pieces):
        written.append(
            "<p>Cut the floor after the walls and joiners: if the standing walls measure a little long or short, the"
            " floor"
            " can be made again from their measured size.</p>"
        )
    written += [_stock(outcome, stock) for stock in stocks_used(outcome.settings, outcome.pieces)]
    fewest, why = outcome.layout.bound
    if outcome.layout.sheets:
        written.append(f"<p>Fewest sheets that any layout could do with: {fewest}. {text(why)}.</p>")
    written.append(_laser_time(outcome))
    return "\n".join(written)


def parts_section(outcome: Outcome) -> str:
    """Return the markup with a picture of every part, all to one scale."""
    if not outcome.pieces:
        return "<p>There are no parts.</p>"
    scale = picture_scale([part.size for part in outcome.pieces])
    figures = "\n".join(
        f"<figure>{draw_part(part, scale=scale)}<figcaption><b>{text(part.id)}</b> {name(part.label)}:"
        f" {length(part.size[0])} × {length(part.size[1])} mm, {_FACES[part.face_up]} up."
        f" {_bends(part)}</figcaption></figure>"
        for part in outcome.pieces
    )
    size = "true size on A4" if scale == 1.0 else f"1 : {length(1 / scale, 2)} on A4"
    return (
        f"<p>Seen as they lie on the laser, {size}. The pictures are for recognising parts; measure in the cut"
        f" files.</p>\n"
        f'<div class="pictures">\n{figures}\n</div>'
    )


def _stock(outcome: Outcome, stock: Stock) -> str:
    sheets = [index for index, sheet in enumerate(outcome.layout.sheets) if sheet.stock.name == stock.name]
    own = [part for part in outcome.pieces if part.stock == stock.name]
    values = f"measured: {text(stock.calibration)}" if stock.calibration else "catalogue values: cut a coupon first"
    files = {each.part: outcome.layout.sheets[each.sheet].file for each in outcome.layout.placements}
    rows = [
        (
            f"<b>{text(part.id)}</b>",
            name(part.label),
            f"{length(part.size[0])} × {length(part.size[1])}",
            _FACES[part.face_up],
            text(files.get(part.id, "not laid out")),
        )
        for part in own
    ]
    pictures = "\n".join(
        f"<figure>{draw_sheet(outcome.layout, index, outcome.pieces)}<figcaption>{text(sheet.file)}:"
        f" {length(sheet.size[0])} × {length(sheet.size[1])} mm, {sheet.used_share:.0%} used</figcaption></figure>"
        for index, sheet in ((index, outcome.layout.sheets[index]) for index in sheets)
    )
    return (
        f"<h3>{name(stock.label)}</h3>\n<p>{length(stock.thickness, 2)} mm thick, drawn for a kerf of"
        f" {length(stock.kerf, 2)} mm, sheets of {length(stock.sheet[0])} × {length(stock.sheet[1])} mm;"
        f" {plural(len(own), 'part')} on {plural(len(sheets), 'sheet')}; {values}.</p>\n"
        f"{table(('Id', 'Part', 'Size, mm', 'Face up', 'Sheet'), rows)}\n"
        f'<div class="sheets">{pictures}</div>'
    )


def _laser_time(outcome: Outcome) -> str:
    if not outcome.seconds:
        return ""
    single = {what: seconds for what, seconds in outcome.seconds.items() if what != "total"}
    rows = [(text(what), minutes(seconds)) for what, seconds in single.items()]
    total = outcome.seconds.get("total", math.fsum(single.values()))
    rows.append(("<b>all together</b>", f"<b>{minutes(total)}</b>"))
    feeds = "<h3>Laser time, estimated from the feeds in your laser's settings</h3>\n"
    return feeds + table(("Operation", "Time"), rows, numbers=(1,))


def _bends(part: Part) -> str:
    words = [
        f"of {abs(math.degrees(placed.angle or placed.swing)):.0f}°: {placed.lattice.rows} rows of slits,"
        f" {length(placed.lattice.flat_width)} mm wide in the flat, inside radius"
        f" {length(placed.lattice.inside_radius)} mm."
        for placed in part.lattices
    ]
    return " ".join(f"{plural(words.count(each), 'bend')} {each}" for each in dict.fromkeys(words))
