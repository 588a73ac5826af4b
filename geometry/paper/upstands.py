"""Dormers, chimneys and porches in the guide: glued once, set in their place, kept in one piece."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..part import Part, PartKind
from .markup import bold, bold_list, joined, plural, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["upstand_section", "upstand_words", "upstands_named", "upstands_of"]

_PLURALS = {"Dormer": "dormers", "Chimney": "chimneys", "Porch": "porches"}


def upstands_of(parts: Sequence[Part]) -> dict[str, tuple[Part, ...]]:
    """Return the boards of every dormer, chimney and porch, by its short name."""
    own = [part for part in parts if part.kind is PartKind.UPSTAND]
    return {body: tuple(part for part in own if part.body == body) for body in dict.fromkeys(part.body for part in own)}


def upstands_named(parts: Sequence[Part]) -> str:
    """Return what there is of them in words, such as "dormers and chimneys"."""
    words = dict.fromkeys(_word(boards).split()[0] for boards in upstands_of(parts).values())
    return joined([_PLURALS[word] for word in words])


def upstand_section(outcome: Outcome) -> str:
    """Return the markup that says how the boards of dormers, chimneys and porches are glued, empty without any."""
    bodies = {body: boards for body, boards in upstands_of(outcome.parts).items() if len(boards) > 1}
    if not bodies:
        return ""
    items = "\n".join(f"<li>{bold(body)}: {_boards(boards)}.</li>" for body, boards in bodies.items())
    slots = " Keep glue off the tabs and the slots." if outcome.roof_tabs or outcome.tabs else ""
    return f"""<h3>{upstands_named(outcome.parts).capitalize()}</h3>
<p>The boards of each are glued to one another once. A board that lies flatter covers the end of the one that stands
under it; the front covers the ends of the sides.</p>
<ol>
<li>Put the building together and lay wax paper over the place. Stand the boards there dry: their edges fit the slope
or the wall.</li>
<li>Glue edge to edge, front and sides first, then the top. Hold with tape until it has cured as the glue's label
says.{slots}</li>
</ol>
<ul>
{items}
</ul>"""


def _word(boards: Sequence[Part]) -> str:
    """Return what boards belong to, such as Dormer 1."""
    return boards[0].label.partition(",")[0]


def _boards(boards: Sequence[Part]) -> str:
    return joined([f"{bold(part.id)} ({text(part.label.partition(', ')[2] or part.label)})" for part in boards])


def upstand_words(outcome: Outcome) -> str:
    """Return the words of the step that sets them in their place; empty where there are none."""
    said = []
    for body, boards in upstands_of(outcome.parts).items():
        own = {part.id for part in boards}
        slots = [tab.floor for tab in (*outcome.roof_tabs, *outcome.tabs) if tab.part in own]
        porch = _word(boards).startswith("Porch")
        named = f"{bold(body)} ({text(_word(boards))})"
        if slots:
            boards_with_slots = bold_list(dict.fromkeys(slots))
            tabs = plural(len(slots), "tab")
            against = ", its open side against the wall" if porch else ""
            said.append(f"Press the {tabs} of {named} into the slots of {boards_with_slots}{against}.")
        else:
            place = "against its wall" if porch else "on the roof"
            said.append(f"Set {named} {place} where the drawing shows; it has no tabs.")
    return " ".join(said)
