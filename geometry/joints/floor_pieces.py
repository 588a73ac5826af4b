"""Floors that are too large for a sheet, parted along lines that meet no slot."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from shapely import get_parts
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from ..tolerance import LENGTH, SNAP

__all__ = ["split_floor"]

#: Where slots lie on its lines, a floor parts along those that divide squares into these shares.
_SHARES = (1.0, 0.5, 0.25)

#: A floor without squares may part at multiples of this, mm (common practice, no source).
_WITHOUT_SQUARES = 10.0

#: A floor comes in so many pieces at most.
_MOST_PIECES = 12


def split_floor(
    outline: Polygon,
    slots: list[Polygon],
    origin: np.ndarray,
    square: float | None,
    largest: tuple[float, float],
) -> list[Polygon]:
    """Part a floor that is too large along lines that meet no slot, into as few pieces as it takes.

    The lines are those of the grid; where slots lie on too many of them, those that halve or quarter its squares.
    """
    if _fits(_size(outline), largest):
        return [outline]
    for share in _SHARES if square else (1.0,):
        pieces = _parted(outline, slots, origin, (square or _WITHOUT_SQUARES) * share, largest)
        if pieces:
            return pieces
    return [outline]


def _parted(
    outline: Polygon, slots: list[Polygon], origin: np.ndarray, step: float, largest: tuple[float, float]
) -> list[Polygon]:
    """Return the fewest pieces that fit, parted along lines a step apart, or none where no lines do."""
    x0, y0, x1, y1 = outline.bounds
    free = [
        _free_lines(*ends, float(origin[axis]), step, slots, axis) for axis, ends in enumerate(((x0, x1), (y0, y1)))
    ]
    for cuts in range(2, _MOST_PIECES + 1):
        for columns in range(cuts, 0, -1):
            if cuts % columns:
                continue
            for choose in (_even_lines, _far_lines):
                xs = choose(free[0], (x0, x1), columns, largest)
                ys = choose(free[1], (y0, y1), cuts // columns, largest)
                if xs is None or ys is None:
                    continue
                pieces = _cells(outline, [x0 - 1, *xs, x1 + 1], [y0 - 1, *ys, y1 + 1])
                if pieces and all(_fits(_size(piece), largest) for piece in pieces):
                    return pieces
    return []


def _cells(outline: Polygon, xs: Sequence[float], ys: Sequence[float]) -> list[Polygon]:
    """Return what lies of an outline between lines across x and y."""
    return [
        orient(piece)
        for a, b in pairwise(xs)
        for c, d in pairwise(ys)
        for piece in get_parts(outline.intersection(box(a, c, b, d)))
        if isinstance(piece, Polygon) and not piece.is_empty
    ]


def _free_lines(low: float, high: float, origin: float, step: float, slots: list[Polygon], axis: int) -> list[float]:
    """Return the lines a step apart between low and high that no slot lies on."""
    first, last = math.ceil((low - origin) / step), math.floor((high - origin) / step)
    lines = (origin + k * step for k in range(first, last + 1))
    return [
        at
        for at in lines
        if low < at < high and not any(s.bounds[axis] - SNAP < at < s.bounds[axis + 2] + SNAP for s in slots)
    ]


def _even_lines(
    free: list[float], ends: tuple[float, float], count: int, largest: tuple[float, float]
) -> list[float] | None:
    """Return the free lines nearest to an even division into so many stretches, or None where there are too few."""
    lines: list[float] = []
    for k in range(1, count):
        wanted = ends[0] + (ends[1] - ends[0]) * k / count
        ahead = [at for at in free if not lines or at > lines[-1]]
        if not ahead:
            return None
        lines.append(min(ahead, key=lambda at: abs(at - wanted)))
    return lines


def _far_lines(
    free: list[float], ends: tuple[float, float], count: int, largest: tuple[float, float]
) -> list[float] | None:
    """Return free lines as far apart as the longer side of a sheet lets them be, or None where that takes more."""
    lines: list[float] = []
    for _ in range(1, count):
        last = lines[-1] if lines else ends[0]
        ahead = [at for at in free if last < at <= last + max(largest)]
        if not ahead:
            return None
        lines.append(ahead[-1])
    return lines


def _size(shape: Polygon) -> tuple[float, float]:
    x0, y0, x1, y1 = shape.bounds
    return x1 - x0, y1 - y0


def _fits(size: tuple[float, float], largest: tuple[float, float]) -> bool:
    return min(size) <= min(largest) + LENGTH and max(size) <= max(largest) + LENGTH
