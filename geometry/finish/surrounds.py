"""What finishes draw round openings: a frame of boards, or soldiers above and a course of headers below."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from .finish import Finish, Pattern
from .surface import Surface

__all__ = ["surround"]

#: Bricks stand on end above an opening and reach this share of a brick beyond it on both sides.
_BEARING = 0.5

#: The course below a window ends on the bed so many courses below its foot, so that headers are a course to two high.
_SILL = 2

#: Patterns that put soldiers above an opening.
_BONDS = (Pattern.STRETCHER_BOND, Pattern.ENGLISH_BOND, Pattern.FLEMISH_BOND)

#: Patterns that frame an opening with boards, and how wide these are in boards.
_BOARDS = (Pattern.UPRIGHT_BOARDS, Pattern.LEVEL_BOARDS, Pattern.LAPPED_BOARDS)

#: Stones round an opening are this share of a course wide.
_DRESSED = 0.8

#: Openings whose area differs from their box by more than this share are round or pointed.
_SQUARE = 0.01


def surround(finish: Finish, surface: Surface) -> tuple[list[np.ndarray], shapely.Geometry]:
    """Return the lines round all openings, (n, points, 2) mm, and the area that they take from the pattern."""
    lines: list[np.ndarray] = []
    areas: list[shapely.Geometry] = []
    if not finish.frames:
        return lines, Polygon()
    for opening in surface.openings:
        made = _soldiers if finish.pattern in _BONDS and _is_square(opening) else _frame
        drawn, area = made(finish, surface, opening)
        lines += drawn
        areas.append(area)
    return lines, shapely.union_all(areas) if areas else Polygon()


def _is_square(opening: Polygon) -> bool:
    return bool(opening.area > (1.0 - _SQUARE) * box(*opening.bounds).area)


def _soldiers(finish: Finish, surface: Surface, opening: Polygon) -> tuple[list[np.ndarray], shapely.Geometry]:
    """Return a flat arch of an odd number of soldiers, and below a window a course of headers on edge."""
    x0, y0, x1, y1 = opening.bounds
    bear, height = _BEARING * finish.length, surface.up(finish.height)
    left, right = x0 - bear, x1 + bear
    count = 2 * round(((right - left) / finish.height - 1) / 2) + 1
    # the arch ends on the bed next to a brick's length, so that no sliver of a course lies above it
    top = round((y1 + finish.length) / height) * height
    lines = [_upright(np.linspace(left, right, count + 1), y1, top), _level([y1, top], left, right)]
    areas = [box(left, y1, right, top)]
    if y0 > surface.box[1] + height:
        foot = (math.ceil(y0 / height) - _SILL) * height
        lines += [_upright(np.linspace(left, right, count + 1), foot, y0), _level([foot, y0], left, right)]
        areas.append(box(left, foot, right, y0))
    return lines, shapely.union_all(areas)


def _frame(finish: Finish, surface: Surface, opening: Polygon) -> tuple[list[np.ndarray], shapely.Geometry]:
    """Return a frame as wide as a board or a dressed stone, mitred, all round; a door's stands on the floor."""
    wide = finish.height if finish.pattern in _BOARDS else _DRESSED * finish.height
    outer = opening.buffer(wide, join_style="mitre", mitre_limit=2.0)
    x0, y0, x1, y1 = opening.bounds
    if y0 <= surface.box[1] + wide:
        ox0, _, ox1, oy1 = outer.bounds
        outer = outer.intersection(box(ox0, y0 - 1.0, ox1, oy1))
    lines = [shapely.get_coordinates(outer.exterior)[None]]
    if _is_square(opening) and _is_square(outer):
        ox0, oy0, ox1, oy1 = outer.bounds
        mitres = [[(x0, y1), (ox0, oy1)], [(x1, y1), (ox1, oy1)]]
        if oy0 < y0 - wide / 2:
            mitres += [[(x0, y0), (ox0, oy0)], [(x1, y0), (ox1, oy0)]]
        lines.append(np.array(mitres))
    return lines, outer


def _upright(x: np.ndarray, low: float, high: float) -> np.ndarray:
    lines = np.empty((len(x), 2, 2))
    lines[:, :, 0] = x[:, None]
    lines[:, 0, 1], lines[:, 1, 1] = low, high
    return lines


def _level(heights: list[float], left: float, right: float) -> np.ndarray:
    return np.array([[(left, y), (right, y)] for y in heights])
