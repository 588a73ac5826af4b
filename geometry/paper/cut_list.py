"""The cut list: in what order, by stock what is cut from which sheet, every part, and how long it takes."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from ..beam.laser import Laser, Operation
from ..board.stock import Stock
from ..durations import minutes
from ..part import FaceUp, Part, PartKind
from ..sheet.alike import counted_names
from ..tolerance import LENGTH
from .cutting_order import order_section
from .markup import bold, bold_list, joined, length, name, plural, table, text
from .pictures import draw_part, draw_sheet, numbered_parts, picture_scale
from .report import stocks_used
from .turning import anchor_of
from .work_order import checklist

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["cut_section", "parts_section"]

_FACES = {FaceUp.OUTSIDE: "outside", FaceUp.ROOM: "room side"}

#: Kinds of parts whose outside is seen when the building stands.
_SEEN = (PartKind.WALL, PartKind.ROOF, PartKind.PANEL, PartKind.CHEEK)

#: Pictures of sheets stand two beside one another: share of the page's width.
_BESIDE = 0.485

#: Pictures for recognising parts: share of the page's width that the largest one takes.
_RECOGNISED = 0.485

#: What every operation does to the board, and how times that are no operation are called.
_OPERATIONS = {
    Operation.FILL: ("fill", "darkens fields by hatching; not through"),
    Operation.ENGRAVE: ("engrave", "marks the face: ids, squares, arrows; not through"),
    Operation.SCORE: ("score", "a line part of the way through"),
    Operation.SLITS: ("slits", "the slits of lattices, right through"),
    Operation.INNER: ("inner", "holes, slots, windows and doors, right through"),
    Operation.OUTER: ("outer", "outlines, right through; the part is then free"),
}
_TIMES = {operation.value: words[0] for operation, words in _OPERATIONS.items()} | {"travel": "moves between the lines"}


def cut_section(outcome: Outcome) -> str:
    """Return the markup of the cut list with its sheet pictures."""
    if not outcome.pieces:
        return "<p>There is nothing to cut.</p>"
    written = [
        "<p>Measure each board in several places first. If it differs from the thickness below, put the measured"
        " value into the stock and write the files again; bends and slots depend on it.</p>",
        order_section(outcome),
        _operations(outcome),
        _near_lines(outcome),
        "<h3>Against scorch</h3>\n<p>Cover the face that lies up with low-tack paper tape, edge to edge and without"
        " bubbles, and the face below too if your bed reflects: smoke then settles on the tape. Engraving goes through"
        " it; try its power on the coupon. Peel it off slowly, across lattices in the direction of their slits. Do not"
        " cover with plastic film or vinyl tape.</p>",
    ]
    written += [_stock(outcome, stock) for stock in stocks_used(outcome.settings, outcome.pieces)]
    written += [_face_and_grain(outcome), checklist(outcome)]
    return "\n".join(section for section in written if section)


def bound_section(outcome: Outcome) -> str:
    """Return the markup on how few sheets any layout could do with, why, and laser times; empty without sheets."""
    fewest, why = outcome.layout.bound
    if not outcome.layout.sheets:
        return ""
    return f"<p>Fewest sheets that any layout could do with: {fewest}. {text(why)}.</p>\n{_laser_time(outcome)}"


def _face_and_grain(outcome: Outcome) -> str:
    """Say which side of the board lies up, and which way its grain runs."""
    names = {face: list(counted_names([p for p in outcome.parts if p.face_up is face])) for face in FaceUp}
    turned = [
        called
        for called, alike in counted_names(outcome.parts).items()
        if alike[0].score and alike[0].face_up is FaceUp.ROOM and alike[0].kind in _SEEN
    ]
    listed = "; ".join(f"{_FACES[face]} up: {bold_list(several)}" for face, several in names.items() if several)
    down = (
        f" The outside of {bold_list(turned)} lies down, so that the places for glue"
        " can be scored inside: tape that face too."
        if turned
        else ""
    )
    return (
        f"<h3>Which side up, and which way the grain</h3>\n<p>Parts are drawn as they lie: {listed}.{down} The arrow in"
        " the lower margin of every sheet shows the way of the grain; of plywood, that of its faces. Lay the board so."
        "</p>"
    )


def parts_section(outcome: Outcome) -> str:
    """Return the markup with a picture of every part, all to one scale."""
    if not outcome.pieces:
        return "<p>There are no parts.</p>"
    scale = picture_scale([part.size for part in outcome.pieces], share=_RECOGNISED)
    case = [part for part in outcome.pieces if part.kind is PartKind.CASE]
    figures = _figures([part for part in outcome.pieces if part.kind is not PartKind.CASE], scale)
    if case:
        # boards of a case are plain: smaller pictures save pages
        figures += (
            f'\n<h3>The carrying case</h3>\n<p class="ahead">At half that scale.</p>\n{_figures(case, scale / 2)}'
        )
    size = "true size on A4" if scale == 1.0 else f"1 : {length(1 / scale, 2)} on A4"
    return (
        f"<p>Seen as they lie on the laser, {size}. The pictures are for recognising parts; measure in the cut"
        f" files.</p>\n{figures}"
    )


def _figures(parts: Sequence[Part], scale: float) -> str:
    figures = "\n".join(_figure(alike, scale) for alike in counted_names(parts).values())
    return f'<div class="pictures">\n{figures}\n</div>'


def _figure(alike: Sequence[Part], scale: float) -> str:
    """Draw one of the parts that are cut alike; links to any of them lead here."""
    part = alike[0]
    anchors = "".join(f'<span id="{text(anchor_of(part.id))}"></span>' for part in alike[1:])
    count = f", {len(alike)} of them" if len(alike) > 1 else ""
    return (
        f'<figure id="{text(anchor_of(part.id))}">{draw_part(part, scale=scale)}<figcaption>{anchors}'
        f"{bold(part.name)}{count}: {_label(alike)},"
        f" {length(part.size[0])} × {length(part.size[1])} mm, {_FACES[part.face_up]} up."
        f" {_bends(part)}</figcaption></figure>"
    )


def _operations(outcome: Outcome) -> str:
    """Say what each group of lines in the files does and which colour it has, per laser."""
    lasers: dict[str, Laser] = {sheet.laser.name: sheet.laser for sheet in outcome.layout.sheets}
    if not lasers:
        return ""
    rows = []
    for number, (operation, (word, does)) in enumerate(_OPERATIONS.items(), start=1):
        colours = [f"{_swatch(laser.colours[operation])} {text(laser.colours[operation])}" for laser in lasers.values()]
        rows.append((f"{number}.", bold(word), text(does), *colours))
    colour = ("Colour",) if len(lasers) == 1 else tuple(name(laser.label) for laser in lasers.values())
    return (
        f"<p>The lines of a sheet come in {len(_OPERATIONS)} groups, each with a stroke colour of its own. Give each"
        " colour its power and speed in your laser's program and keep this order: a part that still hangs in its sheet"
        " lies flat.</p>"
        f"\n{table(('', 'Group', 'What it does', *colour), rows)}"
    )


def _near_lines(outcome: Outcome) -> str:
    """Say what lines beside one another mean, and how near the nearest are; nothing where all slits are single ones."""
    kerfs = {sheet.stock.name: sheet.stock.kerf for sheet in outcome.layout.sheets}
    gaps = [
        placed.lattice.opening - kerfs.get(part.stock, placed.lattice.opening)
        for part in outcome.pieces
        for placed in part.lattices
    ]
    near = min((gap for gap in gaps if gap > LENGTH), default=None)
    if near is None:
        return ""
    return (
        f"<p>Slits wider than the kerf are closed outlines, their long sides {length(near, 2)} mm apart or more. Both"
        " are to be cut: switch off what joins near lines or takes double ones out in your laser's program. Where one"
        " of them is lost, slits come out narrow and corners close before they are bent.</p>"
    )


def _swatch(colour: str) -> str:
    return (
        '<svg role="img" viewBox="0 0 9 3" style="display:inline-block;width:9mm;height:3mm"><title>stroke</title>'
        f'<rect x="0" y="0" width="9" height="3" fill="{text(colour)}"/></svg>'
    )


def _stock(outcome: Outcome, stock: Stock) -> str:
    sheets = [index for index, sheet in enumerate(outcome.layout.sheets) if sheet.stock.name == stock.name]
    kerfs = sorted({outcome.layout.sheets[index].stock.kerf for index in sheets} or {stock.kerf})
    drawn = f"{joined([length(kerf, 2) for kerf in kerfs])} mm{', each for its laser' if len(kerfs) > 1 else ''}"
    own = [part for part in outcome.pieces if part.stock == stock.name]
    case = [part for part in own if part.kind is PartKind.CASE]
    values = f"measured: {text(stock.calibration)}" if stock.calibration else "catalogue values: cut a coupon first"
    files = {placement.part: outcome.layout.sheets[placement.sheet].file for placement in outcome.layout.placements}
    pictures = "\n".join(
        f"<figure>{draw_sheet(outcome.layout, index, outcome.pieces, share=_BESIDE)}<figcaption>{text(sheet.file)}:"
        f" {length(sheet.size[0])} × {length(sheet.size[1])} mm, {sheet.used_share:.0%} used."
        f"{_numbers(outcome, index)}</figcaption></figure>"
        for index, sheet in ((index, outcome.layout.sheets[index]) for index in sheets)
    )
    building = _parts_table([part for part in own if part.kind is not PartKind.CASE], files)
    carried = f"\n<h3>Carrying case, from the same board</h3>\n{_parts_table(case, files)}" if case else ""
    return (
        f'<h3>{name(stock.label)}</h3>\n<p class="ahead">{length(stock.thickness, 2)} mm thick, drawn for a kerf of'
        f" {drawn}; sheets of {length(stock.sheet[0])} × {length(stock.sheet[1])} mm;"
        f" {plural(len(own), 'part')} on {plural(len(sheets), 'sheet')}; {values}.</p>\n"
        f"{building}{carried}\n"
        f'<div class="sheets">{pictures}</div>'
    )


def _parts_table(parts: Sequence[Part], files: Mapping[str, str]) -> str:
    rows = []
    for called, alike in counted_names(parts).items():
        sheets = dict.fromkeys(files.get(part.id, "not laid out") for part in alike)
        first = alike[0]
        size = f"{length(first.size[0])} × {length(first.size[1])}"
        rows.append(
            (
                bold(called),
                f"{len(alike)} ×",
                _label(alike),
                size,
                _FACES[first.face_up],
                text(_short(sheets)),
            )
        )
    return table(("Name", "How many", "Part", "Size, mm", "Face up", "Sheet"), rows) if rows else ""


#: Numbers and letters of one part, which are left out of a label that several share.
_OWN = re.compile(r" \d*[ab]?(?= |$)")


def _label(alike: Sequence[Part]) -> str:
    """Return what parts that are cut alike are, as markup: without the opening where they stand at several."""
    if len(alike) == 1:
        return name(alike[0].label)
    labels = dict.fromkeys(_OWN.sub("", part.label) for part in alike)
    kinds = dict.fromkeys(label.split(", ")[0] for label in labels)
    return name(next(iter(kinds if len(labels) > len(kinds) == 1 else labels)))


def _short(files: Iterable[str]) -> str:
    """Name sheets as their files begin: what follows is the stock."""
    return joined([re.sub(r"^(sheet-\d+)-.*$", r"\1", file) for file in files])


def _numbers(outcome: Outcome, index: int) -> str:
    """Resolve the numbers that stand on small parts in a sheet's picture."""
    numbered = numbered_parts(outcome.layout, index, outcome.pieces, share=_BESIDE)
    if not numbered:
        return ""
    names = {part.id: part.name for part in outcome.pieces}
    said = dict.fromkeys(f"{number} is {text(names[part])}" for part, number in numbered.items())
    return f" Small parts: {', '.join(said)}."


