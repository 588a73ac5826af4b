"""Patterns of floors: chequer, flagstones, and parquet in baskets or herringbone. Lines as (n, 2, 2) mm."""

from __future__ import annotations

import numpy as np

from .courses import Drawing, coursed_stone
from .finish import Finish, Pattern
from .lines import united
from .surface import Surface

__all__ = ["block_of", "chequer", "flagstones", "parquet"]

#: Fewest blocks side by side that are as wide as one is long.
_LEAST_BLOCKS = 2


def chequer(finish: Finish, surface: Surface) -> Drawing:
    """Return square cells as wide as a unit is long."""
    x0, y0, x1, y1 = surface.box
    cell = finish.length
    x, y = surface.columns(cell) * cell, surface.courses(cell) * cell
    upright, level = np.empty((len(x), 2, 2)), np.empty((len(y), 2, 2))
    upright[:, :, 0], level[:, :, 1] = x[:, None], y[:, None]
    upright[:, 0, 1], upright[:, 1, 1] = y0, y1
    level[:, 0, 0], level[:, 1, 0] = x0, x1
    return [upright, level]


def flagstones(finish: Finish, surface: Surface) -> Drawing:
    """Return flags in courses of several widths."""
    return coursed_stone(finish, surface)


def parquet(finish: Finish, surface: Surface) -> Drawing:
    """Return blocks in baskets or herringbone: the edges of a grid's cells where two blocks meet, in long lines."""
    blocks, cell = max(round(finish.length / finish.height), _LEAST_BLOCKS), finish.height
    x, y = surface.columns(cell), surface.courses(cell)
    ids = block_of(finish.pattern, x[None, :], y[:, None], blocks)
    upright, level = ids[:, 1:] != ids[:, :-1], ids[1:] != ids[:-1]
    row, column = np.nonzero(upright)
    ups = _sides(x[column + 1], y[row], (0, 1))
    row, column = np.nonzero(level)
    flats = _sides(x[column], y[row + 1], (1, 0))
    return [united(np.concatenate([ups, flats]) * cell)]


def block_of(pattern: Pattern, x: np.ndarray, y: np.ndarray, blocks: int) -> np.ndarray:
    """Return the number of the block that covers every cell of a grid; whole numbers x and y broadcast.

    blocks: how many cells a block is long.
    """
    x, y = np.broadcast_arrays(x, y)
    if pattern is Pattern.BASKET:
        i, j = x // blocks, y // blocks
        turned = (i + j) % 2
        return _number(i, j * blocks + np.where(turned, x % blocks, y % blocks), turned)
    k = (x - y) % (2 * blocks)
    level = k < blocks
    return _number(np.where(level, x - k, x), np.where(level, y, y - (2 * blocks - 1 - k)), level)


def _number(x: np.ndarray, y: np.ndarray, turned: np.ndarray) -> np.ndarray:
    """Return one number for a place and a direction."""
    number: np.ndarray = (x.astype(np.int64) << 32) + (y.astype(np.int64) << 1) + turned
    return number


def _sides(x: np.ndarray, y: np.ndarray, step: tuple[int, int]) -> np.ndarray:
    start = np.column_stack([x, y]).astype(float)
    return np.stack([start, start + np.array(step)], axis=1)
