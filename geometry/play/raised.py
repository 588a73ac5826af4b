"""Raised floors: tiles lift everything that stands on the floor, so that sight and standing room are judged there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..tolerance import SNAP
from .table_top import Blocker, Miniature, Squares

__all__ = ["lift_furniture", "lift_miniature", "raise_squares"]


def raise_squares(squares: Squares, by: float) -> Squares:
    """Return the squares of a room, ``by`` mm higher."""
    origin = squares.origin + np.array([0.0, 0.0, by])
    origin.setflags(write=False)
    return replace(squares, origin=origin)


def lift_miniature(miniature: Miniature, squares: Squares, by: float) -> Miniature:
    """Return a miniature on tiles, ``by`` mm high, where it was set on the bare floor below them.

    squares: of the room, on the tiles.
    """
    lift = _lift(float(miniature.foot[2]), miniature.foot[:2], squares, by)
    if lift == 0.0:
        return miniature
    foot = miniature.foot + np.array([0.0, 0.0, lift])
    foot.setflags(write=False)
    return replace(miniature, foot=foot)


def lift_furniture(piece: Blocker, squares: Squares, by: float) -> Blocker:
    """Return furniture on tiles where it was set on the bare floor below them; see ``lift_miniature``."""
    corners = np.concatenate([ring for face in piece.faces for ring in face])
    lift = _lift(float(corners[:, 2].min()), corners[:, :2].mean(axis=0), squares, by)
    if lift == 0.0:
        return piece
    up = np.array([0.0, 0.0, lift])
    return replace(piece, faces=tuple(tuple(ring + up for ring in face) for face in piece.faces))


def _lift(foot: float, middle: np.ndarray, squares: Squares, by: float) -> float:
    """Return how far something is lifted whose foot stands within the height of the tiles, mm; 0 beside the room."""
    top = float(squares.origin[2])
    if not top - by - SNAP <= foot < top - SNAP:
        return 0.0
    away = middle - squares.origin[:2]
    column, row = (int(np.floor(float(away @ way[:2]) / squares.size)) for way in (squares.u, squares.v))
    within = 0 <= row < squares.rows and 0 <= column < squares.columns and bool(squares.inside[row, column])
    return top - foot if within else 0.0
