"""Registration: what lets the three boards of a joiner come together in one way only.

Two holes go through core and cheeks, for toothpicks or slivers of scrap that stay in the glue and are trimmed
flush. They lie off the middle to different sides and at different distances from foot and top, so that a board
that is upside down or back to front does not go on. The core bears an arrow that points
up, on the face that looks out: the outer cheek hides it.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ..part import frozen

__all__ = ["arrow_up", "peg_places"]

#: From foot and top to the two holes, and board left beside a hole, mm (common practice, no source).
_FROM_FOOT, _FROM_TOP, _WEB = 7.0, 10.0, 2.0

#: Farthest from the middle line, mm.
_ASIDE = 2.5

#: Between both holes there must stay room for the label and the arrow, mm.
_BETWEEN = 15.0


def peg_places(common: Polygon, middle: float, core_width: float, peg: float) -> tuple[tuple[float, float], ...]:
    """Return where the centres of the two holes lie, in the facet's plane (u, v), mm; none where there is no room.

    common: what all three boards cover. middle: u of the break line. peg: diameter of the holes, mm; 0 for none.
    """
    aside = min(_ASIDE, core_width / 2 - _WEB - peg / 2)
    if peg <= 0.0 or aside <= 0.0 or common.is_empty:
        return ()
    low, high = common.bounds[1], common.bounds[3]
    upper = _top_at(common, middle + aside, high) - _FROM_TOP
    lower = low + _FROM_FOOT
    if upper - lower < _BETWEEN + peg:
        return ()
    places = ((middle - aside, lower), (middle + aside, upper))
    if not all(common.contains(Point(place).buffer(peg / 2 + _WEB)) for place in places):
        return ()
    return places


def _top_at(common: Polygon, u: float, high: float) -> float:
    line = shapely.intersection(common, shapely.LineString([(u, common.bounds[1]), (u, high)]))
    return float(line.bounds[3]) if not line.is_empty else high


def arrow_up(centre: tuple[float, float], size: float) -> tuple[np.ndarray, ...]:
    """Return the lines of an arrow that points up, ``size`` high about its centre, mm."""
    x, y = centre
    head, foot, barb = y + size / 2, y - size / 2, size / 3
    return (
        frozen(np.array([[x, foot], [x, head]])),
        frozen(np.array([[x - barb, head - barb], [x, head], [x + barb, head - barb]])),
    )
