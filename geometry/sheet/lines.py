"""Drawn lines: what the beam follows, many at a time.

A lattice alone has hundreds of slits, so lines are kept as one array of points with the index
where each line starts, never as one object per line.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

__all__ = ["Lines"]


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Drawn lines in the order of cutting; in a file they are one compound path.

    points: (n, 2) mm. starts: (m + 1,) where each of the m lines begins, and n at the end.
    closed: (m,) bool, whether a line returns to its first point (which is not repeated).
    """

    points: np.ndarray
    starts: np.ndarray
    closed: np.ndarray

    def __post_init__(self) -> None:
        for name, kind in (("points", np.float64), ("starts", np.intp), ("closed", np.bool_)):
            values = np.array(getattr(self, name), dtype=kind)
            if name == "points":
                values = values.reshape(-1, 2)
            values.setflags(write=False)
            object.__setattr__(self, name, values)

    @classmethod
    def of(cls, polylines: Iterable[np.ndarray], *, closed: bool = False) -> Lines:
        """Return the lines through the points of each polyline, (k, 2) mm; fewer than two points are no line."""
        kept = [np.asarray(line, dtype=np.float64) for line in polylines if len(line) > 1]
        points = np.concatenate(kept) if kept else np.empty((0, 2))
        starts = np.concatenate([[0], np.cumsum([len(line) for line in kept])])
        return cls(points, starts, np.full(len(kept), closed))

    @classmethod
    def joined(cls, several: Iterable[Lines]) -> Lines:
        """Return all lines of ``several`` as one value, in the order given."""
        kept = list(several)
        if not kept:
            return cls.of(())
        shifts = np.cumsum([0] + [len(each.points) for each in kept])
        starts = [each.starts[:-1] + shift for each, shift in zip(kept, shifts, strict=False)]
        return cls(
            np.concatenate([each.points for each in kept]),
            np.concatenate([*starts, shifts[-1:]]),
            np.concatenate([each.closed for each in kept]),
        )

    def __len__(self) -> int:
        return len(self.closed)

    def polylines(self) -> list[np.ndarray]:
        """Return the points of each line, (k, 2) mm."""
        return [self.points[a:b] for a, b in zip(self.starts[:-1], self.starts[1:], strict=True)]

    def moved(self, points: np.ndarray) -> Lines:
        """Return the same lines through other points, (n, 2) mm: turned, shifted or flipped ones."""
        return Lines(points, self.starts, self.closed)

    def singly(self) -> list[Lines]:
        """Return each line as a value of its own."""
        shut = self.closed.tolist()
        return [Lines.of([line], closed=close) for line, close in zip(self.polylines(), shut, strict=True)]

    @property
    def begins(self) -> np.ndarray:
        """Where the beam comes down for each line, (m, 2) mm."""
        return self.points[self.starts[:-1]]

    @property
    def ends(self) -> np.ndarray:
        """Where the beam leaves each line, (m, 2) mm."""
        return self.points[np.where(self.closed, self.starts[:-1], self.starts[1:] - 1)]

    def segments(self) -> np.ndarray:
        """Return the straight pieces of all lines, (k, 2, 2) mm."""
        count = len(self.points)
        following = np.arange(1, count + 1)
        following[self.starts[1:] - 1] = self.starts[:-1]
        drawn = np.ones(count, dtype=bool)
        drawn[self.starts[1:] - 1] = self.closed
        return np.stack([self.points[drawn], self.points[following[drawn]]], axis=1)

    @property
    def length(self) -> float:
        """Length of all lines together, mm."""
        pieces = self.segments()
        return float(np.hypot(*(pieces[:, 1] - pieces[:, 0]).T).sum())
