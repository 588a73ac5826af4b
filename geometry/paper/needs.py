"""What a newcomer needs before the first cut: a handful of words, and what to have at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..joints.round_joiner import is_round_cheek
from ..part import PartKind
from ..settings import TOOTHPICK
from .markup import length, name, plural, text
from .report import stocks_used

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["needs_section"]


def needs_section(outcome: Outcome) -> str:
    """Return the markup of the words that this guide uses, and of what it takes to build this building."""
    if not outcome.parts:
        return "<p>Nothing yet.</p>"
    things = "\n".join(f"<li>{thing}</li>" for thing in _things(outcome))
    terms = "\n".join(f"<dt>{text(word)}</dt><dd>{text(meaning)}</dd>" for word, meaning in _words(outcome))
    return f'<ul>\n{things}\n</ul>\n<h3>Words in this guide</h3>\n<dl class="cautions">\n{terms}\n</dl>'


def _things(outcome: Outcome) -> list[str]:
    kinds = {part.kind for part in outcome.pieces}
    sheets = outcome.layout.sheets
    things = []
    for stock in stocks_used(outcome.settings, outcome.pieces):
        count = sum(sheet.stock.name == stock.name for sheet in sheets)
        things.append(
            f"{name(stock.label)}: {plural(count, 'sheet')} of {length(stock.sheet[0])} × {length(stock.sheet[1])} mm,"
            " and scrap of the same board for a coupon and for trying paint."
        )
    things.append("A caliper that reads a tenth of a millimetre, a small square, a pencil, a fresh knife.")
    things.append("Low-tack paper tape, as wide as you can get it, against scorch marks.")
    outside = {PartKind.CAP, PartKind.TRIM}
    if kinds & {PartKind.CORE, PartKind.STOP, PartKind.LAP, PartKind.CARRIER, PartKind.CASE, *outside}:
        things.append("Wood glue that suits your board, a brush or a sliver of card to spread it, and a damp rag.")
    if PartKind.CORE in kinds:
        holes = any(part.outline.interiors for part in outcome.parts if part.kind is PartKind.CORE)
        pegs = (
            f" For the registration holes round toothpicks or slivers of scrap, about {length(TOOTHPICK)} mm thick."
            if holes
            else ""
        )
        things.append(
            f"For the joiners: wax paper, thin card, two clamps or a pile of books, and two strips of scrap.{pegs}"
        )
    if PartKind.CARRIER in kinds:
        closure = outcome.settings.closure
        count = sum(part.id.endswith("-pocket") for part in outcome.parts)
        things.append(
            f"{plural(count, 'disc magnet')} of {length(closure.magnet_diameter)} × {length(closure.magnet_thickness)}"
            " mm, and glue that suits metal. Read the caution about magnets first."
        )
    if PartKind.CASE in kinds:
        things.append(
            "For the case: masking tape to hold it while the glue sets, and a strap or ribbon to keep it shut."
        )
    return things


def _words(outcome: Outcome) -> list[tuple[str, str]]:
    kinds = {part.kind for part in outcome.pieces}
    words = [
        ("Kerf", "The width of board that the beam burns away. The files allow for it; do not add it again."),
        ("Coupon", "A small test piece that shows what your board and your laser really do."),
    ]
    if any(part.lattices for part in outcome.parts):
        words.append(("Lattice", "Rows of slits side by side. The thin strips between them twist, so the board bends."))
    if outcome.joiners:
        words.append(
            ("Joiner", "A core glued between two wider cheeks. Wall ends slide into the channels at its sides.")
        )
    if outcome.tabs:
        words.append(("Tab, slot", "The tongue below a wall, and the opening in the floor that takes it."))
    if kinds & {PartKind.LAP, PartKind.CARRIER}:
        words.append(("Closure", "A line where two boards meet but are not one piece; something holds them together."))
    if any(is_round_cheek(part) for part in outcome.parts):
        words.append(
            ("Round joiner", "Two cheeks, bent like the wall, glued to one end of it. The other end slides in.")
        )
    words.append(("Face up", "The face of a part that lies upward on the laser and gets the engraving."))
    return words
