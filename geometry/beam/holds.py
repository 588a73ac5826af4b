"""Where an outline is left uncut: at small holds that keep a part from dropping, and along common edges.

A part that drops tips, and a tipped part may meet the beam or jam the head. A hold is a short bridge
to the waste that a knife parts afterwards. And where two outlines share an edge, the first cut has
already made it: a beam that follows it again only chars it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..tolerance import DRAWN, ONE_CUT
from .laser import Laser
from .lines import Lines

__all__ = ["common_gaps", "hold_count", "hold_gaps", "share_edge", "share_line"]

#: Sides that take a hold where a part has such: on tabs and in notches the nib would be in the way, mm.
#: Common practice, no source.
_SIDE = 20.0

#: A hold stays this far from a corner, mm, and is looked for in steps of this size. Common practice, no source.
_STEP = 1.0


#: A part no longer than this falls between the bars of a knife bed, which stand 20 to 30 mm apart, mm, and so many
#: holds keep it up. Common practice, no source.
_FALLS_THROUGH, _AT_LEAST = 25.0, 2


def hold_count(ring: Lines, laser: Laser) -> int:
    """Return how many holds an outline gets: what the laser's settings ask for, and two for a part that falls through.

    >>> hold_count(Lines.of([[(0, 0), (9, 0), (9, 9)]], closed=True), Laser())
    2
    """
    small = len(ring.points) > 0 and float(np.ptp(ring.points, axis=0).max()) <= _FALLS_THROUGH
    return max(laser.holds, _AT_LEAST) if small else laser.holds


def hold_gaps(
    ring: Lines,
    laser: Laser,
    kerf: float,
    *,
    avoid: shapely.Geometry,
    taken: Sequence[tuple[float, float]] = (),
    count: int | None = None,
) -> list[tuple[float, float]]:
    """Return where the outline is not drawn so that holds stay, (from, to) mm along it.

    They are as evenly spread as long sides allow, off the corners, outside ``avoid`` (lattices, whose
    slits open at the edge) and outside the gaps ``taken``. Each is a kerf longer than the hold, since
    the beam burns half a kerf past the ends of a line. Fewer than asked for where there is no room.
    count: how many, those of the laser's settings unless given.
    """
    count = laser.holds if count is None else count
    if not count:
        return []
    width = laser.hold_length + kerf
    middles, points = _places(ring, width)
    free = ~shapely.intersects_xy(shapely.buffer(avoid, width), points) if len(points) else np.zeros(0, dtype=bool)
    total = ring.length
    for begin, end in taken:
        free &= _apart(middles, (begin + end) / 2, total) > (end - begin + width) / 2
    gaps = []
    for number in range(count):
        target = (number + 0.5) / count * total
        far = np.where(free, _apart(middles, target, total), np.inf)
        if not len(far) or not np.isfinite(far.min()):
            break
        middle = float(middles[int(np.argmin(far))])
        gaps.append((middle - width / 2, middle + width / 2))
        free &= _apart(middles, middle, total) > 4 * width
    return gaps


def _places(ring: Lines, width: float) -> tuple[np.ndarray, np.ndarray]:
    """Return places for the middle of a hold: distances along the outline, mm, and the points there."""
    sides = ring.segments()
    lengths = np.hypot(*(sides[:, 1] - sides[:, 0]).T)
    begins = np.concatenate([[0.0], np.cumsum(lengths)[:-1]])
    stations, points = [], []
    for side, length, begin in zip(sides, lengths, begins, strict=True):
        inset = width / 2 + _STEP
        if length < min(_SIDE, lengths.max()) - DRAWN or length < 2 * inset:
            continue
        along = np.linspace(inset, length - inset, 1 + int((length - 2 * inset) / _STEP))
        stations.append(begin + along)
        points.append(side[0] + (along / length)[:, None] * (side[1] - side[0]))
    if not stations:
        return np.empty(0), np.empty((0, 2))
    return np.concatenate(stations), np.concatenate(points)


def _apart(stations: np.ndarray, station: float, total: float) -> np.ndarray:
    """Return the distances along a closed line of this length, the shorter way round."""
    there = np.abs(stations - station) % total
    shorter: np.ndarray = np.minimum(there, total - there)
    return shorter


def share_edge(one: Polygon, two: Polygon) -> bool:
    """Tell whether two drawn outlines lie beside one another along a common line, within what a file can show."""
    if shapely.area(shapely.intersection(one, two)) > DRAWN * min(one.length, two.length):
        return False
    return share_line(one, two)


def share_line(one: Polygon, two: Polygon) -> bool:
    """Tell whether two drawn rings follow one another for a stretch, side by side or one within the other."""
    near = shapely.intersection(shapely.buffer(one.exterior, ONE_CUT, cap_style="flat"), two.exterior)
    return bool(near.length > 10 * ONE_CUT)


def common_gaps(ring: Lines, drawn: Sequence[Lines]) -> list[tuple[float, float]]:
    """Return the stretches of a closed line that lie on lines ``drawn`` before, (from, to) mm along it."""
    if not drawn:
        return []
    others = np.concatenate([lines.segments() for lines in drawn])
    gaps = []
    begin = 0.0
    for side in ring.segments():
        run = side[1] - side[0]
        length = float(np.hypot(*run))
        if length > DRAWN:
            run = run / length
            from_start = others - side[0]
            aside = np.abs(from_start[..., 0] * run[1] - from_start[..., 1] * run[0]).max(axis=1)
            along = from_start @ run
            low, high = np.maximum(along.min(axis=1), 0.0), np.minimum(along.max(axis=1), length)
            for k in np.flatnonzero((aside < ONE_CUT) & (high - low > ONE_CUT)):
                gaps.append((begin + float(low[k]), begin + float(high[k])))
        begin += length
    return gaps
