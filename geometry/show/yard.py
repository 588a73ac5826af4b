"""The yard: places on the ground before the building, where sections are bent and joiners are glued up."""

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


@dataclass(slots=True, eq=False)
class Yard:
    """Places beside one another in rows as wide as the building, each row before the last one."""

    site: Site
    _right: float = field(init=False)
    _back: float = field(init=False)
    _depth: float = 0.0

    def __post_init__(self) -> None:
        self._right, self._back = float(self.site.low[0]), float(self.site.low[1]) - _BEFORE

    def take(self, size: np.ndarray) -> np.ndarray:
        """Return the middle of a place of this size, (2,) mm, on the ground, (3,) mm."""
        wide, deep = float(size[0]), float(size[1])
        if self._right > self.site.low[0] and self._right + wide > self.site.high[0]:
            self._back -= self._depth + _BETWEEN
            self._right, self._depth = float(self.site.low[0]), 0.0
        middle = np.array([self._right + wide / 2, self._back - deep / 2, self.site.ground])
        self._right += wide + _BETWEEN
        self._depth = max(self._depth, deep)
        return middle


def moved(pose: Pose, way: np.ndarray) -> Pose:
    """Return a pose moved by a way, (3,) mm."""
    return Pose(np.column_stack([pose.turn, pose.origin + way]))
