"""The grain arrow: engraved into the margin of a sheet, where no part lies, to compare with the board on the laser."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..beam.lettering import letter, letter_width
from ..board.stock import Grain
from .layout import Sheet
from .routing import lie_on_bed

__all__ = ["SHEET_MARKS", "grain_arrow"]

#: Stands in place of a part id where something belongs to the sheet as a whole.
SHEET_MARKS = "sheet"

#: Words and arrow are so high at most, mm, keep this from both sides of the margin, and are left out where letters
#: would be lower than the least, which nobody reads (common practice, no source).
_HIGHEST, _AIR, _LEAST = 2.5, 0.4, 1.2

#: Length of the arrow, in heights of its letters.
_LONG = 10.0


def grain_arrow(sheet: Sheet) -> list[np.ndarray]:
    """Return the word "grain" and a double arrow along the grain, (k, 2) mm each, in the lower or left margin.

    The grain of plywood is that of its faces, which run along the sheet: of its two sizes the one along the grain is
    named first (common practice, no source). Nothing for a board without grain, nor in a margin too narrow for
    letters that can be read.
    """
    along = Grain.LENGTH if sheet.stock.grain is Grain.CROSSED else sheet.stock.grain
    _, grain, _ = lie_on_bed(replace(sheet.stock, grain=along), sheet.laser)
    margin = sheet.laser.margin
    high = min(_HIGHEST, margin - 2 * _AIR)
    if grain is None or high < _LEAST:
        return []
    shaft = letter_width("grain ", high) + np.array([0.0, _LONG * high])
    start, end = (np.array([x, high / 2]) for x in shaft)
    barb = high / 2
    arrow = [np.array([start, end])]
    for tip, way in ((start, 1.0), (end, -1.0)):
        arrow.append(tip + np.array([[way * barb, barb], [0.0, 0.0], [way * barb, -barb]]))
    # letters have tails below their line
    words = [stroke * 0.7 + np.array([0.0, 0.3 * high]) for stroke in letter("grain", high)]
    corner = np.array([margin, (margin - high) / 2])
    lines = [line + corner for line in (*words, *arrow)]
    if abs(math.sin(grain)) < 0.5:
        return lines
    # along the left edge, read from the right
    return [np.column_stack([margin - line[:, 1], line[:, 0]]) for line in lines]
