"""Offcuts: what a sheet still holds once its parts are cut out of it.

A maker who keeps an offcut wants a rectangle that a straight cut or two parts from the rest. It is free of
everything that was drawn and of half the spacing round it, and it runs up to the sheet's own edges.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..nest.outline_fit import slices
from ..part import Part
from ..tolerance import AREA, LENGTH
from .layout import Layout
from .piece import Piece, prepare
from .routing import Bench, lies_lengthwise

__all__ = ["LEAST", "Offcut", "Rectangle", "find_offcuts", "is_useful", "largest_free"]

#: (longer, shorter) side that a piece must have to be worth a place on the shelf, mm: the margin off all
#: round, a few strips of a joiner still come out of it. Common practice, no source.
LEAST = (100.0, 50.0)

#: Slanting sides are followed in steps of this size, mm: sizes are rounded down to whole millimetres anyway.
_STEP = 1.0

#: Cells of the raster that tells what is free at least, mm: fine enough to drop nearly all that is smaller.
_CELL = 4.0

#: (left, low, right, high) in mm.
Rectangle = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Offcut:
    """A piece that a sheet leaves. sheet: number from 0; length: along the length of the stock's sheets, whole mm.

    corner: lower left one on the sheet, mm; size: (width, height) as it lies there, mm.
    """

    sheet: int
    stock: str
    length: float
    width: float
    corner: tuple[float, float]
    size: tuple[float, float]


def is_useful(length: float, width: float, least: tuple[float, float] = LEAST) -> bool:
    """Return whether a piece of this size is worth keeping."""
    return max(length, width) >= least[0] and min(length, width) >= least[1]


def find_offcuts(
    layout: Layout, parts: Mapping[str, Part], *, least: tuple[float, float] = LEAST
) -> tuple[Offcut, ...]:
    """Return what every sheet leaves: the largest rectangle, then the largest of what remains, while it is useful.

    Sizes are rounded down to whole millimetres. What a sheet had beyond the laser's bed is not in it.
    """
    found = []
    for index, sheet in enumerate(layout.sheets):
        bench = Bench(sheet.laser, sheet.stock, sheet.size, None, ())
        lengthwise = lies_lengthwise(sheet.stock, sheet.laser)
        areas = []
        for placement in layout.on_sheet(index):
            # asked on a boundless sheet: what is pinned may lie in a way that its own sheet does not take again
            piece, _ = prepare(parts[placement.part], sheet.stock, sheet.laser, bench.beam, (math.inf, math.inf), None)
            if isinstance(piece, Piece):
                areas.append(shapely.transform(piece.area, placement.place))
        while (free := largest_free(sheet.size, areas, least=least)) is not None:
            left, low, right, high = free
            size = (float(math.floor(right - left + LENGTH)), float(math.floor(high - low + LENGTH)))
            if not is_useful(*size, least):
                break
            length, width = size if lengthwise else size[::-1]
            found.append(Offcut(index, sheet.stock.name, length, width, (left, low), size))
            areas.append(shapely.buffer(shapely.box(*free), sheet.laser.spacing / 2, join_style="mitre"))
    return tuple(found)


def largest_free(
    size: tuple[float, float], areas: Sequence[shapely.Geometry], *, least: tuple[float, float] = (0.0, 0.0)
) -> Rectangle | None:
    """Return the largest upright rectangle of a sheet of ``size`` (width, height) mm that meets none of the areas.

    None where none has sides of ``least`` (longer, shorter). Exact for areas whose sides run along the sheet's;
    slanting sides are followed by steps, so each side may stay a step short of what was possible, never beyond.
    All rectangles that cannot grow are kept while one box after another is taken out of them; those that are no
    larger than what a coarse raster has found free already are dropped on the way.
    """
    taken = [_boxes(slices(area)) for area in areas]
    boxes = np.concatenate([np.empty((0, 4)), *taken])
    boxes = boxes[np.argsort(-(boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1]), kind="stable")]
    enough = _free_on_raster(size, boxes, least)
    free = np.array([[0.0, 0.0, *size]])
    for box in boxes:
        free = _without(free, box, least, enough)
    if len(free) == 0:
        return None
    sides = free[:, 2:] - free[:, :2]
    ranked = np.lexsort((free[:, 1], free[:, 0], -np.round(sides.prod(axis=1), 6)))
    left, low, right, high = (float(side) for side in free[ranked[0]])
    return (left, low, right, high)


def _free_on_raster(size: tuple[float, float], boxes: np.ndarray, least: tuple[float, float]) -> float:
    """Return the area of the largest rectangle of whole cells with sides of ``least`` that no box meets, mm^2.

    Heights of free columns are looked at row by row; a stack holds those that may still grow to the right.
    """
    nx, ny = (max(1, int(side // _CELL)) for side in size)
    taken = np.zeros((ny, nx), dtype=bool)
    first = np.maximum(np.floor(boxes[:, :2] / _CELL), 0).astype(int)
    last = np.maximum(np.ceil(boxes[:, 2:] / _CELL), 0).astype(int)
    for (x0, y0), (x1, y1) in zip(first, last, strict=True):
        taken[y0:y1, x0:x1] = True
    heights, best = np.zeros(nx, dtype=int), 0
    for row in taken:
        heights = np.where(row, 0, heights + 1)
        waiting: list[tuple[int, int]] = []  # (where it begins, height), rising
        for place, height in enumerate((*heights.tolist(), 0)):
            begin = place
            while waiting and waiting[-1][1] >= height:
                begin, lower = waiting.pop()
                if is_useful(_CELL * lower, _CELL * (place - begin), least):
                    best = max(best, lower * (place - begin))
            waiting.append((begin, height))
    return best * _CELL**2


def _boxes(cut: np.ndarray) -> np.ndarray:
    """Return (k, 4) upright boxes over the slices of an area, narrow where a slice's sides slant."""
    if len(cut) == 0:
        return np.empty((0, 4))
    wide = cut[:, 1] - cut[:, 0]
    rise = np.maximum(abs(cut[:, 3] - cut[:, 2]), abs(cut[:, 5] - cut[:, 4]))
    # a box that is no wider than a step, or that its slice leaves by no more than a step, is good enough
    counts = np.maximum(1, np.ceil(np.minimum(wide, np.where(rise > LENGTH, rise, 0.0)) / _STEP)).astype(int)
    which = np.repeat(np.arange(len(cut)), counts)
    step = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    begin, end = step / counts[which], (step + 1) / counts[which]
    x0, dx = cut[which, 0], wide[which]
    low0, low1, high0, high1 = (cut[which, k] for k in (2, 3, 4, 5))
    low = np.minimum(low0 + begin * (low1 - low0), low0 + end * (low1 - low0))
    high = np.maximum(high0 + begin * (high1 - high0), high0 + end * (high1 - high0))
    return np.column_stack([x0 + begin * dx, low, x0 + end * dx, high])


