"""A step at the table: its words and its drawing, and what the steps of walls, bodies and roofs share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..assembly.plan import Move, Stage
from ..part import Part, PartKind
from .markup import bold, bold_list
from .moves import draw_move

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["APART", "Step", "by_kind", "is_loose", "is_ring", "joiner_parts", "listed", "own_names", "two_goes"]

#: How far apart the drawings show what is to be brought together, share of the building's size.
APART = 0.3


@dataclass(frozen=True, slots=True)
class Step:
    """One step: heading, words and drawing, all markup; the drawing is empty where nothing can be drawn."""

    heading: str
    words: str
    drawing: str


def by_kind(parts: Sequence[Part]) -> dict[PartKind, tuple[Part, ...]]:
    """Return the parts of every kind that there is, in their order."""
    return {kind: found for kind in PartKind if (found := tuple(part for part in parts if part.kind is kind))}


def own_names(parts: Sequence[Part]) -> dict[str, str]:
    """Return the names that a drawing writes on parts: their ids."""
    return {part.id: part.id for part in parts}


def listed(parts: Sequence[Part]) -> str:
    """Return the ids of parts as a list in a sentence, markup."""
    return bold_list([part.id for part in parts])


def joiner_parts(outcome: Outcome, boards: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts of the joiners that take these boards."""
    taken = {part.id for part in boards}
    names = {name for joiner in outcome.joiners if taken & set(joiner.ends) for name in (joiner.core, *joiner.cheeks)}
    return tuple(part for part in outcome.parts if part.id in names)


def is_loose(outcome: Outcome, parts: Sequence[Part]) -> bool:
    """Whether these parts are among pieces that nothing holds to each other."""
    return bool(outcome.hold.pieces_of(part.id for part in parts))


def is_ring(outcome: Outcome, walls: Sequence[Part]) -> bool:
    """Whether these parts are walls, with their joiners, that hold each other all round."""
    solid = any(part.kind is PartKind.PANEL for part in walls)
    return not solid and not outcome.hold.open_corners and not is_loose(outcome, walls)


def two_goes(outcome: Outcome, boards: Sequence[Part]) -> Iterator[Step]:
    """Yield a step for each board whose bends must not all close together."""
    for part in boards:
        late = sum(placed.late for placed in part.lattices)
        if not late:
            continue
        drawing = draw_move(Move(Stage.FOLD, (part.id,)), outcome.parts, title=f"{part.id} after its first bends")
        yield Step(
            f"Bend {part.id} in two goes",
            f"{bold(part.id)} would run into itself if all its bends closed together. Bend it first as the"
            f" drawing shows. {'The bend that is' if late == 1 else 'The bends that are'} still flat there"
            f" {'comes' if late == 1 else 'come'} last.",
            drawing,
        )
