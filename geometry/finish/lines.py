"""Many short lines at once: what lies twice drawn once, what is on the board kept, and a short way of the head."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from ..leaders import leader_of
from ..tolerance import DRAWN

__all__ = ["clip", "cut_away", "ordered", "pack", "united"]

#: Pieces shorter than this are burnt dots, mm (common practice, no source).
SHORTEST = 0.8

#: Candidates for the next line are looked for in this many mean distances of line ends, then in twice as many.
_NEAR = 0.8

#: ... or nearer, so that no more than so many ends are within reach of one: all pairs of a crowd fill the memory.
_CROWD = 32


def united(segments: np.ndarray) -> np.ndarray:
    """Return straight lines, (n, 2, 2) mm, with what lies on one line and touches made one, (m, 2, 2) mm.

    Lines are sorted by direction, offset and start, and neighbours are compared: two that differ by less than DRAWN
    are one line to the laser.
    """
    if not len(segments):
        return segments
    starts, ends = segments[:, 0], segments[:, 1]
    run = ends - starts
    back = (run[:, 0] < -DRAWN) | ((np.abs(run[:, 0]) <= DRAWN) & (run[:, 1] < 0))
    starts, ends = np.where(back[:, None], ends, starts), np.where(back[:, None], starts, ends)
    run = ends - starts
    length = np.hypot(*run.T)
    kept = length > DRAWN
    starts, ends, run, length = starts[kept], ends[kept], run[kept], length[kept]
    along = run / length[:, None]
    turn = _classes(np.arctan2(along[:, 1], along[:, 0]), DRAWN / max(float(length.max()), 1.0))
    along = np.array([along[turn == k].mean(axis=0) for k in range(int(turn.max()) + 1)])[turn]
    along /= np.hypot(*along.T)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    offset = np.empty(len(starts), dtype=np.intp)
    for k in range(int(turn.max()) + 1):
        own = turn == k
        offset[own] = _classes((starts[own] * across[own]).sum(axis=1), DRAWN)
    low, high = (starts * along).sum(axis=1), (ends * along).sum(axis=1)
    order = np.lexsort((low, offset, turn))
    low, high, line = low[order], high[order], np.stack([turn[order], offset[order]])
    new_line = np.concatenate([[True], (np.diff(line) != 0).any(axis=0)])
    # the furthest end so far on each line: lines are set apart so far that the maximum of one ends with it
    span = float(high.max() - low.min()) + 1.0
    apart = np.cumsum(new_line) * span
    reach = np.maximum.accumulate(high + apart)
    new = new_line.copy()
    new[1:] |= low[1:] + apart[1:] > reach[:-1] + DRAWN
    first = np.flatnonzero(new)
    last = np.append(first[1:], len(low)) - 1
    at = order[first]
    begin = low[first]
    end = reach[last] - apart[last]
    level = (starts[at] * across[at]).sum(axis=1)
    return np.stack([along[at] * s[:, None] + across[at] * level[:, None] for s in (begin, end)], axis=1)


def _classes(values: np.ndarray, within: float) -> np.ndarray:
    """Return for every value the number of its class; neighbours in order closer than ``within`` share one."""
    order = np.argsort(values, kind="stable")
    number = np.concatenate([[0], np.cumsum(np.diff(values[order]) > within)])
    classes = np.empty(len(values), dtype=np.intp)
    classes[order] = number
    return classes


def clip(drawing: Sequence[np.ndarray], area: shapely.Geometry) -> list[np.ndarray]:
    """Return what of many lines, arrays of (n, points, 2) mm, lies in an area, as polylines of (k, 2) mm.

    Lines inside are kept whole and only those that cross its edge are cut.
    """
    shapely.prepare(area)
    kept: list[np.ndarray] = []
    for block in drawing:
        if not len(block):
            continue
        whole, cut, pieces = _parted(shapely.linestrings(block), area)
        kept += list(block[whole])
        kept += [piece for k in cut for piece in pieces[k]]
    return kept


def cut_away(lines: Sequence[np.ndarray], area: shapely.Geometry, free: shapely.Geometry) -> list[np.ndarray]:
    """Return polylines, (k, 2) mm each, in their order; those that meet an area only as far as they lie in ``free``."""
    if not lines:
        return []
    points, starts = pack(lines)
    shapes = shapely.linestrings(points, indices=np.repeat(np.arange(len(lines)), np.diff(starts)))
    for prepared in (area, free):
        shapely.prepare(prepared)
    met = np.flatnonzero(shapely.intersects(area, shapes))
    whole, _, pieces = _parted(shapes[met], free)
    left = {int(k): [lines[k]] if whole[i] else pieces.get(i, []) for i, k in enumerate(met.tolist())}
    return [line for k, own in enumerate(lines) for line in left.get(k, [own])]


def _parted(lines: np.ndarray, area: shapely.Geometry) -> tuple[np.ndarray, list[int], dict[int, list[np.ndarray]]]:
    """Return which of n lines lie in an area as they are, (n,) bool, and of which others which pieces, (k, 2) mm, do.

    What is shorter than SHORTEST is left out. Between them stand the numbers of the others, in order.
    """
    inside = shapely.contains_properly(area, lines)
    cut = np.flatnonzero(~inside & shapely.intersects(area, lines))
    parts, line = shapely.get_parts(shapely.intersection(lines[cut], area), return_index=True)
    kept = (shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING) & (shapely.length(parts) >= SHORTEST)
    points, which = shapely.get_coordinates(parts[kept], return_index=True)
    pieces: dict[int, list[np.ndarray]] = {k: [] for k in cut.tolist()}
    if len(points):
        split = np.split(points, np.flatnonzero(np.diff(which)) + 1)
        for k, piece in zip(cut[line[kept]].tolist(), split, strict=True):
            pieces[k].append(piece)
    return inside & (shapely.length(lines) >= SHORTEST), cut.tolist(), pieces


def pack(lines: Iterable[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Return the points of polylines, (n, 2) mm, and the index where each begins, with n at the end."""
    several = list(lines)
    points = np.concatenate(several) if several else np.empty((0, 2))
    return points, np.concatenate([[0], np.cumsum([len(line) for line in several])]).astype(np.intp)


