"""The carrying case in the guide: its boards drawn apart, how they are glued, and what lies where in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..part import Part, PartKind
from ..stow.carrying_case import CarryingCase
from .markup import bold, bold_list, joined, length, text
from .standing import draw_standing

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["case_section", "packing"]

#: Which way each board goes when the case is drawn apart: share of its size along x, y, z.
_APART = {
    "K1": (0.0, 0.0, -0.25),
    "K2": (0.0, -0.4, 0.0),
    "K3": (0.0, 0.4, 0.0),
    "K4": (-0.22, 0.0, 0.0),
    "K5": (0.22, 0.0, 0.0),
    "K6": (0.0, 0.0, 0.85),
    "K7": (0.0, 0.0, 0.45),
    "K8": (0.0, 0.0, 0.0),
}


def case_section(outcome: Outcome) -> str:
    """Return the markup of the chapter on the carrying case, empty where none is wanted."""
    case = outcome.case
    if case is None:
        return ""
    steps = "\n".join(f"<li>{step}</li>" for step in _steps(case))
    return f"""<p class="ahead">The case is {_size(case.inner)} mm inside and {_size(case.outer)} mm outside. It is
glued once; the lid is loose.</p>
<figure>{_apart(case)}<figcaption>The boards of the case, drawn apart</figcaption></figure>
<ol>
{steps}
</ol>
<h3>What lies where</h3>
{packing(outcome)}"""


def packing(outcome: Outcome) -> str:
    """Return the markup that says in which order the pieces go into a box, empty where nothing is stowed."""
    by_id = {part.id: part for part in outcome.pieces}
    stops = any(part.kind is PartKind.STOP for part in outcome.parts)
    rows = []
    for layer in outcome.stow.layers:
        told = Counter(_whole(name, outcome) or _piece(name, by_id, stops) for name in layer)
        ids = joined([f"{count} × {piece}" if count > 1 else piece for piece, count in told.items()])
        rows.append(f"<li>{ids}{', side by side' if len(layer) > 1 else ''}</li>")
    if not rows:
        return ""
    items = "\n".join(rows)
    return f"""<p>From the bottom up, the largest and heaviest boards first, so that nothing lies hollow:</p>
<ol>
{items}
</ol>"""


def _whole(name: str, outcome: Outcome) -> str:
    """Return the words for a piece that glue strips keep as it stands, empty for any other."""
    names = next((names for names in outcome.stow.glued if name in names), ())
    return bold_list(names) + ", glued, as it stands" if names else ""


def _piece(name: str, by_id: dict[str, Part], stops: bool) -> str:
    part = by_id.get(name)
    upstand = next((other for other in by_id.values() if other.kind is PartKind.UPSTAND and other.body == name), None)
    if part is None and upstand is not None:
        return f"{text(upstand.label.partition(',')[0].lower())} {bold(name)}, in one piece"
    if part is None:
        return f"joiner {bold(name)}"
    note = " (stops upward)" if part.kind is PartKind.ROOF and stops else ""
    return f"{bold(part.name)}{note}"


def _steps(case: CarryingCase) -> list[str]:
    bottom, lid, lower = (_named(case.parts, board) for board in ("K1", "K6", "K7"))
    walls = [_named(case.parts, board) for board in ("K2", "K3", "K4", "K5")]
    laps = [part.id for part in case.parts if "-lap" in part.id]
    second = _named(case.parts, "K8")
    steps = ["Put all boards together dry first. Fingers that are too tight are sanded, never hammered."]
    if laps:
        steps.append(
            f"Walls in pieces: lay the pieces edge to edge, inside up, on wax paper, and glue the lap over the seam, in"
            f" the middle of it: {_ids(laps)}. It keeps clear of the bottom"
            f"{' layers' if second else ''} below and ends just under the lid. Weigh it down until it has cured."
        )
    if second:
        steps.append(
            f"The bottom has two layers: {_ids(bottom)} below, {_ids(second)} on it. Their seams lie apart, so that one"
            " layer holds the other. Glue them on each other flat on the table, the upper one the same margin from all"
            " edges, so that the walls find room round it."
        )
    steps.append(
        f"Spread glue on the notches of the bottom ({_ids(bottom)}) and set the walls into it: front and back"
        f" ({_ids([*walls[0], *walls[1]])}) first, then the sides ({_ids([*walls[2], *walls[3]])}), fingers into"
        " notches."
    )
    steps.append("Check the corners with a square, hold everything with tape, and wipe off what comes out inside.")
    layers = " Their seams lie apart, as those of the bottom do." if len(lid) > 1 else ""
    steps.append(
        f"The lid is {_ids(lid)} with the smaller {_ids(lower)} glued below, the same margin all round.{layers} The"
        " smaller plate goes between the walls, the larger one lies on their edges. Turn the lid over and try it before"
        " the glue grabs: it goes on by its own weight and lifts off without pulling."
    )
    holes = any(part.outline.interiors for part in case.parts if part.id in ("K4", "K5"))
    steps.append(
        "The openings in both short sides are for your hands; round their edges with sandpaper. The lid is not"
        " fastened: tie it on with a strap before you carry the case."
        if holes
        else "It has no hand holes; a strap or ribbon round its middle carries it and keeps the lid on."
    )
    return steps


def _named(parts: Sequence[Part], board: str) -> list[str]:
    """Return the ids of a board and of its pieces, without laps."""
    return [part.id for part in parts if part.id.startswith(board) and "-" not in part.id]


def _ids(names: Sequence[str]) -> str:
    return bold_list(names)


def _apart(case: CarryingCase) -> str:
    size = np.array([min(case.outer[:2]), min(case.outer[:2]), min(case.outer[:2])])
    shifts = {}
    for part in case.parts:
        away = np.array(_APART[part.id[:2]]) * size
        if "-lap" in part.id:
            away = 0.6 * away
        shifts[part.id] = (float(away[0]), float(away[1]), float(away[2]))
    names = {part.id: part.id for part in case.parts}
    return draw_standing(case.parts, shifts=shifts, names=names, title="The carrying case drawn apart")


def _size(sides: tuple[float, float, float]) -> str:
    return " × ".join(length(side) for side in sides)
