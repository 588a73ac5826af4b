"""How walls go into their joiners: move by move where the order was found, else in one drawing with arrows."""

from __future__ import annotations

import string
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..assembly.plan import Move, Stage
from ..part import Joiner, Part, PartKind
from .markup import bold, bold_list
from .moves import draw_move
from .standing import Arrow, draw_standing, extent
from .step import APART, Step, is_ring, own_names

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["joiner_step", "spread_apart"]


#: An arrow begins so far beyond the part that it pulls, mm, and is so long, share of the way to its place.
_BEYOND, _ARROW = 8.0, 0.6

#: A section whose middle is nearer than this to that of all walls, mm, goes round them and is not drawn apart.
_CENTRED = 1.0


def joiner_step(outcome: Outcome, walls: tuple[Part, ...], joined_parts: tuple[Part, ...], *, foot: bool) -> Step:
    """Return how walls go into their joiners.

    joined_parts: the parts of these joiners. foot: whether cores have a foot, which goes into a floor.
    """
    taken = {part.id for part in walls}
    joiners = [joiner for joiner in outcome.joiners if taken & set(joiner.ends)]
    where = "; ".join(_joins(joiner) for joiner in joiners)
    words = (
        "Push each wall end sideways into the channel of its joiner until it meets the core, the outer cheek facing out"
        f" and {'the foot of the core' if foot else 'the lower end'} down. {where}."
        + (" Close the ring with the last end." if is_ring(outcome, walls) else "")
    )
    heading = "Slide the joiners on" if len(joiners) > 1 else "Slide the joiner on"
    moves = [move for move in outcome.assembly.moves if move.stage is Stage.RING and move.blocked is None]
    if moves and outcome.assembly.is_possible:
        words += " The order below was tried board by board: every path is free."
        return Step(heading, words, _draw_moves(outcome, moves))
    return Step(heading, words, _draw_apart(walls, joined_parts, joiners))


def _joins(joiner: Joiner) -> str:
    """Say which wall ends a joiner takes."""
    one, other = joiner.ends
    if one == other:
        return f"{bold(joiner.id)} takes both ends of {bold(one)}"
    return f"{bold(joiner.id)} joins {bold(one)} and {bold(other)}"


def _draw_moves(outcome: Outcome, moves: Sequence[Move]) -> str:
    """Return a drawing for every move of the ring, lettered, with what it brings where."""
    figures = "".join(
        f"<figure>{draw_move(move, outcome.parts, title=f'Move {letter}')}"
        f"<figcaption>{letter}. {_moved(outcome, move)}</figcaption></figure>"
        for letter, move in zip(string.ascii_lowercase, moves, strict=False)
    )
    return f'<div class="moves">{figures}</div>'


def _draw_apart(walls: tuple[Part, ...], joined_parts: tuple[Part, ...], joiners: Sequence[Joiner]) -> str:
    """Return one drawing of walls apart from their joiners, with arrows back."""
    shifts = spread_apart(walls)
    return draw_standing(
        (*walls, *joined_parts),
        shifts=shifts,
        accent=[part.id for part in joined_parts],
        arrows=[_pull_back(part, shifts[part.id]) for part in walls if part.id in shifts],
        names=own_names(walls) | {cheek: joiner.id for joiner in joiners for cheek in joiner.cheeks},
        title="The walls go sideways into the joiners",
    )


def _moved(outcome: Outcome, move: Move) -> str:
    """Say what a move of the ring brings where: a joiner onto wall ends, or a section into joiners."""
    here = set(move.parts)
    own = [joiner for joiner in outcome.joiners if joiner.core in here]
    walls = [part for part in outcome.parts if part.id in here and part.kind is PartKind.WALL]
    if own and not walls:
        ends = [end for joiner in own for end in joiner.ends if end in move.onto]
        return f"{bold_list([joiner.id for joiner in own])} onto {bold_list(dict.fromkeys(ends))}"
    taking = [
        joiner.id
        for joiner in outcome.joiners
        if joiner not in own and here & {*joiner.ends, joiner.core} and {*joiner.ends, joiner.core} & set(move.onto)
    ]
    return f"{bold_list([part.id for part in walls])} into {bold_list(taking)}"


def spread_apart(walls: tuple[Part, ...]) -> dict[str, tuple[float, float, float]]:
    """Return level shifts that draw several sections apart, by part, mm; none for one alone, which closes on itself."""
    box = extent(walls)
    if box is None or len(walls) < 2:
        return {}
    centre = box.mean(axis=0)
    gap = APART * float(np.max(box[1, :2] - box[0, :2]))
    shifts = {}
    for part in walls:
        own = extent((part,))
        if own is None:
            continue
        out = (own.mean(axis=0) - centre)[:2]
        size = float(np.linalg.norm(out))
        if size > _CENTRED:
            shifts[part.id] = (float(out[0] / size * gap), float(out[1] / size * gap), 0.0)
    return shifts


def _pull_back(part: Part, shift: tuple[float, float, float]) -> Arrow:
    """Return an arrow from beyond a part as it is drawn apart by ``shift`` (mm), back toward its place."""
    box = extent((part,))
    middle = np.zeros(3) if box is None else box.mean(axis=0)
    half = np.zeros(2) if box is None else (box[1, :2] - box[0, :2]) / 2
    out = np.array(shift) / float(np.linalg.norm(shift))
    far = middle + np.array(shift) + out * (float(np.abs(out[:2]) @ half) + _BEYOND)
    x, y, z = (far + _ARROW * np.array(shift)).tolist()
    dx, dy, _ = (-_ARROW * np.array(shift)).tolist()
    return Arrow((x, y, z), (dx, dy, 0.0))