def ordered(lines: Sequence[np.ndarray]) -> list[np.ndarray]:
    """Return polylines in an order and direction that make the hops between them short.

    Free ends are joined, the nearest first, as long as no ring closes; so grow strings of lines that become one.
    """
    count = len(lines)
    if count < 2:
        return list(lines)
    ends = np.array([point for line in lines for point in (line[0], line[-1])])
    partner = [-1] * (2 * count)
    root = list(range(count))
    joined = 0
    size = np.ptp(ends, axis=0)
    reach = _NEAR * float(np.sqrt(max(size[0], 1.0) * max(size[1], 1.0) / count))
    free = np.arange(2 * count)
    crowd = _CROWD
    while joined < count - 1:
        (reach, kept), before = _not_crowded(ends[free], reach, crowd), joined
        for a, b in _near_pairs(ends, free[kept], reach):
            if partner[a] >= 0 or partner[b] >= 0:
                continue
            one, other = leader_of(root, a // 2), leader_of(root, b // 2)
            if one != other:
                partner[a], partner[b] = b, a
                root[one] = other
                joined += 1
        free = np.flatnonzero(np.array(partner) < 0)
        reach *= 2.0
        if joined == before:
            crowd *= 2
    return _followed(lines, partner)


def _not_crowded(points: np.ndarray, reach: float, crowd: int) -> tuple[float, np.ndarray]:
    """Return ``reach``, or so much less that squares as wide hold no more than a crowd of points in the mean, mm.

    The mean is over points, so that a crowd in one place counts by how many are in it. Beside it stands which points
    to look at, (n,) bool: all, but of those that lie on one another only the first ones.
    """
    while True:
        cells = np.floor((points - points.min(axis=0)) / reach).astype(np.int64)
        cell = cells[:, 0] * (cells[:, 1].max() + 1) + cells[:, 1]
        _, many = np.unique(cell, return_counts=True)
        if float((many * many).sum()) <= crowd * len(points):
            return reach, np.ones(len(points), dtype=bool)
        if reach <= DRAWN:
            break
        reach /= 2.0
    order = np.argsort(cell, kind="stable")
    turn = np.arange(len(points)) - np.repeat(np.cumsum(many) - many, many)
    kept = np.empty(len(points), dtype=bool)
    kept[order] = turn < crowd
    return reach, kept


def _near_pairs(ends: np.ndarray, free: np.ndarray, reach: float) -> list[tuple[int, int]]:
    """Return pairs of free ends of different lines within reach, the nearest first; ties by number."""
    at = ends[free]
    first, second = _neighbours(at, reach)
    apart = at[first] - at[second]
    # the distance as GEOS takes it
    kept = np.sqrt(apart[:, 0] * apart[:, 0] + apart[:, 1] * apart[:, 1]) <= reach
    first, second = first[kept], second[kept]
    a, b = free[np.minimum(first, second)], free[np.maximum(first, second)]
    gap = np.round(np.hypot(*(ends[a] - ends[b]).T), 6)
    order = np.lexsort((b, a, gap))
    return list(zip(a[order].tolist(), b[order].tolist(), strict=True))


def _neighbours(points: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the pairs of points, (n, 2) mm, in squares that are the same or touch, by number.

    Squares are a hair wider than ``reach``, mm, so that no pair within reach is missed.
    """
    cells = np.floor((points - points.min(axis=0)) / (reach + DRAWN)).astype(np.int64)
    wide = int(cells[:, 0].max()) + 2  # one square stays free, so that the end of a row is not beside the next row
    cell = cells[:, 1] * wide + cells[:, 0]
    order = np.argsort(cell, kind="stable")
    cell = cell[order]
    every = np.arange(len(points))
    # in the row of a point what comes after it, in the next row three squares
    starts = np.concatenate([every + 1, np.searchsorted(cell, cell + wide - 1)])
    stops = np.searchsorted(cell, np.concatenate([cell + 1, cell + wide + 1]), side="right")
    counts = stops - starts
    one = np.repeat(np.concatenate([every, every]), counts)
    two = np.arange(len(one)) + np.repeat(starts - (np.cumsum(counts) - counts), counts)
    return order[one], order[two]


def _followed(lines: Sequence[np.ndarray], partner: Sequence[int]) -> list[np.ndarray]:
    """Return the lines from one free end of their string to the other."""
    end = partner.index(-1)
    path = []
    while end >= 0:
        line = lines[end // 2]
        path.append(line if end % 2 == 0 else line[::-1])
        end = partner[end ^ 1]
    return path
