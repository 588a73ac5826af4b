"""Clearance: how far each square's grip point is from everything that stands, seen along ways of approach.

A hand comes down to a figure along a straight way; each of its stages (fingertips, palm, forearm) is a
cylinder round that way that begins some length up it. Only what rises above the stage's beginning can
touch it. Projected along the way onto the level of the grip, and drawn together by the sine of the
elevation so that the cylinder's section is a circle again, the obstacle's distance from the grip point
less the cylinder's radius is the exact room that is left. Openings stay holes, so that a hand finds its
way through a window. Distances know neither seats nor hands: ``measure_clearance`` finds them once for
all, ``Clearance.beside`` adds what is being moved to what stays.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..arrays import read_only
from ..tolerance import ANGLE, AREA, LENGTH
from .table_top import Blocker, Squares

__all__ = ["AZIMUTHS", "ELEVATIONS", "Clearance", "approaches", "measure_clearance"]

#: Ways of approach (common practice, no source): all round in steps of 15 degrees, and how steep, radians.
AZIMUTHS = 24
ELEVATIONS = tuple(math.radians(degrees) for degrees in (75.0, 60.0, 45.0, 30.0))


@dataclass(frozen=True, slots=True, eq=False)
class Clearance:
    """Distances of all squares from all blockers, for each way of approach.

    squares, grip: where it was measured; grip: height of the grip point above the floor, mm. starts: (k,)
    mm along the way at which stages begin. ways: (m, 2) azimuth and elevation, radians, toward the hand.
    distance: (k, m, rows * columns) mm, in the scaled projection; infinite where nothing is in the way,
    0 where the way itself runs into something. nearest: the same shape, index of the blocker in
    ``names``, or -1.
    """

    squares: Squares
    grip: float
    starts: tuple[float, ...]
    ways: np.ndarray
    distance: np.ndarray
    nearest: np.ndarray
    names: tuple[str, ...]

    def beside(self, other: Clearance) -> Clearance:
        """Return the clearance from both: what stays and what moves, measured alike."""
        assert self.starts == other.starts
        assert self.grip == other.grip
        closer = other.distance < self.distance
        moved = np.where(other.nearest >= 0, other.nearest + len(self.names), -1)
        return Clearance(
            self.squares,
            self.grip,
            self.starts,
            self.ways,
            read_only(np.where(closer, other.distance, self.distance)),
            read_only(np.where(closer, moved, self.nearest)),
            (*self.names, *other.names),
        )


def approaches() -> np.ndarray:
    """Return the ways of approach, (m, 2) azimuth and elevation, radians; straight down once, first."""
    turns = np.arange(AZIMUTHS) * (2.0 * math.pi / AZIMUTHS)
    slanted = [(turn, elevation) for elevation in ELEVATIONS for turn in turns]
    return np.array([(0.0, math.pi / 2), *slanted])


def measure_clearance(
    squares: Squares, blockers: Iterable[Blocker], *, starts: Iterable[float], grip: float = 20.0
) -> Clearance:
    """Measure every square's grip point against all blockers along every way of approach.

    starts: where stages begin, mm along the way from the grip point. grip: its height above the floor,
    mm. What the maker lifts off or opens is to be left out of the blockers.
    """
    blockers, begins, ways = tuple(blockers), tuple(sorted(set(starts))), approaches()
    faces = _Faces.of(blockers)
    base = float(squares.origin[2]) + grip
    spots = squares.centres.reshape(-1, 3)[:, :2]
    shape = (len(begins), len(ways), len(spots))
    distance, nearest = np.full(shape, np.inf), np.full(shape, -1, dtype=int)
    above: dict[float, _Edges | None] = {}
    for j, start in enumerate(begins):
        for w, (azimuth, elevation) in enumerate(ways):
            level = base + start * math.sin(elevation)
            if level not in above:
                above[level] = faces.above(level)
            edges = above[level]
            if edges is not None:
                distance[j, w], nearest[j, w] = edges.along(float(azimuth), float(elevation), spots, base)
    names = tuple(blocker.name for blocker in blockers)
    return Clearance(squares, grip, begins, read_only(ways), read_only(distance), read_only(nearest), names)


@dataclass(frozen=True, slots=True, eq=False)
class _Faces:
    """Faces of blockers in their own planes, where an opening that is cut through stays an opening.

    shapes: (n,) polygons in the plane (level, up the slope), mm. frames: (n, 3, 3) origin and these two
    directions in the model. owner: (n,) index of the blocker.
    """

    shapes: np.ndarray
    frames: np.ndarray
    owner: np.ndarray

    @classmethod
    def of(cls, blockers: Sequence[Blocker]) -> _Faces:
        """Lay every face of the blockers into its plane."""
        shapes, frames, owner = [], [], []
        for index, blocker in enumerate(blockers):
            for rings in blocker.faces:
                frame = _frame(np.asarray(rings[0], dtype=float))
                flat = [(np.asarray(ring, dtype=float) - frame[0]) @ frame[1:].T for ring in rings]
                shapes.append(shapely.Polygon(flat[0], flat[1:]))
                frames.append(frame)
                owner.append(index)
        laid = np.array(shapes, dtype=object)
        # A doorway drawn as a hole shares its foot with the outline; that is made a notch.
        laid = shapely.make_valid(laid, method="structure", keep_collapsed=False)
        return cls(laid, np.reshape(frames, (-1, 3, 3)), np.array(owner, dtype=int))

    def above(self, height: float) -> _Edges | None:
        """Return the edges of what rises above a height, mm; None where nothing does."""
        if not len(self.owner):
            return None
        rise = self.frames[:, 2, 2]
        left, low, right, high = shapely.bounds(self.shapes).T
        foot = height - self.frames[:, 0, 2]
        rising = high * rise > foot + LENGTH
        cut = rising & (low * rise < foot)  # never level ones: these lie above or do not
        shapes = self.shapes.copy()
        window = shapely.box(left[cut] - 1.0, foot[cut] / rise[cut], right[cut] + 1.0, high[cut] + 1.0)
        shapes[cut] = shapely.intersection(shapes[cut], window)
        parts, row = shapely.get_parts(shapes[rising], return_index=True)
        whole = shapely.area(parts) > AREA
        if not whole.any():
            return None
        parts, face = parts[whole], np.flatnonzero(rising)[row[whole]]
        rings, part = shapely.get_rings(parts, return_index=True)
        corners, ring = shapely.get_coordinates(rings, return_index=True)
        frame = self.frames[face[part[ring]]]
        points = frame[:, 0] + corners[:, :1] * frame[:, 1] + corners[:, 1:] * frame[:, 2]
        first = np.flatnonzero(ring[1:] == ring[:-1])
        of_face = part[ring[first]]
        opening = np.flatnonzero(np.diff(of_face, prepend=-1))
        return _Edges(points[first], points[first + 1], self.owner[face[of_face]], opening)


@dataclass(frozen=True, slots=True, eq=False)
class _Edges:
    """The edges of flat faces, holes included, those of one face together.

    start, end: (n, 3) mm. owner: (n,) index of the blocker. first: index of each face's first edge.
    """

    start: np.ndarray
    end: np.ndarray
    owner: np.ndarray
    first: np.ndarray

    def along(self, azimuth: float, elevation: float, spots: np.ndarray, base: float) -> tuple[np.ndarray, np.ndarray]:
        """Return how far spots are from the faces seen along a way, (m,) mm, and from whose.

        spots: (m, 2) mm, at the height base. The distance is 0 inside a face, by the parity of the edges
        that a ray crosses; a face that is seen edge-on counts as its line.
        """
        (start_x, start_y), (end_x, end_y) = (
            _projected(points, azimuth, elevation, base) for points in (self.start, self.end)
        )
        level = np.column_stack([spots, np.full(len(spots), base)])
        spot_x, spot_y = (values[:, None] for values in _projected(level, azimuth, elevation, base))
        run_x, run_y = end_x - start_x, end_y - start_y
        from_x, from_y = spot_x - start_x, spot_y - start_y
        length = run_x**2 + run_y**2
        share = np.clip((from_x * run_x + from_y * run_y) / np.where(length > 0.0, length, 1.0), 0.0, 1.0)
        gap = (from_x - share * run_x) ** 2 + (from_y - share * run_y) ** 2
        closest = gap.argmin(axis=1)
        distance = np.sqrt(gap[np.arange(len(spots)), closest])
        whose = self.owner[closest]

        # The ends themselves are compared: neighbouring edges must judge their common corner alike.
        crossed = ((spot_y >= start_y) != (spot_y >= end_y)) & ((run_x * from_y > run_y * from_x) == (run_y > 0.0))
        within = np.logical_xor.reduceat(crossed, self.first, axis=1)
        pierced = within.any(axis=1)
        distance[pierced] = 0.0
        whose[pierced] = self.owner[self.first][within.argmax(axis=1)][pierced]
        return distance, whose


def _projected(points: np.ndarray, azimuth: float, elevation: float, base: float) -> tuple[np.ndarray, np.ndarray]:
    """Project points, (n, 3) mm, along a way onto the height base; return along it, scaled by the sine, and across."""
    sine, cosine = math.sin(elevation), math.cos(elevation)
    along = points[:, 0] * math.cos(azimuth) + points[:, 1] * math.sin(azimuth)
    across = points[:, 1] * math.cos(azimuth) - points[:, 0] * math.sin(azimuth)
    return along * sine - (points[:, 2] - base) * cosine, across


def _frame(ring: np.ndarray) -> np.ndarray:
    """Return origin, level direction and direction up the slope, (3, 3), of a flat ring, (k, 3) mm."""
    after = np.roll(ring, -1, axis=0)
    normal = np.cross(ring - ring[0], after - ring[0]).sum(axis=0)  # Newell's sum
    normal = normal / np.linalg.norm(normal)
    level = np.array([-normal[1], normal[0], 0.0])
    size = float(np.linalg.norm(level))
    level = level / size if size > ANGLE else np.array([1.0, 0.0, 0.0])
    slope = np.cross(normal, level)
    return np.stack([ring[0], level, slope if slope[2] >= 0.0 else -slope])
