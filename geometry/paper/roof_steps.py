"""How the roof goes on: closed, set on the walls, with its dormers and chimneys last."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..part import Part, PartKind
from .closing import closing_words
from .standing import Arrow, draw_standing, extent
from .step import APART, Step, is_loose, own_names, two_goes
from .upstands import upstand_words, upstands_named

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["HELD_KINDS", "roof_steps", "upstand_step"]

#: Parts that hold closures.
HELD_KINDS = (PartKind.LAP, PartKind.CARRIER)

#: How high the drawing lifts the roof, share of the building's height, and how long its arrows are, share of that.
_LIFT, _DOWN = 0.45, 0.8

#: From so far below the drawing looks up into the closed roof, degrees.
_FROM_BELOW = -35.0


def roof_steps(outcome: Outcome, below: tuple[Part, ...], roof: tuple[Part, ...]) -> Iterator[Step]:
    """Yield the steps for a roof. roof: its boards with stops, caps and what holds closures. below: what bears it."""
    yield from two_goes(outcome, [part for part in roof if part.kind is PartKind.ROOF])
    words = closing_words(roof)
    if words:
        yield _closing_step(roof, words)
    yield _roof_step(outcome, below, roof, bent=bool(words))


def _closing_step(roof: tuple[Part, ...], words: str) -> Step:
    bend = "Turn the roof over, bend it along its lattices and bring the open edges together. "
    lead = bend if any(part.kind is PartKind.ROOF and part.lattices for part in roof) else ""
    drawing = draw_standing(
        roof,
        accent=[part.id for part in roof if part.kind in HELD_KINDS],
        names=own_names([part for part in roof if part.kind is PartKind.ROOF]),
        title="The closed roof from below",
        height_deg=_FROM_BELOW,
    )
    return Step("Close the roof", lead + words, drawing)


def _roof_step(outcome: Outcome, below: tuple[Part, ...], roof: tuple[Part, ...], *, bent: bool) -> Step:
    """Return how the roof is set in its place. bent: whether it is bent and closed already."""
    standing = extent((*below, *roof))
    lift = 0.0 if standing is None else _LIFT * float(standing[1, 2] - standing[0, 2])
    drawing = draw_standing(
        (*below, *roof),
        shifts={part.id: (0.0, 0.0, lift) for part in roof},
        accent=[part.id for part in roof],
        arrows=_arrows_down(extent(roof), lift),
        names=own_names([part for part in roof if part.kind is PartKind.ROOF]),
        title="The roof goes on",
    )
    return Step("Put the roof on", " ".join(_setting_on(outcome, below, roof, bent=bent)), drawing)


def _setting_on(outcome: Outcome, below: tuple[Part, ...], roof: tuple[Part, ...], *, bent: bool) -> Iterator[str]:
    """Yield sentences that say where the roof goes and what keeps it there."""
    boards = [part for part in roof if part.kind is PartKind.ROOF]
    walled = any(part.kind in (PartKind.WALL, PartKind.PANEL) for part in below)
    place = "on the walls" if walled else "where it belongs; no walls are cut for it"
    if is_loose(outcome, boards):
        pieces = len(outcome.hold.pieces_of(part.id for part in boards))
        yield f"Set the roof {place}. Nothing holds its {pieces} pieces to each other."
    elif any(part.lattices for part in roof) and not bent:
        yield f"Bend the roof along its lattices and set it {place}."
    else:
        yield f"Set the roof {place}."
    if any(part.kind is PartKind.STOP for part in roof):
        yield "The stops under it go inside the walls and keep it from sliding."
    if walled:
        yield "It only rests there, so that you can lift it off to play inside."


def _arrows_down(box: np.ndarray | None, lift: float) -> list[Arrow]:
    """Return arrows that lead a lifted roof down. box: its lowest and highest corner, (2, 3) mm; lift: mm."""
    if box is None or lift <= 0:
        return []
    begins = [(float(x), float(box[0, 1]), float(box[0, 2] + lift)) for x in box[:, 0]]
    return [Arrow(begin, (0.0, 0.0, -_DOWN * lift)) for begin in begins]


def upstand_step(outcome: Outcome, below: tuple[Part, ...], upstands: tuple[Part, ...]) -> Step:
    """Return how dormers, chimneys and porches are set in place. below: all other standing parts."""
    box = extent((*below, *upstands))
    lift = 0.0 if box is None else APART * float(box[1, 2] - box[0, 2])
    words = upstand_words(outcome) + " Lifted off again, each is stored in one piece, beside the roof."
    return Step(
        f"Set {upstands_named(upstands)} in place",
        words,
        draw_standing(
            (*below, *upstands),
            shifts={part.id: (0.0, 0.0, lift) for part in upstands},
            accent=[part.id for part in upstands],
            title="What is glued once comes last",
        ),
    )
