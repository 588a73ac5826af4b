"""Moves of the hands as drawings: what rests, what moves where its path begins, and an arrow along every leg."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ..assembly.plan import Move, Stage
from ..fold.fold import fold
from ..part import Part, PartKind, Tab
from .standing import Arrow, draw_standing, extent

__all__ = ["draw_move"]

#: How far a section is bent in the drawing of its fold.
_HALF_BENT = 0.5

#: Height of the eye, degrees: a roof is put together from its inside.
_FROM_ABOVE, _FROM_BELOW = 30.0, -35.0

#: Paths longer than this share of what is drawn are shown shorter, so that boards stay large.
_LONGEST = 0.6


def draw_move(move: Move, parts: Sequence[Part], *, tabs: Sequence[Tab] = (), title: str = "") -> str:
    """Return one move as an ``<svg>`` element: what moves in full colour, what rests pale, an arrow per leg.

    parts: all parts of the building. A fold is shown half bent. Empty where nothing can be drawn.
    """
    moving = [part for part in parts if part.id in move.parts]
    resting = [part for part in parts if part.id in move.onto]
    if move.stage is Stage.FOLD:
        moving = [_bent(part) for part in moving]
    box = extent((*moving, *resting))
    if box is None:
        return ""
    path = move.shift(0.0)
    far = float(np.linalg.norm(path))
    share = min(1.0, _LONGEST * float(np.linalg.norm(box[1] - box[0])) / far) if far else 0.0
    named = [part for part in moving if part.kind in (PartKind.WALL, PartKind.ROOF, PartKind.PANEL, PartKind.CHEEK)]
    return draw_standing(
        (*resting, *moving),
        shifts={part.id: tuple((path * share).tolist()) for part in moving},
        accent=[part.id for part in moving],
        tabs=tabs if any(part.kind is PartKind.FLOOR for part in (*resting, *moving)) else (),
        arrows=_arrows(move, moving, share),
        names={part.id: part.id.partition("-")[0] for part in named},
        title=title,
        height_deg=_FROM_BELOW if move.stage is Stage.CLOSE else _FROM_ABOVE,
    )


def _arrows(move: Move, moving: Sequence[Part], share: float) -> Iterator[Arrow]:
    """Yield an arrow per leg, from the middle of what moves to where it is when the leg is made."""
    box = extent(moving)
    if box is None:
        return
    at = box.mean(axis=0) + move.shift(0.0) * share
    for leg in move.legs:
        step = np.array(leg.way) * leg.length * share
        (x, y, z), (dx, dy, dz) = at.tolist(), step.tolist()
        yield Arrow((x, y, z), (dx, dy, dz))
        at = at + step


def _bent(part: Part) -> Part:
    """Return a section half bent, as it stands on its first panel."""
    poses = fold(part, _HALF_BENT)
    panels = tuple(replace(panel, stands=pose) for panel, pose in zip(part.panels, poses, strict=True))
    return replace(part, panels=panels)
