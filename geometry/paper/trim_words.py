"""Trim in the guide: what is glued onto which wall, how often and where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..board.stock import Stock
from ..part import Part, PartKind
from ..sheet.alike import counted_names
from ..sheet.fills import FILLS
from ..sheet.waste import InWaste
from ..trim.shingles import OVERLAP_OF_COURSES, Strip, Strips
from ..trim.signboard import HungSign
from ..trim.two_boards import END_PLAY
from .laying_plan import LaidPiece, laying_plan
from .markup import bold, length, name, table, text

__all__ = ["strips_section", "trim_section"]


def trim_section(parts: Sequence[Part], in_waste: InWaste | None = None, signs: Sequence[HungSign] = ()) -> str:
    """Return the markup about trim, empty where there is none.

    in_waste: what of it lies in holes on the sheets; signs: those that hang in slots.
    """
    trim = [part for part in parts if part.kind is PartKind.TRIM]
    hung = _hung_words(signs)
    if not trim:
        return hung
    rows = [
        (
            bold(called),
            f"{len(alike)} ×",
            f"{length(alike[0].size[0])} × {length(alike[0].size[1])}",
            "; ".join(text(" ".join(part.notes)) for part in alike),
        )
        for called, alike in counted_names(trim).items()
    ]
    thick = length(trim[0].thickness)
    saved = f" {in_waste.words.capitalize()}." if in_waste is not None and in_waste.parts else ""
    return f"""<h3>Trim</h3>
<p>{len(trim)} pieces of {thick} mm board lie flat on the outside of the walls. Paint them before
they are glued, and leave the faces bare that meet. Glue them while the walls lie flat, sills and heads first, then the
jambs between them; the marks on the wall are covered. Keep glue out of lattices, and let it cure under a flat board.
Nothing is glued across a bend or a joiner.{saved}</p>
{table(("Name", "How many", "Size, mm", "Where, measured from outside"), rows)}{hung}"""


def strips_section(laid: Strips, roofs: Sequence[Part] = (), stocks: Mapping[str, Stock] | None = None) -> str:
    """Return the markup about shingle strips, empty where there are none.

    roofs: the parts that bear them, on which strips of two boards are drawn; stocks: the building's boards by name.
    """
    if not laid.strips:
        return ""
    several: dict[str, list[Strip]] = {}
    for strip in laid.strips:
        several.setdefault(strip.name, []).append(strip)
    two = len({strip.second for strip in laid.strips}) > 1
    lists = _two_lists(laid, several, stocks or {}) + _strip_plans(laid, roofs) if two else _one_table(laid, several)
    return f"""<h3>Shingle strips</h3>
<p>Glue them on the flat slopes course by course, from the eaves up: the lower edge of each lies
{length(OVERLAP_OF_COURSES)} mm over the strip below. Short scored lines on the roof
show both ends of the upper edge of each; the strip hides them. Press its upper edge onto the roof and let its lower
edge rest on the strip below. Nothing goes over a bend.</p>
{lists}"""


def _one_table(laid: Strips, several: Mapping[str, Sequence[Strip]]) -> str:
    """Return the table of strips of one board: how many, and where they lie."""
    first = {part.shared_name: part for part in reversed(laid.parts)}
    rows = [
        (
            bold(called),
            str(len(strips)),
            str(laid.spare.get(called, 0)),
            f"{length(first[called].size[0])} × {length(first[called].size[1])}",
            text("; ".join(f"{strip.roof} course {strip.course}, {strip.up:.1f} mm up" for strip in strips)),
        )
        for called, strips in several.items()
    ]
    heads = ("Strip", "To lay", "Spare", "Size, mm", "Where, from the eaves along the slope")
    return table(heads, rows, numbers=(1, 2))


def _two_lists(laid: Strips, several: Mapping[str, Sequence[Strip]], stocks: Mapping[str, Stock]) -> str:
    """Return, for either board, its strips with their sizes and numbers; the laying plan shows where they lie."""
    first = {part.shared_name: part for part in reversed(laid.parts)}
    written = [
        f"<p>They are of two boards: sort them by name. The laying plan shows their places; between two strips of one"
        f" course stay {length(END_PLAY, 2)} mm.</p>"
    ]
    for second in (False, True):
        own = {called: strips for called, strips in several.items() if strips[0].second is second}
        stock = first[next(iter(own))].stock
        board = name(stocks[stock].label if stock in stocks else stock)
        items = "\n".join(
            f"<li>{bold(called)} {length(first[called].size[0])} × {length(first[called].size[1])}:"
            f" {len(strips)}{f' + {spare} spare' if (spare := laid.spare.get(called, 0)) else ''}</li>"
            for called, strips in own.items()
        )
        written.append(
            f"<p>Of {board}, {sum(map(len, own.values()))} strips, sizes in mm:</p>\n"
            f'<ul class="small" style="columns: 3; list-style: none; padding: 0">\n{items}\n</ul>'
        )
    return "\n".join(written)


def _strip_plans(laid: Strips, roofs: Sequence[Part]) -> str:
    """Return for every roof part a picture of its strips in their places."""
    fills = (FILLS[PartKind.TILE], FILLS[PartKind.DARK_TILE])
    written = []
    for roof in roofs:
        own = [strip for strip in laid.strips if strip.roof == roof.name]
        if not own:
            continue
        # an upper strip lies over the one below
        pieces = [
            LaidPiece(strip.name, strip.area, fills[strip.second], strip.second)
            for strip in sorted(own, key=lambda strip: strip.course)
        ]
        label = f"Laying plan of {roof.name}"
        plan = laying_plan([roof.outline], FILLS[PartKind.ROOF], pieces, label=label)
        written.append(f"<figure>{plan}<figcaption>{text(label)}, seen from outside</figcaption></figure>")
    return "\n" + "\n".join(written) if written else ""


def _hung_words(signs: Sequence[HungSign]) -> str:
    """Return the markup about signs that hang, empty without any."""
    if not signs:
        return ""
    rows = [(bold(sign.part.name), text(sign.part.label), bold(sign.wall), length(sign.play[0], 2)) for sign in signs]
    return f"""
<h3>Signboards that hang</h3>
<p>Not glued: push the tab into its slot from outside when the walls stand, and pull it out before they are folded.</p>
{table(("Name", "What it is", "Slot in", "Play across, mm"), rows, numbers=(3,))}"""
