"""Dormers and chimneys in the guide: glued once, set onto the roof, kept beside it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..part import Part, PartKind
from .markup import joined, plural, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["upstand_section", "upstand_words", "upstands_of"]


def upstands_of(parts: Sequence[Part]) -> dict[str, tuple[Part, ...]]:
    """Return the boards of every dormer and chimney, by its short name."""
    own = [part for part in parts if part.kind is PartKind.UPSTAND]
    return {body: tuple(part for part in own if part.body == body) for body in dict.fromkeys(part.body for part in own)}


def upstand_section(outcome: Outcome) -> str:
    """Return the markup that says how the boards of dormers and chimneys are glued, empty where there are none."""
    bodies = {body: boards for body, boards in upstands_of(outcome.parts).items() if len(boards) > 1}
    if not bodies:
        return ""
    items = "\n".join(f"<li><b>{text(body)}</b>: {_boards(boards)}.</li>" for body, boards in bodies.items())
    slots = " Keep glue off the tabs and the slots." if outcome.roof_tabs else ""
    return f"""<h3>Dormers and chimneys</h3>
<p>The boards of each are glued to one another once. A board that lies flatter covers the end of the one that stands
under it; the front covers the ends of the sides.</p>
<ol>
<li>Put the roof together and lay wax paper over the place. Stand the boards on it dry: their lower edges fit the
slope.</li>
<li>Glue edge to edge, front and sides first, then the top. Hold with tape until it has cured as the glue's label
says.{slots}</li>
</ol>
<ul>
{items}
</ul>"""


def _boards(boards: Sequence[Part]) -> str:
    return joined([f"<b>{text(part.id)}</b> ({text(part.label.partition(', ')[2] or part.label)})" for part in boards])


def upstand_words(outcome: Outcome) -> str:
    """Return the words of the step that sets dormers and chimneys onto the roof; empty where there are none."""
    said = []
    for body, boards in upstands_of(outcome.parts).items():
        word = text(boards[0].label.partition(",")[0])
        own = {part.id for part in boards}
        slots = [tab.floor for tab in outcome.roof_tabs if tab.part in own]
        if slots:
            roofs = joined([f"<b>{text(roof)}</b>" for roof in dict.fromkeys(slots)])
            tabs = plural(len(slots), "tab")
            said.append(f"Press the {tabs} of <b>{text(body)}</b> ({word}) into the slots of {roofs}.")
        else:
            said.append(f"Set <b>{text(body)}</b> ({word}) on the roof where the drawing shows; it has no tabs.")
    return " ".join(said)
