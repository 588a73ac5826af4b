"""Squares: the scale grid of one room, on which miniatures stand and shares are counted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["Squares"]


@dataclass(frozen=True, slots=True, eq=False)
class Squares:
    """A grid of columns x rows.

    origin: (3,) mm, its lower left corner on the floor, in the model. u, v: (3,) unit, along columns
    and rows, level. size: side of a square, mm. inside: (rows, columns) bool, the squares that belong
    to the room (an L-plan leaves some out).
    """

    origin: np.ndarray
    u: np.ndarray
    v: np.ndarray
    size: float
    inside: np.ndarray

    @property
    def rows(self) -> int:
        """Squares along v."""
        return int(self.inside.shape[0])

    @property
    def columns(self) -> int:
        """Squares along u."""
        return int(self.inside.shape[1])

    @property
    def centres(self) -> np.ndarray:
        """The middle of every square on the floor, (rows, columns, 3) mm."""
        at_u = (np.arange(self.columns) + 0.5) * self.size
        at_v = (np.arange(self.rows) + 0.5) * self.size
        return self.origin + at_u[None, :, None] * self.u + at_v[:, None, None] * self.v
