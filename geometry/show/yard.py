"""The yard: places on the ground before building and box, where sections are bent and joiners are glued up."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ..pose import Pose

__all__ = ["Site", "Yard", "moved"]

#: Between two places of the yard, and between it and the building, mm.
_BETWEEN, _BEFORE = 25.0, 60.0


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """Where things happen: lowest and highest corner of the standing building, (3,) mm, and corners of the box.

    The box stands on the same ground as the sheets and the yard.
    """

    low: np.ndarray
    high: np.ndarray
    box: np.ndarray

    @property
    def ground(self) -> float:
        return float(self.box[0, 2])


@dataclass(slots=True)
class _Row:
    """A row of places: where its next place ends at the right, its back, and how deep it is, mm."""

    right: float
    back: float
    depth: float


@dataclass(slots=True, eq=False)
class Yard:
    """Places beside one another in rows from the building's right to the box's left, each row before the last one.

    Small places fill what earlier rows leave, so that all stays near the building.
    """

    site: Site
    _rows: list[_Row] = field(default_factory=list)

    def take(self, size: np.ndarray) -> np.ndarray:
        """Return the middle of a place of this size, (2,) mm, on the ground, (3,) mm."""
        wide, deep = float(size[0]), float(size[1])
        left = min(float(self.site.low[0]), float(self.site.box[0, 0]))
        row = next((row for row in self._rows if deep <= row.depth and row.right - wide >= left), None)
        if row is None:
            last = self._rows[-1] if self._rows else None
            if last is not None and last.right - wide >= left:
                row = last
                row.depth = deep
            else:
                row = self._new_row(deep)
        middle = np.array([row.right - wide / 2, row.back - deep / 2, self.site.ground])
        row.right -= wide + _BETWEEN
        return middle

    def _new_row(self, depth: float) -> _Row:
        """Open a row before all others."""
        if self._rows:
            back = self._rows[-1].back - self._rows[-1].depth - _BETWEEN
        else:
            back = min(float(self.site.low[1]), float(self.site.box[0, 1])) - _BEFORE
        self._rows.append(_Row(float(self.site.high[0]), back, depth))
        return self._rows[-1]


def moved(pose: Pose, way: np.ndarray) -> Pose:
    """Return a pose moved by a way, (3,) mm."""
    return Pose(np.column_stack([pose.turn, pose.origin + way]))
