"""Settling: where a miniature that was put down by hand comes to stand on the squares."""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from .squares import Squares

__all__ = ["Spot", "settle"]


class Spot(StrEnum):
    """What of the grid a miniature's middle stands on."""

    FITTING = "fitting"  # whatever lets it fill whole squares: a square for odd sizes, a corner for even ones
    SQUARE = "square"
    EDGE = "edge"
    CORNER = "corner"


def settle(foot: np.ndarray, squares: Squares, *, taken: int = 1, spot: Spot = Spot.FITTING) -> np.ndarray:
    """Return the place nearest to ``foot``, (3,) mm, on which a miniature stands that takes ``taken`` squares each way.

    The grid goes on beyond the room, so that miniatures wait outside in order. The height is the floor's.
    """
    if spot is Spot.FITTING:
        spot = Spot.SQUARE if taken % 2 else Spot.CORNER
    away = np.asarray(foot, dtype=float) - squares.origin
    at = np.array([away @ squares.u, away @ squares.v]) / squares.size
    # a foot on a line belongs to the square on whose side rounding put it: keep to one side
    middle, corner = np.floor(at + 1e-9) + 0.5, np.floor(at + 0.5)
    if spot is Spot.EDGE:
        edges = (np.array([corner[0], middle[1]]), np.array([middle[0], corner[1]]))
        spot_at = min(edges, key=lambda each: round(float(np.hypot(*(each - at))), 9))
    else:
        spot_at = middle if spot is Spot.SQUARE else corner
    return squares.origin + squares.size * (spot_at[0] * squares.u + spot_at[1] * squares.v)
