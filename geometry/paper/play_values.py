"""The play checks as plain JSON values, with the blockers they rest on, so that anyone can cast the rays again."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from ..play.checks import PlayOutcome
from ..play.hand import Fit
from ..play.reach import Reach

__all__ = ["play_values"]

_FIT = {Fit.OUTSIDE: None, Fit.BLOCKED: "blocked", Fit.TIGHT: "tight", Fit.OK: "ok"}
_REACH = {Reach.OUTSIDE: None, Reach.EASY: "easy", Reach.LEAN: "lean", Reach.STRETCH: "stretch", Reach.STAND: "stand"}


def play_values(play: PlayOutcome | None) -> dict[str, Any] | None:
    """Return what ``play`` of the report holds; None where nobody sits at a table."""
    if play is None:
        return None
    squares = play.top.squares
    inside = squares.inside
    return {
        "eyes": [
            {"seat": seat, "point": _numbers(point)} for seat, point in zip(play.sight.seats, play.eyes, strict=True)
        ],
        "heights": _numbers(play.sight.heights),
        "squares": {
            "origin": _numbers(squares.origin),
            "u": _numbers(squares.u),
            "v": _numbers(squares.v),
            "size": float(squares.size),
            "count": [squares.columns, squares.rows],
            "inside": inside.tolist(),
        },
        "share": _shares(play.sight.share, inside),
        "blockers": [
            {
                "name": blocker.name,
                "kind": blocker.kind.value,
                "solid": blocker.solid,
                "faces": [[_numbers(ring) for ring in face] for face in blocker.faces],
            }
            for blocker in play.top.blockers
        ],
        "blame": [{"blocker": blocker, "share": _numbers(shares)} for blocker, shares in play.occluders],
        "reach": [[[_REACH[Reach(value)] for value in row] for row in seat] for seat in play.reach.reach.tolist()],
        "hand": [
            {
                "stages": [_numbers(stage) for stage in probe.stages],
                "grip": float(probe.grip),
                "fit": [[[_FIT[Fit(value)] for value in row] for row in seat] for seat in play.hands.fit[k].tolist()],
                "margin": _margins(play.hands.margin[k]),
            }
            for k, probe in enumerate(play.hands.probes)
        ],
    }


def _numbers(values: Any) -> Any:
    # adding 0.0 turns -0.0 into 0.0
    return (np.asarray(values, dtype=float) + 0.0).tolist()


def _shares(shares: np.ndarray, inside: np.ndarray) -> list[Any]:
    """Return shares by seat, height, row and column; None for squares outside the room."""
    return [
        [
            [[float(value) if there else None for value, there in zip(row, known, strict=True)] for row, known in
             zip(level, inside.tolist(), strict=True)]
            for level in seat
        ]
        for seat in shares.tolist()
    ]  # fmt: skip


def _margins(margins: np.ndarray) -> list[Any]:
    """Return margins, mm; None outside the room and where nothing stands near."""
    return [[[value if math.isfinite(value) else None for value in row] for row in seat] for seat in margins.tolist()]
