"""Finishes where they stand: the lines of all parts once these are folded."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..fold.fold import fold
from ..part import Part, Way
from ..tolerance import SNAP

__all__ = ["standing_finishes"]


def standing_finishes(parts: Iterable[Part]) -> dict[Way, np.ndarray]:
    """Return the pieces of all lines of finishes on the upper faces of standing boards, (k, 2, 3) mm, by their way.

    What crosses a lattice is left out: it bends.
    """
    found: dict[Way, list[np.ndarray]] = {way: [np.empty((0, 2, 3))] for way in Way}
    for part in parts:
        if not part.dressings:
            continue
        pieces = np.concatenate([dressing.segments for dressing in part.dressings])
        ways = np.repeat(
            [dressing.way for dressing in part.dressings], [len(dressing.segments) for dressing in part.dressings]
        )
        middles, up = pieces.mean(axis=1), max(0.0, part.board_side * part.thickness)
        for panel, pose in zip(part.panels, fold(part), strict=True):
            board = Polygon(panel.ring, panel.holes).buffer(SNAP)
            shapely.prepare(board)
            here = shapely.contains_xy(board, middles)
            for way in dict.fromkeys(ways[here]):
                found[way].append(pose.apply(pieces[here & (ways == way)], up))
    return {way: np.concatenate(blocks) for way, blocks in found.items()}
