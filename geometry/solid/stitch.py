"""Stitching: free edges of different faces that lie on one another become shared edges of one surface.

A vertex that only one of two neighbours has in their common side, or vertices that all but coincide, would
otherwise end the surface there: no corner would bend and no joiner stand. What lies on walls without being part
of them, as a roof does, is left alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from ..tolerance import GAP, SNAP, STITCH, UPRIGHT
from .connected import connected

__all__ = ["Rims", "Stitches", "find_gaps", "find_stitches"]

#: Faces on the same side of their common edge, within 2.6 degrees of one another, lie on one another (cosine).
_BACK_TO_BACK = 1.0 - 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class Rims:
    """The free edges of a mesh: start, end: (k,) point indices along the ring.

    face, id: (k,) their faces in the mesh and in the solid; normal, centre: (k, 3) of these.
    """

    start: np.ndarray
    end: np.ndarray
    face: np.ndarray
    id: np.ndarray
    normal: np.ndarray
    centre: np.ndarray

    @property
    def ends(self) -> np.ndarray:
        """Both point indices, (k, 2)."""
        return np.column_stack([self.start, self.end])


@dataclass(frozen=True, slots=True, eq=False)
class Stitches:
    """What makes free edges meet.

    points: (n, 3) mm, all points, some of them moved. merged: (n,) the point that each becomes.
    inner: per rim, the points to put between its ends, in order. rims: those that now meet another one.
    moved: (n,) how far each point goes, mm.
    """

    points: np.ndarray
    merged: np.ndarray
    inner: dict[int, tuple[int, ...]]
    rims: tuple[int, ...]
    moved: np.ndarray


def find_stitches(points: np.ndarray, rims: Rims, bodies: np.ndarray) -> Stitches | None:
    """Return what to merge and to split so that free edges that lie on one another share their points; None if nothing.

    points: (n, 3) mm. bodies: (n,) number of the body of every point; edges of different bodies never meet.
    """
    one, two = _pairs(points, rims, bodies, STITCH)
    if not len(one):
        return None
    label = connected(len(rims.start), one, two)
    groups = [np.flatnonzero(label == k) for k in np.unique(label[one]).tolist()]
    rows = [_row(points, rims, group) for group in groups]
    merged = _merged(len(points), rows)
    placed = points[merged]
    for row in rows:
        _straighten(placed, merged, row)
    placed = placed[merged]
    inner: dict[int, tuple[int, ...]] = {}
    for group, row in zip(groups, rows, strict=True):
        order = list(dict.fromkeys(int(merged[cluster[0]]) for cluster in row))
        at = {point: k for k, point in enumerate(order)}
        for rim in group.tolist():
            first, last = at[int(merged[rims.start[rim]])], at[int(merged[rims.end[rim]])]
            between = order[first + 1 : last] if first < last else order[last + 1 : first][::-1]
            if between:
                inner[rim] = tuple(between)
    used = np.concatenate(groups)
    return Stitches(placed, merged, inner, tuple(used.tolist()), np.linalg.norm(placed - points, axis=1))


def find_gaps(points: np.ndarray, rims: Rims, bodies: np.ndarray) -> tuple[tuple[int, int, float], ...]:
    """Return pairs of rims that run along one another less than GAP apart, and how far, mm; none that are stitched."""
    pairs = zip(*(side.tolist() for side in _pairs(points, rims, bodies, GAP)), strict=True)
    return tuple((e, f, _apart(points, rims, e, f)[0]) for e, f in pairs)


def _pairs(points: np.ndarray, rims: Rims, bodies: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Return pairs of rims of one body, (p,) each, within ``reach`` of one another, mm, over more than that."""
    found = sorted(
        {
            (min(e, f), max(e, f))
            for e, f in _touching(points, rims, reach)
            if bodies[rims.start[e]] == bodies[rims.start[f]]
            and (apart := _apart(points, rims, e, f))[0] <= reach < apart[1]
        }
    )
    pairs = np.array(found, dtype=int).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def _touching(points: np.ndarray, rims: Rims, reach: float) -> Iterator[tuple[int, int]]:
    """Yield pairs of rims of different faces of which one has an end on the other, both ends of it not shared."""
    if not len(rims.start):
        return
    vertices = np.unique(rims.ends)
    lines = shapely.linestrings(points[rims.ends][:, :, :2])
    spots = shapely.points(points[vertices][:, :2])
    spot, rim = shapely.STRtree(lines).query(spots, predicate="dwithin", distance=reach)
    vertex = vertices[spot]
    # what only shares its points with a rim is a neighbour of it, as round a window
    near = (vertex != rims.start[rim]) & (vertex != rims.end[rim])
    vertex, rim = vertex[near], rim[near]
    start, run = points[rims.start[rim]], points[rims.end[rim]] - points[rims.start[rim]]
    share = np.clip(np.einsum("ij,ij->i", points[vertex] - start, run) / np.einsum("ij,ij->i", run, run), 0.0, 1.0)
    close = np.linalg.norm(points[vertex] - start - share[:, None] * run, axis=1) <= reach
    at: dict[int, list[int]] = {}
    for k, ends in enumerate(rims.ends.tolist()):
        for point in ends:
            at.setdefault(point, []).append(k)
    for point, e in zip(vertex[close].tolist(), rim[close].tolist(), strict=True):
        yield from ((e, f) for f in at[point] if rims.face[f] != rims.face[e] and _may_join(points, rims, e, f))


