"""Dark units: which fields between the lines of a finish are hatched.

Of timber frames the timbers, of bonds the headers, of chequers and parquet every other cell; of all else a share by
chance, as burnt bricks and weathered boards are.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from .chance import chance
from .draw import draw
from .finish import Finish, Pattern
from .surface import Surface
from .timber import frame

__all__ = ["cells_of", "dark_units", "is_dark"]

#: Lines that end on others within this are joined there, mm: a hundredth of a line's width.
_JOINED = 1e-3

#: Share of units that are dark where no rule says which (common practice, no source).
_SHARE = 0.3

#: Bricks shorter than this share of a stretcher are headers.
_HEADER = 0.75

#: Places of units are told apart by chance to this, mm: finer than any unit, coarser than noise of the model.
_PLACE = 0.25


def dark_units(finish: Finish, surface: Surface, lines: Sequence[np.ndarray]) -> shapely.Geometry:
    """Return the area of all dark units on a surface, in its coordinates.

    lines: of the pattern, arrays of (n, points, 2) mm.
    """
    if finish.pattern is Pattern.TIMBER_FRAME:
        return shapely.union_all([member.shape for member in frame(finish, surface)])
    cells = _cells(surface, lines)
    if not len(cells):
        return Polygon()
    return shapely.union_all(cells[is_dark(finish, cells)])


def cells_of(finish: Finish, surface: Surface) -> np.ndarray:
    """Return the fields between the lines of a pattern within the box of a surface, (n,) polygons."""
    return _cells(surface, draw(finish, surface)[0])


def _cells(surface: Surface, lines: Sequence[np.ndarray]) -> np.ndarray:
    """Return the fields between lines within the box of a surface, (n,) polygons."""
    drawn = np.concatenate([shapely.linestrings(block) for block in lines if len(block)] or [[]])
    frame = box(*surface.box)
    if not len(drawn):
        return np.array([frame])
    inside = shapely.intersection(drawn, frame)
    noded = shapely.union_all([*inside, frame.exterior], grid_size=_JOINED)
    return np.asarray(shapely.get_parts(shapely.polygonize(shapely.get_parts(noded))))


def is_dark(finish: Finish, cells: np.ndarray) -> np.ndarray:
    """Return which fields between lines are dark, (n,) bool. Of timber frames ``dark_units`` knows better."""
    x0, y0, x1, y1 = shapely.bounds(cells).T
    match finish.pattern:
        case Pattern.CHEQUER:
            side = finish.length
            middle = np.column_stack([x0 + x1, y0 + y1]) / 2
            return np.asarray(np.floor(middle / side).sum(axis=1) % 2 == 1)
        case Pattern.FLEMISH_BOND | Pattern.ENGLISH_BOND:
            return np.asarray(x1 - x0 < _HEADER * finish.length)
        case Pattern.BASKET | Pattern.HERRINGBONE:
            return np.asarray(y1 - y0 > x1 - x0)
        case _:
            corner = np.rint(np.column_stack([x0, y0]) / _PLACE).astype(np.int64)
            return chance(finish.seed, corner[:, 0], corner[:, 1]) < _SHARE
