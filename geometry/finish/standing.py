"""Finishes where they stand: the lines of all parts once these are folded."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..fold.fold import fold
from ..part import Part
from ..tolerance import SNAP

__all__ = ["standing_finishes"]


def standing_finishes(parts: Iterable[Part]) -> np.ndarray:
    """Return the pieces of all lines of finishes on the upper faces of standing boards, (k, 2, 3) mm.

    What crosses a lattice is left out: it bends.
    """
    found = [np.empty((0, 2, 3))]
    for part in parts:
        if not part.dressings:
            continue
        pieces = np.concatenate([each.segments for each in part.dressings])
        middles, up = pieces.mean(axis=1), max(0.0, part.board_side * part.thickness)
        for panel, pose in zip(part.panels, fold(part), strict=True):
            board = Polygon(panel.ring, panel.holes).buffer(SNAP)
            shapely.prepare(board)
            found.append(pose.apply(pieces[shapely.contains_xy(board, middles)], up))
    return np.concatenate(found)
