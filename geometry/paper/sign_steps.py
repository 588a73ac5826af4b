"""How signboards that hang are pushed into their slots, when all else stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..assembly.plan import Stage
from ..part import Part
from .markup import bold_list
from .standing import draw_standing
from .step import Step

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["sign_step"]

#: Share of its way at which a sign is drawn before its slot.
_APART = 0.8


def sign_step(outcome: Outcome, below: tuple[Part, ...]) -> Step:
    """Return how signs are hung. below: all other standing parts."""
    signs = [sign.part for sign in outcome.signs]
    moves = [move for move in outcome.assembly.moves if move.stage is Stage.SIGN]
    shifts = {name: tuple((move.shift(0.0) * _APART).tolist()) for move in moves for name in move.parts}
    several = len(signs) > 1
    words = (
        f"Push {bold_list(part.name for part in signs)} straight into {'their slots' if several else 'its slot'} from"
        f" outside, the tab of {'each' if several else 'the sign'} level with the room side of the wall."
    )
    drawing = draw_standing(
        (*below, *signs), shifts=shifts, accent=[part.id for part in signs], title="What hangs is pushed in last"
    )
    return Step("Hang the signboards" if several else "Hang the signboard", words, drawing)
