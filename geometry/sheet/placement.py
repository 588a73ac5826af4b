"""Placement: where one part lies on its sheet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["Placement"]


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """One part on its sheet.

    turn: the part is turned counter-clockwise by this angle (radians) and then shifted by ``shift``
    (2,) mm; sheet frame: x right, y up, origin at the lower left corner of the sheet.
    """

    part: str
    sheet: int
    turn: float
    shift: np.ndarray

    def place(self, points: np.ndarray) -> np.ndarray:
        """Return points of the part frame, (k, 2) mm, on the sheet."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        return np.asarray(points) @ np.array([[c, s], [-s, c]]) + self.shift
