"""Round ends: the free end of a round wall slides between the bent cheeks that are glued to its other end.

The wall is round by then, so that its end moves along the axis of the tower, down between the cheeks. They stand apart
by the board and by the card under the outer one; half of that play lies on either side.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..fold.moving import go_past
from ..fold.standing import standing_boards
from ..joints.round_joiner import card_between, is_round_cheek
from ..part import Part
from ..settings import BuildSettings
from .plan import Blocked, Move, Stage
from .ways import DOWN

__all__ = ["with_round_ends"]

#: A joiner is entered from so far beyond its upper end, mm: a hand sees by then whether the end is in line.
_BEFORE = 5.0


def with_round_ends(
    moves: Iterable[Move],
    parts: Sequence[Part],
    carried: Mapping[str, tuple[str, int]],
    settings: BuildSettings,
    *,
    deeper: float,
) -> tuple[Move, ...]:
    """Return moves; those that fold a round wall with the clearance of its end between cheeks, or with what blocks it.

    carried: per glued part the section and the panel that bear it.
    """
    cheeks: dict[str, list[Part]] = {}
    for part in parts:
        if is_round_cheek(part) and part.id in carried:
            cheeks.setdefault(carried[part.id][0], []).append(part)
    walls = {part.id: part for part in parts if part.id in cheeks}

    def checked(move: Move) -> Move:
        wall = walls.get(move.parts[0]) if move.stage is Stage.FOLD and len(move.parts) == 1 else None
        if wall is None or move.blocked is not None:
            return move
        own = cheeks[wall.id]
        return _slid(move, wall, own, {carried[cheek.id][1] for cheek in own}, settings, deeper)

    return tuple(map(checked, moves))


def _slid(
    move: Move, wall: Part, cheeks: Sequence[Part], bearing: set[int], settings: BuildSettings, deeper: float
) -> Move:
    """Return the fold of a wall as its end comes between cheeks. bearing: the panels that these are glued to."""
    boards = list(standing_boards([wall], (), settings))
    glued = {f"{wall.id}/{panel}" for panel in bearing}
    free, fixed = (
        np.concatenate([board.corners for board in boards if (board.group in glued) is wanted])
        for wanted in (False, True)
    )
    owner, resting = _apart(cheeks, fixed.mean(axis=(0, 1)), settings)
    length = float(np.ptp(resting[..., 2])) + _BEFORE
    # past the whole height, so that what would cross in its place is met on the way
    passing = go_past(free + DOWN * length, resting, DOWN, 2 * length, deeper=deeper)
    met = passing.meeting
    if met is None:
        return replace(move, clearance=max(0.0, passing.room) if np.isfinite(passing.room) else None)
    by = cheeks[owner[met.pair[1]]].id
    at = min(1.0, max(0.0, 2.0 - met.before / length))
    return replace(move, blocked=Blocked(wall.id, by, at, met.depth, met.point))


def _apart(cheeks: Sequence[Part], middle: np.ndarray, settings: BuildSettings) -> tuple[np.ndarray, np.ndarray]:
    """Return the prisms of cheeks as far apart as card holds them, with the cheek that each belongs to.

    middle: (3,) mm, of the panel that both are glued to. The free end lies midway, so that each cheek stands half the
    card's thickness off it.
    """
    owner, found = [], []
    for k, cheek in enumerate(cheeks):
        corners = [board.corners for board in standing_boards([cheek], (), settings)]
        # through the board, to the same face of all its prisms; the first panel is the glued one
        through = [at[:, 3] - at[:, 0] for at in corners]
        away = np.sign((corners[0].mean(axis=(0, 1)) - middle) @ through[0][0])
        for at, out in zip(corners, through, strict=True):
            unit = out / np.linalg.norm(out, axis=1)[:, None]
            found.append(at + away * card_between(settings) / 2 * unit[:, None])
            owner.append(np.full(len(at), k))
    return np.concatenate(owner), np.concatenate(found)
