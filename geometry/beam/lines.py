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
        shifts = np.cumsum([0] + [len(lines.points) for lines in kept])
        starts = [lines.starts[:-1] + shift for lines, shift in zip(kept, shifts, strict=False)]
        return cls(
            np.concatenate([lines.points for lines in kept]),
            np.concatenate([*starts, shifts[-1:]]),
            np.concatenate([lines.closed for lines in kept]),
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

    def backward(self) -> Lines:
        """Return the same lines from the last point to the first one."""
        return Lines(self.points[::-1], self.starts[-1] - self.starts[::-1], self.closed[::-1])

    def without(self, gaps: Iterable[tuple[float, float]]) -> Lines:
        """Return a single closed line opened along ``gaps``, (from, to) mm along it from its start, modulo its length.

        Without gaps it is the line itself; what remains starts behind the first gap and ends before it.
        """
        total = self.length
        spans = sorted((begin % total, end - begin) for begin, end in gaps if end > begin)
        if not spans:
            return self
        if any(length >= total for _, length in spans):
            return Lines.of(())
        origin = spans[0][0]
        merged: list[list[float]] = []
        for begin, length in sorted(((begin - origin) % total, length) for begin, length in spans):
            if merged and begin <= merged[-1][1]:
                merged[-1][1] = max(merged[-1][1], begin + length)
            else:
                merged.append([begin, begin + length])
        if merged[-1][1] > total:  # the last gap runs over the first one's beginning
            merged[0][1] = max(merged[0][1], merged[-1][1] - total)
        stations, points = self._twice_round()
        pieces = []
        for (_, begin), (end, _) in zip(merged, [*merged[1:], [total, total]], strict=True):
            if end > begin:
                ends = origin + np.array([begin, end])
                corners = points[(stations > ends[0]) & (stations < ends[1])]
                tips = np.column_stack([np.interp(ends, stations, points[:, axis]) for axis in (0, 1)])
                pieces.append(np.concatenate([tips[:1], corners, tips[1:]]))
        return Lines.of(pieces)

    def _twice_round(self) -> tuple[np.ndarray, np.ndarray]:
        """Return distances along a single closed line, mm, and its corners there, for two rounds."""
        points = np.concatenate([self.points, self.points, self.points[:1]])
        steps = np.hypot(*np.diff(points, axis=0).T)
        return np.concatenate([[0.0], np.cumsum(steps)]), points

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
