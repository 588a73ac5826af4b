"""Trim in the guide: what is glued onto which wall, how often and where."""

from __future__ import annotations

from collections.abc import Sequence

from ..part import Part, PartKind
from ..sheet.alike import counted_names
from ..sheet.waste import InWaste
from ..trim.shingles import OVERLAP_OF_COURSES, Strip, Strips
from ..trim.signboard import HungSign
from .markup import bold, length, table, text

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


def strips_section(laid: Strips) -> str:
    """Return the markup about shingle strips, empty where there are none."""
    if not laid.strips:
        return ""
    several: dict[str, list[Strip]] = {}
    for strip in laid.strips:
        several.setdefault(strip.name, []).append(strip)
    first = {part.shared_name: part for part in reversed(laid.parts)}
    rows = [
        (
            bold(name),
            str(len(strips)),
            str(laid.spare.get(name, 0)),
            f"{length(first[name].size[0])} × {length(first[name].size[1])}",
            text("; ".join(f"{strip.roof} course {strip.course}, {strip.up:.1f} mm up" for strip in strips)),
        )
        for name, strips in several.items()
    ]
    heads = ("Strip", "To lay", "Spare", "Size, mm", "Where, from the eaves along the slope")
    return f"""<h3>Shingle strips</h3>
<p>Glue them on the flat slopes course by course, from the eaves up: the lower edge of each lies
{length(OVERLAP_OF_COURSES)} mm over the strip below. The engraved courses show where. Nothing goes over a bend.</p>
{table(heads, rows, numbers=(1, 2))}"""


def _hung_words(signs: Sequence[HungSign]) -> str:
    """Return the markup about signs that hang, empty without any."""
    if not signs:
        return ""
    rows = [(bold(sign.part.name), text(sign.part.label), bold(sign.wall), length(sign.play[0], 2)) for sign in signs]
    return f"""
<h3>Signboards that hang</h3>
<p>Not glued: push the tab into its slot from outside when the walls stand, and pull it out before they are folded.</p>
{table(("Name", "What it is", "Slot in", "Play across, mm"), rows, numbers=(3,))}"""