def _without(free: np.ndarray, box: np.ndarray, least: tuple[float, float], enough: float) -> np.ndarray:
    """Return the largest rectangles, (k, 4), that stay when a box is taken out of those given.

    least: sides (longer, shorter), and enough: an area, that they must reach.
    """
    met = (free[:, :2] < box[2:] - LENGTH).all(axis=1) & (free[:, 2:] > box[:2] + LENGTH).all(axis=1)
    if not met.any():
        return free
    old, kept = free[met], free[~met]
    beside = []
    for axis in (0, 1):
        before, after = old.copy(), old.copy()
        before[:, 2 + axis], after[:, axis] = box[axis], box[2 + axis]
        beside += [before, after]
    new = np.concatenate(beside)
    sides = np.sort(new[:, 2:] - new[:, :2], axis=1)
    large = (sides[:, 0] > max(least[1] - LENGTH, LENGTH)) & (sides[:, 1] > least[0] - LENGTH)
    new = np.unique(new[large & (sides[:, 0] * sides[:, 1] >= enough - AREA)], axis=0)
    every = np.concatenate([kept, new])
    # what lies in another one adds nothing; of equals, ``unique`` has left one
    low = np.all(every[None, :, :2] <= new[:, None, :2], axis=2)
    high = np.all(every[None, :, 2:] >= new[:, None, 2:], axis=2)
    inside: np.ndarray = low & high
    inside[np.arange(len(new)), len(kept) + np.arange(len(new))] = False
    return np.concatenate([kept, new[~np.any(inside, axis=1)]])
