"""Miniatures and furniture: what stands on the squares."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["Miniature"]


@dataclass(frozen=True, slots=True, eq=False)
class Miniature:
    """One miniature, taken as an upright cylinder.

    name: unique. foot: (3,) mm, middle of its base on the floor. base: diameter, mm. height: of its
    head above the floor, base included, mm. squares: it takes squares x squares of the grid.
    """

    name: str
    foot: np.ndarray
    base: float = 25.0
    height: float = 35.0
    squares: int = 1
