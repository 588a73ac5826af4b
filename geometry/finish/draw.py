"""A finish drawn on a surface: the pattern, and what goes round the openings."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import shapely

from .courses import Drawing, boards, bricks, coursed_stone, pantiles, shingles, slates, thatch
from .finish import Finish, Pattern
from .paving import chequer, flagstones, parquet
from .rubble import rubble
from .surface import Surface
from .surrounds import surround
from .timber import timber

__all__ = ["draw"]

_PATTERNS: Mapping[Pattern, Callable[[Finish, Surface], Drawing]] = {
    Pattern.UPRIGHT_BOARDS: boards,
    Pattern.LEVEL_BOARDS: boards,
    Pattern.LAPPED_BOARDS: boards,
    Pattern.STRETCHER_BOND: bricks,
    Pattern.ENGLISH_BOND: bricks,
    Pattern.FLEMISH_BOND: bricks,
    Pattern.COURSED_STONE: coursed_stone,
    Pattern.RUBBLE: rubble,
    Pattern.TIMBER_FRAME: timber,
    Pattern.SLATES: slates,
    Pattern.SHINGLES: shingles,
    Pattern.PANTILES: pantiles,
    Pattern.THATCH: thatch,
    Pattern.FLAGSTONES: flagstones,
    Pattern.CHEQUER: chequer,
    Pattern.BASKET: parquet,
    Pattern.HERRINGBONE: parquet,
}


def draw(finish: Finish, surface: Surface) -> tuple[Drawing, Drawing, shapely.Geometry]:
    """Return the lines of the pattern, those round openings, and the area in which the latter replace the former.

    All lines are arrays of (n, points, 2) mm and reach beyond the surface.

    >>> from shapely.geometry import box
    >>> from .finish import finish_of
    >>> pattern, around, taken = draw(finish_of(Pattern.STRETCHER_BOND), Surface.of(box(0, 0, 60, 25)))
    >>> len(around), taken.is_empty
    (0, True)
    """
    around, taken = surround(finish, surface) if finish.pattern is not Pattern.TIMBER_FRAME else ([], None)
    pattern = [np.asarray(block, dtype=float) for block in _PATTERNS[finish.pattern](finish, surface)]
    return pattern, around, taken if taken is not None else shapely.Polygon()
