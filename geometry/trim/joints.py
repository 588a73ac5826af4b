"""Joints between the shingles or slates of strips: those of the finish, which in diamonds come again in every one.

Without that every strip between two diamonds would be parted at other places, and hardly two would be cut alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ..finish.courses import Drawing, shingles, slates
from ..finish.finish import Finish, Pattern
from ..finish.surface import Surface
from ..settings import SecondShingles, ShinglePattern

__all__ = ["LAPPED", "Joints", "joints_of"]

#: Finishes whose courses are cut as strips, with what draws them: level lines, then joints.
LAPPED = {Pattern.SHINGLES: shingles, Pattern.SLATES: slates}

#: After so many courses joints of these finishes stand in line again but for chance.
_IN_LINE = {Pattern.SHINGLES: 3, Pattern.SLATES: 2}


@dataclass(frozen=True, slots=True, eq=False)
class Joints:
    """Joints of all courses. x: along the eaves, (n,) mm; courses: which each stands in, (n,).

    again: after how many courses they come again, None where all are there.
    """

    x: np.ndarray
    courses: np.ndarray
    again: int | None = None

    def at(self, course: int) -> np.ndarray:
        """Return where the joints of a course stand, (k,) mm from left to right."""
        return np.sort(self.x[self.courses == (course if self.again is None else course % self.again)])


def joints_of(finish: Finish, surface: Surface, second: SecondShingles | None, gauge: float) -> Joints:
    """Return the joints of the strips on a slope. gauge: height of a course along the slope, mm."""
    if second is None or second.pattern is not ShinglePattern.DIAMONDS:
        return Joints(*_columns(LAPPED[finish.pattern](finish, surface), surface.up(finish.height)))
    # a diamond and the field beside it are twice as wide, and as high, as its middle lies above its tip
    courses = 2 * second.courses
    again = math.lcm(courses, _IN_LINE[finish.pattern])
    x0, _, x1, _ = surface.box
    middle = (x0 + x1) / 2.0
    high = again * surface.up(finish.height)
    one = replace(surface, box=(x0 - middle, 0.0, x1 - middle, high), ring=courses * gauge)
    x, rows = _columns(LAPPED[finish.pattern](finish, one), surface.up(finish.height))
    return Joints(x + middle, rows, again)


def _columns(drawn: Drawing, gauge: float) -> tuple[np.ndarray, np.ndarray]:
    """Return where the joints of a drawing stand and in which course, (n,) each."""
    joints = drawn[1]
    return joints[:, 0, 0], np.rint(joints[:, 0, 1] / gauge).astype(int)
