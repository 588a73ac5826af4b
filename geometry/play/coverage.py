"""Coverage: how much of every square a region covers, exactly, in one pass along its outline.

By Green's theorem the area of a region is the integral of x dy round its outline. Cut at the lines of
the grid, every piece of outline adds to its own square what lies left of it there, and its whole rise to
all squares to the left in its row, as exact-coverage rendering of glyphs accumulates signed areas.
"""

from __future__ import annotations

import numpy as np
import shapely

__all__ = ["coverage"]


def coverage(regions: np.ndarray, columns: int, rows: int, size: float) -> np.ndarray:
    """Return the share of every square that each region covers, (n, rows, columns).

    regions: (n,) polygons, multipolygons or empty ones without overlaps, mm, the grid's lower left corner at
    the origin and squares of ``size``. Exact to rounding.
    """
    count = len(regions)
    parts, of_part = shapely.get_parts(regions, return_index=True)
    flat = (shapely.get_type_id(parts) == 3) & ~shapely.is_empty(parts)
    parts, of_part = parts[flat], of_part[flat]
    total = np.zeros((count, rows, columns + 1))
    if not len(parts):
        return total[:, :, :columns]
    _, points, (rings, ends) = shapely.to_ragged_array(shapely.orient_polygons(parts))
    points = points[:, :2] / size
    region = np.repeat(np.repeat(of_part, np.diff(ends)), np.diff(rings))
    joined = np.ones(len(points) - 1, dtype=bool)
    joined[rings[1:-1] - 1] = False
    start, end, region = points[:-1][joined], points[1:][joined], region[:-1][joined]
    # level pieces have no rise; what lies left of the grid, above or below it covers no square of it
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    near = (high > 0.0) & (low < rows) & (high > low) & (np.maximum(start[:, 0], end[:, 0]) > 0.0)
    start, end, region = _pieces(start[near], end[near], region[near], columns, rows)

    middle, rise = (start + end) / 2.0, end[:, 1] - start[:, 1]
    row = np.floor(middle[:, 1]).astype(int)
    inside = (row >= 0) & (row < rows) & (middle[:, 0] > 0.0)
    middle, rise, row, region = middle[inside], rise[inside], row[inside], region[inside]
    column = np.minimum(np.floor(middle[:, 0]).astype(int), columns)
    share = np.where(column < columns, rise * (middle[:, 0] - column), 0.0)
    place = (region * rows + row) * (columns + 1) + column
    cells = total.size
    own = np.bincount(place, weights=share, minlength=cells).reshape(total.shape)
    past = np.bincount(place, weights=rise, minlength=cells).reshape(total.shape)
    beyond = np.cumsum(past[:, :, ::-1], axis=2)[:, :, ::-1]
    return own[:, :, :columns] + beyond[:, :, 1:]


def _pieces(
    start: np.ndarray, end: np.ndarray, region: np.ndarray, columns: int, rows: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the sides cut at every line of the grid."""
    count = len(start)
    step = end - start
    sides, shares = [np.arange(count), np.arange(count)], [np.zeros(count), np.ones(count)]
    for axis, lines in ((0, columns), (1, rows)):
        low, high = np.minimum(start[:, axis], end[:, axis]), np.maximum(start[:, axis], end[:, axis])
        first = np.clip(np.floor(low) + 1, 0, lines + 1).astype(int)
        last = np.clip(np.ceil(high) - 1, -1, lines).astype(int)
        many = np.maximum(last - first + 1, 0)
        side = np.repeat(np.arange(count), many)
        line = np.arange(int(many.sum())) - np.repeat(np.cumsum(many) - many - first, many)
        sides.append(side)
        shares.append((line - start[side, axis]) / step[side, axis])
    side, share = np.concatenate(sides), np.concatenate(shares)
    # one key for both: shares lie within 0 .. 1
    order = np.argsort(side + np.clip(share, 0.0, 1.0) * 0.5, kind="stable")
    side, share = side[order], share[order]
    same = side[1:] == side[:-1]
    one, two, side = share[:-1][same], share[1:][same], side[1:][same]
    return start[side] + one[:, None] * step[side], start[side] + two[:, None] * step[side], region[side]
