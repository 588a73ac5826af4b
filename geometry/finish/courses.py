"""Patterns in level courses: boards, brick bonds, coursed stone, slates, shingles, pantiles and thatch.

Every function takes a finish and a surface and returns lines as arrays of shape (n, points, 2), mm. Lines reach
beyond the surface; what is not on a board is cut off later. A joint is drawn once.
"""

from __future__ import annotations

import math

import numpy as np

from .chance import chance
from .finish import Finish, Pattern
from .surface import Surface

__all__ = ["Drawing", "boards", "bricks", "coursed_stone", "pantiles", "shingles", "slates", "thatch"]

#: Lines of a pattern: arrays of shape (n, points, 2), mm.
Drawing = list[np.ndarray]

#: Butts of boards move on by this share of a board from course to course: the golden section, so that none line up.
_GOLDEN = 0.382

#: The shadow below the edge of a lapped board lies this share of a board under it, 0.7 mm at least: two lines of
#: 0.3 mm stay two (common practice, no source).
_SHADOW, _LEAST_SHADOW = 0.2, 0.7

#: A joint of shingles keeps this share of a shingle from those of two courses: 40 of 200 mm (shingle code).
_SHINGLE_OFFSET = 0.2

#: A joint of coursed stone keeps this share of a stone from the one below: an ashlar lap of one course (half a stone).
_STONE_LAP = 0.3

#: Heights of stone courses are the mean times 1 plus or minus this share at most.
_STONE_HEIGHTS = 0.3

#: Points of the arc that one pantile shows.
_ARC = 7

#: The arc of a pantile is this share of its width high (common practice, no source).
_SAGITTA = 1.0 / 6.0

#: A stroke of thatch is moved by this share of its cell at most, and is so long in cells (common practice, no source).
_STRAY, _STROKE = 0.35, (0.75, 1.25)


def boards(finish: Finish, surface: Surface) -> Drawing:
    """Return upright, level or lapped boards."""
    x0, y0, x1, y1 = surface.box
    if finish.pattern is Pattern.UPRIGHT_BOARDS:
        width = surface.along(finish.height)
        x = surface.columns(width) * width
        return [_between(np.column_stack([x, np.full_like(x, y0)]), np.column_stack([x, np.full_like(x, y1)]))]
    height, length = surface.up(finish.height), surface.along(finish.length)
    rows, columns = surface.courses(height), surface.columns(length)
    # the shift is a share of a board, so that butts close round the building
    x = (columns[None, :] + (rows[:, None] * _GOLDEN) % 1.0) * length
    lines = [_level(rows * height, x0, x1), _perps(x, rows, height)]
    if finish.pattern is Pattern.LAPPED_BOARDS:
        below = max(_SHADOW * height, _LEAST_SHADOW)
        lines.append(_level(rows * height - below, x0, x1))
    return lines


def bricks(finish: Finish, surface: Surface) -> Drawing:
    """Return a stretcher, English or Flemish bond."""
    unit = surface.along(1.5 * finish.length if finish.pattern is Pattern.FLEMISH_BOND else finish.length)
    height = surface.up(finish.height)
    rows, columns = surface.courses(height), surface.columns(unit)
    odd = (rows % 2 == 1)[:, None]
    lines = [_level(rows * height, surface.box[0], surface.box[2])]
    if finish.pattern is Pattern.FLEMISH_BOND:
        # a stretcher and a header; the next course has its headers in the middle of these stretchers
        start = columns[None, :] * unit + odd * unit / 2
        return [*lines, _perps(start, rows, height), _perps(start + unit * 2 / 3, rows, height)]
    if finish.pattern is Pattern.ENGLISH_BOND:
        headers = columns[None, :] * unit + unit / 4
        stretchers = np.broadcast_to(columns[None, :] * unit, (len(rows), len(columns)))
        high = rows[odd[:, 0]]
        return [
            *lines,
            _perps(stretchers[~odd[:, 0]], rows[~odd[:, 0]], height),
            _perps(np.broadcast_to(headers, (len(high), len(columns))), high, height),
            _perps(np.broadcast_to(headers + unit / 2, (len(high), len(columns))), high, height),
        ]
    return [*lines, _perps(columns[None, :] * unit + odd * unit / 2, rows, height)]


def slates(finish: Finish, surface: Surface) -> Drawing:
    """Return slates: courses a gauge high, joints over the middles of the slates below."""
    width, gauge = surface.along(finish.length), surface.up(finish.height)
    rows, columns = surface.courses(gauge), surface.columns(width)
    x = (columns[None, :] + (rows[:, None] % 2) / 2) * width
    return [_level(rows * gauge, surface.box[0], surface.box[2]), _perps(x, rows, gauge)]


def shingles(finish: Finish, surface: Surface) -> Drawing:
    """Return shingles of many widths, whose joints keep clear of those of the two courses below."""
    width, gauge = surface.along(finish.length), surface.up(finish.height)
    rows, columns = surface.courses(gauge), surface.columns(width)
    free = (1.0 / 3.0 - _SHINGLE_OFFSET) / 2
    x = (columns[None, :] + (rows[:, None] % 3) / 3 + free * _stray(finish, surface, width, rows, columns)) * width
    return [_level(rows * gauge, surface.box[0], surface.box[2]), _perps(x, rows, gauge)]


