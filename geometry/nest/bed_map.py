"""A coarse map of a sheet, one bit per cell, that shows at once every place where a part may fit.

The whole map is one whole number. Shifting it and joining it with itself moves a part over all places
of the sheet together, so a wall is tried at some ten thousand places in the time of a few additions.
The map errs on one side only: a place that it rules out is taken, one that it offers is to be measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

import numpy as np

from .outline_fit import Shape

__all__ = ["BedMap", "Stamp", "stamp"]

#: Just inside a cell's edge, as a share of the cell.
_EDGE = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Stamp:
    """The cells that a shape fills for certain when its box starts at a cell's corner.

    groups: (first column, number of equal columns, runs of (first row, length)). effort: about how many
    shifts of the map it takes to try the shape everywhere.
    """

    groups: tuple[tuple[int, int, tuple[tuple[int, int], ...]], ...]
    effort: int


def _rows(cut: np.ndarray, stations: np.ndarray, cell: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return (number of station, low, high) in cells for each slice that each station crosses."""
    first = np.searchsorted(stations, cut[:, 0], side="left")
    count = np.maximum(np.searchsorted(stations, cut[:, 1], side="left") - first, 0)
    which = np.repeat(np.arange(len(cut)), count)
    at = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count) + first[which]
    x0, x1, low0, low1, high0, high1 = cut[which].T
    along = (stations[at] - x0) / (x1 - x0)
    return at, (low0 + (low1 - low0) * along) / cell, (high0 + (high1 - high0) * along) / cell


