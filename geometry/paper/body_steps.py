"""How bodies go up that are no ring of walls: bent and closed, or put up board by board."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..part import Part
from .joiner_steps import joiner_step
from .standing import draw_standing
from .step import Step, is_loose, joiner_parts, listed, own_names, two_goes
from .wall_steps import lower_step

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["body_steps"]


def body_steps(outcome: Outcome, boards: tuple[Part, ...], floors: tuple[Part, ...], *, closing: str) -> Iterator[Step]:
    """Yield the steps for what is no ring of walls: fold it, then set what has tabs into the floor.

    closing: how its closures are joined, markup, empty where it has none.
    """
    yield from two_goes(outcome, boards)
    tabbed = {tab.part for tab in outcome.tabs}
    standing = tuple(part for part in boards if floors and part.id in tabbed)
    joined_parts = joiner_parts(outcome, boards)
    loose = is_loose(outcome, boards)
    folded = tuple(part for part in boards if part not in standing) if loose else boards
    if loose and standing:
        yield lower_step(outcome, (*standing, *joined_parts), floors)
    if words := [*_folding(folded, loose=loose), *([closing] if closing else [])]:
        heading = "Fold and close" if any(part.lattices for part in folded) else "Put the boards up"
        names, accent = own_names(boards), [part.id for part in folded]
        drawing = draw_standing(boards, accent=accent, names=names, title="As it stands")
        yield Step(heading, " ".join(words), drawing)
    if loose:
        return
    if joined_parts:
        yield joiner_step(outcome, boards, joined_parts, foot=bool(floors))
    if standing:
        yield lower_step(outcome, (*boards, *joined_parts), floors)


def _folding(boards: tuple[Part, ...], *, loose: bool) -> Iterator[str]:
    """Yield sentences that say how boards are bent and where they go. loose: nothing holds them to the others."""
    bent = tuple(part for part in boards if part.lattices)
    if bent:
        yield f"Bend {listed(bent)} along the lattices, evenly along their whole length, a little at a time."
    if loose and boards:
        yield f"Put {listed(boards)} where the drawing shows; nothing holds them to the other boards."
    elif bent:
        yield "Bring the open edges together as the drawing shows."
    elif boards:
        yield f"Set {listed(boards)} up as the drawing shows."
