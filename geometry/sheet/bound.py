"""The fewest sheets that any layout needs, with a reason that the maker can follow.

Area alone promises too much: long walls cannot lie across the sheet, and two of them cannot lie
end to end, so they stack up across its middle like books on a shelf. Counting the shelves gives a
bound that a layout can often reach.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..tolerance import LENGTH

__all__ = ["fewest_sheets"]


def fewest_sheets(
    outlines: Mapping[str, Polygon], turns: Mapping[str, Sequence[int]], room: tuple[float, float], spacing: float
) -> tuple[int, str]:
    """Return a number of sheets below which no layout by quarter turns exists, and why.

    outlines: drawn outline per part id, part frame. turns: quarter turns each part may take.
    room: width and height inside the margins, mm. spacing: least distance of two outlines, mm.
    """
    if not outlines:
        return 0, "there is nothing to cut"
    best = _by_area(outlines, room, spacing)
    for along in (0, 1):
        count, why = _by_stacking(outlines, turns, room, spacing, along)
        if count > best[0]:
            best = (count, why)
    return best


def _by_area(outlines: Mapping[str, Polygon], room: tuple[float, float], spacing: float) -> tuple[int, str]:
    """Bound by area: each part with half the spacing around it, on a sheet with half the spacing added."""
    claimed = sum(shapely.buffer(outline, spacing / 2).area for outline in outlines.values())
    sheet = (room[0] + spacing) * (room[1] + spacing)
    count = max(1, math.ceil(claimed / sheet - LENGTH))
    return count, f"the parts with their spacing cover {claimed / sheet:.2f} times the usable area of a sheet"


def _by_stacking(
    outlines: Mapping[str, Polygon],
    turns: Mapping[str, Sequence[int]],
    room: tuple[float, float],
    spacing: float,
    along: int,
) -> tuple[int, str]:
    """Bound by parts that must lie along one direction (0: x, 1: y) and reach across the sheet's middle."""
    length, height = room[along], room[1 - along]
    long_parts = {}
    for name, outline in outlines.items():
        ways = {_lies(outline, quarter, along) for quarter in turns[name]}
        fitting = {way for way in ways if way[1] <= length + LENGTH and way[2] <= height + LENGTH}
        if len(fitting) == 1 and (way := fitting.pop())[1] > length / 2 + LENGTH:
            long_parts[name] = way
    if not long_parts:
        return 0, ""
    shortest = min(way[1] for way in long_parts.values())
    demand = []
    for name, (axis, reach, _) in long_parts.items():
        outline = outlines[name]
        # None of the long parts can hide in a hole that is smaller than the shortest of them.
        holes = [hole for hole in outline.interiors if _span(hole) >= shortest]
        demand.append(_narrowest(Polygon(outline.exterior, holes), axis, reach - length / 2, length / 2) + spacing)
    count = _shelves(demand, height + spacing)
    names = ", ".join(sorted(long_parts))
    share = sum(demand) / (height + spacing)
    return count, (
        f"{names} can only lie along the sheet and are longer than half of it, so no two lie end to end; "
        f"across its middle they and their spacing take {share:.2f} times the usable width and do not stack on fewer"
    )


def _lies(outline: Polygon, quarter: int, along: int) -> tuple[int, float, float]:
    """Return (axis of the part that runs along, extent along, extent across) for a turn."""
    x0, y0, x1, y1 = outline.bounds
    extent = (x1 - x0, y1 - y0)
    axis = along if quarter % 2 == 0 else 1 - along
    return axis, extent[axis], extent[1 - axis]


def _span(ring: shapely.LinearRing) -> float:
    x0, y0, x1, y1 = ring.bounds
    return math.hypot(x1 - x0, y1 - y0)


def _narrowest(outline: Polygon, axis: int, first: float, last: float) -> float:
    """Return the least wood across the part at any station from ``first`` to ``last`` along it.

    Between two corners the wood across changes linearly, so stations just beside corners suffice.
    """
    origin = outline.bounds[axis]
    corners = shapely.get_coordinates(outline)[:, axis] - origin
    marks = np.concatenate([corners - LENGTH, corners + LENGTH, [first, last]])
    stations = np.unique(marks[(marks >= first) & (marks <= last)]) + origin
    low, high = outline.bounds[1 - axis] - 1.0, outline.bounds[3 - axis] + 1.0
    across = np.empty((len(stations), 2, 2))
    across[:, :, axis] = stations[:, None]
    across[:, :, 1 - axis] = [low, high]
    return float(shapely.length(shapely.intersection(shapely.linestrings(across), outline)).min())


def _shelves(demand: Sequence[float], capacity: float) -> int:
    """Return a lower bound for packing lengths into shelves: Martello and Toth's L2 (1990; from memory)."""
    best = 0
    for split in {0.0, *(each for each in demand if each <= capacity / 2)}:
        large = [each for each in demand if each > capacity - split + LENGTH]
        middle = [each for each in demand if capacity / 2 + LENGTH < each <= capacity - split + LENGTH]
        small = [each for each in demand if split <= each <= capacity / 2 + LENGTH]
        spare = len(middle) * capacity - sum(middle)
        best = max(best, len(large) + len(middle) + max(0, math.ceil((sum(small) - spare) / capacity - LENGTH)))
    return best