def _grid(columns: int, rows: int, at: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Return (columns, rows) bool: rows low .. high - 1 of each run are filled."""
    low, high = np.clip(low, 0, rows).astype(np.intp), np.clip(high, 0, rows).astype(np.intp)
    kept = high > low
    steps = np.zeros((columns, rows + 1), dtype=np.int16)
    np.add.at(steps, (at[kept], low[kept]), 1)
    np.add.at(steps, (at[kept], high[kept]), -1)
    return np.cumsum(steps[:, :-1], axis=1) > 0


def stamp(shape: Shape, cell: float) -> Stamp:
    """Return the cells, ``cell`` mm wide, that the shape fills for certain; at least one."""
    columns, rows = (max(1, int(np.ceil(side / cell - _EDGE))) for side in shape.size)
    full = np.ones((columns, rows), dtype=bool)
    begin = np.arange(columns) * cell
    for inset in (_EDGE, 0.5, 1 - _EDGE):
        at, low, high = _rows(shape.upright, begin + inset * cell, cell)
        full &= _grid(columns, rows, at, np.ceil(low - _EDGE), np.floor(high + _EDGE))
    if not full.any():
        at, low, high = _rows(shape.upright, begin + cell / 2, cell)
        full = _grid(columns, rows, at, np.ceil(low - 0.5), np.ceil(high - 0.5))
    if not full.any():
        full[columns // 2, rows // 2] = True
    return _grouped(full)


def _grouped(full: np.ndarray) -> Stamp:
    """Join equal neighbouring columns."""
    starts = np.concatenate([[0], np.flatnonzero((full[1:] != full[:-1]).any(axis=1)) + 1, [len(full)]]).tolist()
    groups, effort = [], 0
    for first, after in pairwise(starts):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], full[first].astype(np.int8), [0]]))).tolist()
        runs = tuple((a, b - a) for a, b in zip(edges[::2], edges[1::2], strict=True))
        if runs:
            groups.append((first, after - first, runs))
            effort += 3 * len(runs) + 2 * (after - first).bit_length()
    return Stamp(tuple(groups), effort)


@dataclass(slots=True)
class BedMap:
    """The map of one sheet of ``size`` (width, height) mm; a cell is taken where its middle is.

    Bits run up the first column, then up the second, and so on, ``stride`` for each. shape: number of columns and
    rows. widened: the map with each cell grown down.
    """

    size: tuple[float, float]
    cell: float
    bits: int = 0
    widened: list[int] = field(default_factory=list)

    shape: tuple[int, int] = field(init=False)
    stride: int = field(init=False)

    def __post_init__(self) -> None:
        columns, rows = (max(1, math.ceil(side / self.cell)) for side in self.size)
        self.shape = (columns, rows)
        self.stride = 8 * (rows // 8 + 1)  # whole bytes, and at least one bit between columns

    def take(self, cut: np.ndarray) -> None:
        """Mark the slices of a shape, in the sheet's frame, as taken."""
        columns, rows = self.shape
        level = (np.abs(cut[:, 3] - cut[:, 2]) + np.abs(cut[:, 5] - cut[:, 4])) < _EDGE
        flat = cut[level] / self.cell
        edges = np.clip(np.ceil(flat[:, [0, 1, 2, 4]] - 0.5), 0, [columns, columns, rows, rows]).astype(int)
        for first, after, low, high in edges.tolist():
            if after > first and high > low:
                self.bits |= _spread((1 << high) - (1 << low), after - first, self.stride) << first * self.stride
        at, low, high = _rows(cut[~level], (np.arange(columns) + 0.5) * self.cell, self.cell)
        if len(at):
            runs = np.stack([at, *np.clip(np.ceil(np.stack([low, high]) - 0.5), 0, rows)]).astype(int)
            filled = [0] * columns
            for column, bottom, top in runs.T.tolist():
                filled[column] |= (1 << top) - (1 << bottom) if top > bottom else 0
            self.bits |= int.from_bytes(b"".join(row.to_bytes(self.stride // 8, "little") for row in filled), "little")
        self.widened = []

    def _run(self, length: int) -> int:
        """Return the map with each cell taken that lies less than ``length`` below a taken one, in one column."""
        if not self.widened:
            self.widened = [self.bits]
        power = length.bit_length() - 1
        while len(self.widened) <= power:
            last = self.widened[-1]
            self.widened.append(last | last >> (1 << len(self.widened) - 1))
        wide = self.widened[power]
        rest = length - (1 << power)
        return wide | wide >> rest if rest else wide

    def free(self, mark: Stamp, size: tuple[float, float]) -> int:
        """Return a map of the corners where the shape of ``mark`` with this box may lie; bits as in the map."""
        columns, rows = self.shape
        stride = self.stride
        wide = int((self.size[0] - size[0]) / self.cell + 0.5 + _EDGE) + 1
        tall = int((self.size[1] - size[1]) / self.cell + 0.5 + _EDGE) + 1
        if size[0] > self.size[0] + _EDGE or size[1] > self.size[1] + _EDGE:
            return 0
        taken = 0
        for first, count, runs in mark.groups:
            column = 0
            for low, length in runs:
                column |= self._run(length) >> low
            reach = 1
            while 2 * reach <= count:
                column |= column >> reach * stride
                reach *= 2
            if reach < count:
                column |= column >> (count - reach) * stride
            taken |= column >> first * stride
        return _allowed(min(wide, columns), min(tall, rows), stride) & ~taken

    def within(self, boxes: Sequence[tuple[float, float, float, float]], size: tuple[float, float]) -> int:
        """Return a map of the corners where a box of this size may lie in one of ``boxes``, (x0, y0, x1, y1) mm each.

        It offers a cell too many on every side rather than one too few.
        """
        found = 0
        for x0, y0, x1, y1 in boxes:
            if x1 - x0 < size[0] - _EDGE or y1 - y0 < size[1] - _EDGE:
                continue
            first, lowest = (max(0, math.floor(at / self.cell)) for at in (x0, y0))
            last = min(self.shape[0] - 1, math.ceil((x1 - size[0]) / self.cell))
            top = min(self.shape[1] - 1, math.ceil((y1 - size[1]) / self.cell))
            if last >= first and top >= lowest:
                column = (1 << top + 1) - (1 << lowest)
                found |= _spread(column, last - first + 1, self.stride) << first * self.stride
        return found

    def corners(self, free: int, closely: int) -> Iterator[tuple[float, float]]:
        """Yield the lowest corner in columns of a map of free places, mm, from left to right.

        So many of the first columns are looked at one by one, then ever fewer.
        """
        column, seen, step = 0, 0, 1
        while free:
            skipped, row = divmod((free & -free).bit_length() - 1, self.stride)
            column += skipped
            yield column * self.cell, row * self.cell
            seen += 1
            step = 1 if seen < closely else 2 * step
            column += step
            free >>= (skipped + step) * self.stride

    def column(self, x: float) -> int:
        """Return a map of all cells in the column at x, mm."""
        return (1 << self.stride) - 1 << round(x / self.cell) * self.stride


@lru_cache(maxsize=4096)
def _allowed(wide: int, tall: int, stride: int) -> int:
    """Return the map of the first ``wide`` columns, each filled up to ``tall``."""
    return _spread((1 << tall) - 1, wide, stride)


def _spread(column: int, count: int, stride: int) -> int:
    """Return a column's bits repeated in so many columns."""
    filled, done = column, 1
    while done < count:
        step = min(done, count - done)
        filled |= filled << step * stride
        done += step
    return filled
