"""How much of a part lies across each line of a sheet: what bounds on the number of sheets count.

Parts on a sheet do not overlap, so on any straight line across it their pieces lie one after the other and
are no longer together than the line. Doors, windows and steps make those pieces short; yet where a gap of a
part is narrow, no wide part of another can lie in it. So narrow gaps may count as wood, as long as narrow
tongues, which might lie in such gaps, do not count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..tolerance import ANGLE, LENGTH
from .outline_fit import slices

__all__ = ["Crossing", "cross", "without_idle_holes"]

#: Slopes are described by steps that are no longer than this share of the part ...
_STEPS = 96

#: ... and steps that differ by less than this share of such a length are one.
_RISE = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Crossing:
    """What lies across a part: ``across`` (k,) mm or more of it at stations between ``stations`` (k + 1,), mm.

    Stations are counted from the beginning of the part's box and end at its end.
    """

    stations: np.ndarray
    across: np.ndarray

    @property
    def length(self) -> float:
        """The length of the part's box along which stations are counted, mm."""
        return float(self.stations[-1])


def cross(area: shapely.Geometry, axis: int, gaps: Sequence[float]) -> list[Crossing]:
    """Return how much of an area lies across lines at right angles to ``axis`` (0: stations are x, 1: y).

    gaps: mm, one result for each; along the axis, runs of the area shorter than this do not count, and then gaps
    shorter than this between what is left count as filled. Areas that do not overlap stay so, if all have the
    same gap: a run no shorter than the gap cannot lie in a gap, nor across one that has such runs to both sides.
    """
    x0, y0, x1, y1 = area.bounds
    begin, length = ((x0, x1 - x0), (y0, y1 - y0))[axis]
    every = _runs(slices(shapely.transform(area, lambda points: points[:, ::-1]) if axis == 0 else area))
    return [_described(_without(every, gap), begin, length) for gap in gaps]


def _described(runs: np.ndarray, begin: float, length: float) -> Crossing:
    """Return what lies of runs across each station from ``begin`` on."""
    stations = np.concatenate([runs[:, 2:].ravel() - begin, np.linspace(0.0, length, _STEPS + 1)])
    stations = np.unique(np.clip(stations, 0.0, length))
    stations = stations[np.concatenate([[True], np.diff(stations) > 2 * ANGLE])]
    stations[-1] = length
    # between corners it changes linearly, so what lies across is least at either end
    least = np.minimum(*(_wood(runs, begin + at) for at in (stations[:-1] + ANGLE, stations[1:] - ANGLE)))
    least = np.maximum(least - LENGTH, 0.0)
    first = _coarser(stations, least, length / _STEPS)
    return Crossing(np.append(stations[:-1][first], length), np.minimum.reduceat(least, first))


def _coarser(stations: np.ndarray, least: np.ndarray, width: float) -> list[int]:
    """Return where steps begin when neighbours are joined that differ little, or are short and differ not much."""
    first, low, high = [0], least[0], least[0]
    for k, here in enumerate(least.tolist()):
        low, high = min(low, here), max(high, here)
        rise = high - low
        short = stations[k + 1] - stations[first[-1]] <= width
        if rise > (5 * _RISE if short else _RISE) * width:
            first.append(k)
            low = high = here
    return first


def _runs(rows: np.ndarray) -> np.ndarray:
    """Cut rows, slices over y, at all their levels into runs, in order: (k, 6) as slices."""
    levels = np.unique(rows[:, :2])
    levels = levels[np.concatenate([[True], np.diff(levels) > LENGTH / 10])] if len(levels) else levels
    first = np.searchsorted(levels, rows[:, 0] + LENGTH / 10, side="right") - 1
    count = np.searchsorted(levels, rows[:, 1] + LENGTH / 10, side="right") - 1 - first
    row = np.repeat(np.arange(len(rows)), count)
    level = first[row] + np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)
    y0, y1, left0, left1, right0, right1 = rows[row].T
    share = [(levels[at] - y0) / (y1 - y0) for at in (level, level + 1)]
    ends = [from_ + way * (to - from_) for from_, to in ((left0, left1), (right0, right1)) for way in share]
    order = np.lexsort((ends[0] + ends[1], level))
    return np.column_stack([levels[level], levels[level + 1], *ends])[order]


def _without(runs: np.ndarray, gap: float) -> np.ndarray:
    """Leave out runs shorter than the gap, then join those of one row that are parted by less than it."""
    if gap <= 0:
        return runs
    runs = runs[(runs[:, 4:] - runs[:, 2:4]).min(axis=1) >= gap]
    if len(runs) < 2:
        return runs
    parted = (runs[1:, 2:4] - runs[:-1, 4:]).max(axis=1) >= gap - LENGTH
    parted |= runs[1:, 0] != runs[:-1, 0]
    begins, ends = np.concatenate([[True], parted]), np.concatenate([parted, [True]])
    return np.column_stack([runs[begins, :4], runs[ends, 4:]])


def _wood(runs: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Return how much of the runs lies across each station, mm."""
    if len(runs) == 0:
        return np.zeros(len(at))
    tall = runs[:, 1] - runs[:, 0]
    before = _share_beyond(runs[:, 2], runs[:, 3], at)
    after = 1.0 - _share_beyond(runs[:, 4], runs[:, 5], at)
    return np.asarray(np.maximum(1.0 - before - after, 0.0) @ tall)


def _share_beyond(first: np.ndarray, last: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Return (stations, edges): which share of each edge's height lies beyond each station."""
    low, high = np.minimum(first, last), np.maximum(first, last)
    wide = np.maximum(high - low, ANGLE / 10)
    return np.clip((high - at[:, None]) / wide, 0.0, 1.0)


def without_idle_holes(area: Polygon, boxes: np.ndarray) -> Polygon:
    """Fill the holes that take none of the ``boxes``, (k, 2) shorter and longer side of each part, mm."""
    holes = []
    for hole in area.interiors:
        x0, y0, x1, y1 = hole.bounds
        short, long = sorted((x1 - x0, y1 - y0))
        if ((boxes[:, 0] <= short + LENGTH) & (boxes[:, 1] <= long + LENGTH)).any():
            holes.append(hole)
    return Polygon(area.exterior, holes)
