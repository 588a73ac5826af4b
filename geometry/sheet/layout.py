"""Layout: parts turned (never mirrored) and placed on as few sheets as the packer finds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..findings import Finding

__all__ = ["Layout", "Placement", "Sheet"]


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


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: name of its stock, (width, height) in mm as it lies on the laser, share of area used."""

    stock: str
    size: tuple[float, float]
    used_share: float
    file: str


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where every part lies. bound: (fewest sheets possible, why) for all stocks together."""

    sheets: tuple[Sheet, ...]
    placements: tuple[Placement, ...]
    bound: tuple[int, str]
    findings: tuple[Finding, ...]