def _may_join(points: np.ndarray, rims: Rims, e: int, f: int) -> bool:
    """Whether the faces of two rims can be one surface.

    Faces that lie on one another are walls back to back, and what is not upright rests on a wall or is its floor.
    """
    one, two = (_inward(points, rims, rim) for rim in (e, f))
    if one @ two > _BACK_TO_BACK:
        return False
    level = np.abs(rims.normal[[e, f], 2])
    upright = level < UPRIGHT
    if upright[0] == upright[1]:
        return True
    wall, other = (0, 1) if upright[0] else (1, 0)
    foot = points[rims.ends[[e, f][wall]], 2].mean()
    return bool(level[other] > 1.0 - UPRIGHT and rims.centre[[e, f][wall], 2] > foot + SNAP)


def _inward(points: np.ndarray, rims: Rims, rim: int) -> np.ndarray:
    """Return the direction in which the face of a rim lies from it, (3,) unit."""
    run = points[rims.end[rim]] - points[rims.start[rim]]
    inward: np.ndarray = np.cross(rims.normal[rim], run / np.linalg.norm(run))
    return inward


def _apart(points: np.ndarray, rims: Rims, e: int, f: int) -> tuple[float, float]:
    """Return how far the shorter of two rims lies from the line of the longer one, and how long beside it, mm."""
    long, short = points[rims.ends[e]], points[rims.ends[f]]
    if np.linalg.norm(long[1] - long[0]) < np.linalg.norm(short[1] - short[0]):
        long, short = short, long
    length = float(np.linalg.norm(long[1] - long[0]))
    along = (long[1] - long[0]) / length
    at = (short - long[0]) @ along
    off = np.linalg.norm(short - long[0] - at[:, None] * along, axis=1)
    return float(off.max()), float(min(at.max(), length) - max(at.min(), 0.0))


def _row(points: np.ndarray, rims: Rims, group: np.ndarray) -> list[list[int]]:
    """Return the points of rims on one line from end to end, those within STITCH of one another together."""
    ends = rims.ends[group]
    runs = points[ends[:, 1]] - points[ends[:, 0]]
    longest = int(np.argmax(np.linalg.norm(runs, axis=1)))
    along = runs[longest] / np.linalg.norm(runs[longest])
    around = np.unique(ends)
    at = points[around] @ along
    order = np.argsort(at, kind="stable")
    parted = np.flatnonzero(np.diff(at[order]) > STITCH) + 1
    return [sorted(cluster.tolist()) for cluster in np.split(around[order], parted)]


def _merged(count: int, rows: list[list[list[int]]]) -> np.ndarray:
    """Return for every point the smallest one that it is merged with."""
    pairs = [(cluster[0], other) for row in rows for cluster in row for other in cluster[1:]]
    one, two = np.array(pairs, dtype=int).reshape(-1, 2).T
    return connected(count, one, two)


def _straighten(placed: np.ndarray, merged: np.ndarray, row: list[list[int]]) -> None:
    """Move the inner points of a row, (n, 3) mm ``placed`` in all, onto the line between its ends."""
    first, *inner, last = (int(merged[cluster[0]]) for cluster in row)
    start, run = placed[first], placed[last] - placed[first]
    for point in inner:
        placed[point] = start + run * float((placed[point] - start) @ run / (run @ run))