def _laser_time(outcome: Outcome) -> str:
    if not outcome.seconds:
        return ""
    single = {what: seconds for what, seconds in outcome.seconds.items() if what != "total"}
    rows = [(text(_TIMES.get(what, what)), minutes(seconds)) for what, seconds in single.items() if seconds > 0]
    total = outcome.seconds.get("total", math.fsum(single.values()))
    rows.append(("<b>all together</b>", f"<b>{minutes(total)}</b>"))
    feeds = "<h3>Laser time, estimated from the feeds in your laser's settings</h3>\n"
    return feeds + table(("Operation", "Time"), rows, numbers=(1,))


def _bends(part: Part) -> str:
    words = []
    for placed in part.lattices:
        hung = bool(placed.swing)
        size = (
            f"{placed.lattice.rows} rows of slits, {length(placed.lattice.flat_width)} mm wide in the flat,"
            f" inside radius {length(placed.lattice.inside_radius)} mm."
        )
        angle = f"{abs(math.degrees(placed.swing if hung else placed.angle)):.0f}°"
        words.append(
            (("door or shutter", "doors or shutters", "that opens") if hung else ("bend", "bends", "of"), angle, size)
        )
    said = []
    for fromkey in dict.fromkeys(words):
        (one, many, way), angle, size = fromkey
        said.append(f"{plural(words.count(fromkey), one, many)} {way} {angle}: {size}")
    return " ".join(said)