def coursed_stone(finish: Finish, surface: Surface) -> Drawing:
    """Return squared stones in courses of several heights, the same round the whole building."""
    width = surface.along(finish.length)
    first, heights = _course_heights(finish, surface)
    rows, columns = np.arange(first, first + len(heights) - 1), surface.columns(width)
    free = (0.5 - _STONE_LAP) / 2
    x = (columns[None, :] + (rows[:, None] % 2) / 2 + free * _stray(finish, surface, width, rows, columns)) * width
    low, high = (np.broadcast_to(side[:, None], x.shape) for side in (heights[:-1], heights[1:]))
    perps = _between(np.stack([x, low], axis=-1).reshape(-1, 2), np.stack([x, high], axis=-1).reshape(-1, 2))
    return [_level(heights, surface.box[0], surface.box[2]), perps]


def _course_heights(finish: Finish, surface: Surface) -> tuple[int, np.ndarray]:
    """Return the number of the lowest course and the heights of all beds, (n,) mm; course 0 stands on height 0.

    A whole number of courses fills the rise; gables go on with the courses of the wall below.
    """
    rise = surface.rise or max(surface.reach, surface.box[3])
    count = max(round(rise / finish.height), 1)
    share = 1.0 + _STONE_HEIGHTS * (2.0 * chance(finish.seed, 0, np.arange(count)) - 1.0)
    beds = np.concatenate([[0.0], np.cumsum(share[:-1])]) * (rise / share.sum())
    below, above = math.floor(surface.box[1] / rise), math.ceil(surface.box[3] / rise)
    copies = np.arange(below, max(above, below + 1))
    return below * count, np.append((beds[None, :] + copies[:, None] * rise).reshape(-1), (copies[-1] + 1) * rise)


def pantiles(finish: Finish, surface: Surface) -> Drawing:
    """Return pantiles: rolls up the slope, and in every course the arcs of their fronts as one line."""
    cover, gauge = surface.along(finish.length), surface.up(finish.height)
    rows, columns = surface.courses(gauge), surface.columns(cover)
    _, y0, _, y1 = surface.box
    rolls = columns * cover
    up = _between(np.column_stack([rolls, np.full_like(rolls, y0)]), np.column_stack([rolls, np.full_like(rolls, y1)]))
    share = np.linspace(0.0, 1.0, _ARC)
    # a circle through both ends and its crown, the crown toward the eaves
    sagitta = _SAGITTA * cover
    radius = (cover**2 / 4 + sagitta**2) / (2 * sagitta)
    half = np.arcsin(cover / 2 / radius)
    turn = (2 * share - 1) * half
    arc_x, arc_y = radius * np.sin(turn) + cover / 2, -(radius * np.cos(turn) - radius + sagitta)
    along = (rolls[:, None] + arc_x[None, :-1]).reshape(-1)
    drop = np.broadcast_to(arc_y[:-1], (len(rolls), _ARC - 1)).reshape(-1)
    fronts = np.stack(
        np.broadcast_arrays(along[None, :], (rows * gauge)[:, None] + drop[None, :]),
        axis=-1,
    )
    return [up, fronts]


def thatch(finish: Finish, surface: Surface) -> Drawing:
    """Return strokes up the slope, one in every cell, each a little off its middle."""
    across, up = surface.along(finish.length), surface.up(finish.height)
    rows, columns = surface.courses(up), surface.columns(across)
    side = _STRAY * _stray(finish, surface, across, rows, columns, 1)
    rise = _STRAY * _stray(finish, surface, across, rows, columns, 2)
    lean = _STRAY * _stray(finish, surface, across, rows, columns, 3)
    share = (_stray(finish, surface, across, rows, columns, 4) + 1.0) / 2
    half = up * (_STROKE[0] + (_STROKE[1] - _STROKE[0]) * share) / 2
    x, y = (columns[None, :] + 0.5 + side) * across, (rows[:, None] + 0.5 + rise) * up
    foot = np.stack([x - lean * across / 2, y - half], axis=-1).reshape(-1, 2)
    return [_between(foot, np.stack([x + lean * across / 2, y + half], axis=-1).reshape(-1, 2))]


def _stray(
    finish: Finish, surface: Surface, unit: float, rows: np.ndarray, columns: np.ndarray, draw: int = 0
) -> np.ndarray:
    """Return a number from -1 to 1 for every unit, (rows, columns); the same where x comes round again."""
    around = surface.around(unit)
    column = columns if around is None else columns % around
    return 2.0 * chance(finish.seed, draw, rows[:, None], column[None, :]) - 1.0


def _level(heights: np.ndarray, x0: float, x1: float) -> np.ndarray:
    """Return a level line at each height, (n, 2, 2) mm."""
    ends = np.empty((len(heights), 2, 2))
    ends[:, 0, 0], ends[:, 1, 0] = x0, x1
    ends[:, :, 1] = np.asarray(heights)[:, None]
    return ends


def _perps(x: np.ndarray, rows: np.ndarray, height: float) -> np.ndarray:
    """Return an upright joint through its course at each x, (rows, n) mm, as (n, 2, 2) mm."""
    x = np.broadcast_to(x, (len(rows), x.shape[1]))
    low = np.broadcast_to((rows * height)[:, None], x.shape)
    return _between(np.stack([x, low], axis=-1).reshape(-1, 2), np.stack([x, low + height], axis=-1).reshape(-1, 2))


def _between(starts: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Return the lines from starts to ends, (n, 2) mm each, as (n, 2, 2) mm."""
    return np.stack([starts, ends], axis=1)
