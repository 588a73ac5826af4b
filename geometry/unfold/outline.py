"""Outlines: every side of a facet moved inward by its own distance, corners where the moved lines meet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..tolerance import COPLANAR_ANGLE, LENGTH

__all__ = ["MovedRing", "clean_ring", "corner_arc", "move_sides", "replace_corners", "signed_area"]


@dataclass(frozen=True, slots=True, eq=False)
class MovedRing:
    """A ring whose sides were moved inward.

    sides: (k, 2, 2) mm, start and end of each moved side, in ring order.
    lost: (k,) mm, by how much each side became shorter; a side vanishes when it loses its length.
    """

    sides: np.ndarray
    lengths: np.ndarray
    lost: np.ndarray

    @property
    def vanished(self) -> tuple[int, ...]:
        """Indices of sides that reversed or shrank to nothing, or had no length and so no direction to move in."""
        return tuple(int(i) for i in np.flatnonzero(~(self.lengths - self.lost >= LENGTH)))

    @property
    def points(self) -> np.ndarray:
        """The corners of the moved ring, (m, 2) mm, repeated points dropped."""
        return clean_ring(self.sides.reshape(-1, 2), straighten=False)


def move_sides(ring: np.ndarray, distances: np.ndarray) -> MovedRing:
    """Move side i of a ring, from point i to point i + 1, to its left by ``distances[i]``.

    ring: (k, 2) mm, counter-clockwise for outlines, clockwise for holes, so that left is inward.
    Corners are the intersections of consecutive moved lines; neighbours on one straight line with
    different distances get a square step at their common point.

    >>> square = np.array([(0, 0), (50, 0), (50, 50), (0, 50)], dtype=float)
    >>> move_sides(square, np.array([10.0, 0.0, 0.0, 0.0])).points.tolist()
    [[0.0, 10.0], [50.0, 10.0], [50.0, 50.0], [0.0, 50.0]]
    """
    ring = np.asarray(ring, dtype=float)
    distances = np.asarray(distances, dtype=float)
    vectors = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(vectors[:, 0], vectors[:, 1])
    # a side without length has no direction; it counts as vanished
    along = vectors / np.where(lengths > 0.0, lengths, np.nan)[:, None]
    inward = np.column_stack([-along[:, 1], along[:, 0]])
    moved = ring + inward * distances[:, None]  # a point on each moved line

    before = np.roll(np.arange(len(ring)), 1)
    turn = along[before, 0] * along[:, 1] - along[before, 1] * along[:, 0]
    # lines this close to parallel meet too far away for the corner to mean anything
    straight = (np.abs(turn) < COPLANAR_ANGLE) & (np.einsum("ij,ij->i", along[before], along) > 0)
    gap = moved - moved[before]
    # where a side runs back on the one before there is no corner, and both count as vanished
    step = np.where(straight, 1.0, np.where(turn == 0.0, np.nan, turn))
    reach = (gap[:, 0] * along[:, 1] - gap[:, 1] * along[:, 0]) / step
    corner = moved[before] + along[before] * reach[:, None]

    starts = np.where(straight[:, None], moved, corner)
    arrivals = np.where(straight[:, None], ring + inward[before] * distances[before, None], corner)
    ends = np.roll(arrivals, -1, axis=0)
    kept = np.einsum("ij,ij->i", ends - starts, along)
    return MovedRing(np.stack([starts, ends], axis=1), lengths, lengths - kept)


def clean_ring(points: np.ndarray, *, straighten: bool = True, within: float = LENGTH) -> np.ndarray:
    """Return a closed ring without repeated points and, if asked, without points on straight lines.

    points: (k, 2) mm; the first point is not repeated at the end of the result. within: points this near to one
    another are one point, and those this near to the line between their neighbours lie on it, mm.
    """
    ring = _without_repeats(np.asarray(points, dtype=float), within)
    while straighten and len(ring) > 3:
        ahead = np.concatenate([ring[1:], ring[:1]]) - ring
        back = np.concatenate([ahead[-1:], ahead[:-1]])
        chord = back + ahead
        off = np.abs(back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0])
        flat = (off < within * np.hypot(chord[:, 0], chord[:, 1])) & (np.einsum("ij,ij->i", back, ahead) > 0)
        # dropping two neighbours at once could let a slow curve drift
        flat &= ~np.concatenate([flat[-1:], flat[:-1]])
        if not flat.any():
            break
        ring = ring[~flat]
    return ring


def _without_repeats(points: np.ndarray, within: float) -> np.ndarray:
    """Return a closed ring, (k, 2) mm, without points as near as this to the one kept before them."""
    steps = np.concatenate([points[1:], points[:1]]) - points
    if (np.hypot(steps[:, 0], steps[:, 1]) > within).all():
        return np.array(points)
    kept = [points[0]]
    for point in points[1:]:
        if np.hypot(*(point - kept[-1])) > within:
            kept.append(point)
    while len(kept) > 1 and np.hypot(*(kept[0] - kept[-1])) <= within:
        kept.pop()
    return np.array(kept)


def signed_area(ring: np.ndarray) -> float:
    """Return the area of a ring, (k, 2) mm, positive when counter-clockwise, mm^2 (shoelace formula)."""
    x, y = np.asarray(ring).T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def corner_arc(ring: np.ndarray, corner: int, *, radius: float, step: float = np.radians(5.0)) -> np.ndarray:
    """Return points on the circle of ``radius`` that touches both sides of a ring's corner, (m, 2) mm.

    They replace the corner. Points lie on the circle, so that the chords stay inside it; ``step`` is
    the largest angle per chord. Where a side is shorter than the tangent length the arc ends early.
    """
    here = ring[corner]
    back = ring[corner - 1] - here
    ahead = ring[(corner + 1) % len(ring)] - here
    lengths = np.hypot(*back), np.hypot(*ahead)
    back, ahead = back / lengths[0], ahead / lengths[1]
    turn = np.pi - np.arccos(np.clip(back @ ahead, -1.0, 1.0))
    tangent = radius * np.tan(turn / 2)
    centre = here + (back + ahead) / np.hypot(*(back + ahead)) * np.hypot(radius, tangent)
    first = here + back * min(tangent, lengths[0]) - centre
    last = here + ahead * min(tangent, lengths[1]) - centre
    start = np.arctan2(first[1], first[0])
    sweep = (np.arctan2(last[1], last[0]) - start + np.pi) % (2 * np.pi) - np.pi
    angles = start + np.linspace(0.0, sweep, max(2, int(np.ceil(abs(sweep) / step)) + 1))
    arc: np.ndarray = centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])
    return arc


def replace_corners(ring: np.ndarray, arcs: Mapping[int, np.ndarray]) -> np.ndarray:
    """Return a ring with the corners named in ``arcs`` replaced by the points given for them."""
    return np.vstack([arcs.get(i, ring[i : i + 1]) for i in range(len(ring))])
