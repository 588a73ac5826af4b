"""Footing: what stands on the floor where bases of miniatures want to stand.

A base is a few millimetres thick; all that a level cut through it meets is in its way, and a doorway is
where the cut of a wall has a gap. A flex corner is no sharp corner inside: the bend's arc takes a bite
off the corner square. ``footprints`` cuts the blockers, ``doorways`` finds the gaps, ``widest_bend`` gives
the largest inside radius that still lets a base stand in a corner square.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from ..errors import BadSettingError
from ..tolerance import AREA, LENGTH, SNAP
from .table_top import Blocker

__all__ = ["BASE_LEVEL", "Doorway", "doorways", "footprints", "widest_bend"]

#: Height of the cut above what a base stands on, mm: inside a base 2 to 4 mm thick (common practice, no source).
BASE_LEVEL = 1.5


def widest_bend(base: float, square: float, *, between: float = math.pi / 2) -> float:
    """Return the largest inside radius with which a base stands in the middle of a corner square, mm.

    base: diameter, mm. between: angle of the walls, radians, each half a square from the base's middle.
    R / sin h - a / sin h + b = R, with a half the square, b half the base and h half the angle; so
    R = (a - b sin h) / (1 - sin h). Raises BadSettingError where the base is wider than the square.
    """
    if base > square:
        raise BadSettingError(f"A base of {base:g} mm does not stand in a square of {square:g} mm at all.")
    sine = math.sin(between / 2)
    return (square / 2 - base / 2 * sine) / (1.0 - sine)


#: What stands farther from the face of a wall than this is none of its doorways' frames, mm: two boards and a joiner.
_BESIDE = 8.0


@dataclass(frozen=True, slots=True, eq=False)
class Doorway:
    """A gap in a wall at the floor. wall: the blocker's name. width: mm. middle: (2,) mm in plan."""

    wall: str
    width: float
    middle: np.ndarray


def footprints(blockers: Sequence[Blocker], height: float) -> tuple[BaseGeometry, ...]:
    """Return the level cut of each blocker at a height, in plan: areas of solids, lines of sheets."""
    prints = []
    for blocker in blockers:
        lines = [line for rings in blocker.faces for line in _cut(rings, height)]
        cut: BaseGeometry = shapely.multilinestrings(lines) if lines else shapely.MultiLineString()
        if blocker.solid and lines:
            # Ends of neighbouring faces differ by rounding, so they are brought onto one fine grid first.
            area = shapely.build_area(shapely.union_all(cut, grid_size=LENGTH))
            cut = area if area.area > AREA else cut
        prints.append(cut)
    return tuple(prints)


def doorways(blockers: Iterable[Blocker], floor: float, *, beside: Sequence[Blocker] = ()) -> tuple[Doorway, ...]:
    """Return the gaps that walls have at the floor, by wall and place; both faces of one board count once.

    beside: what may stand in them, as the jambs of frames do.
    """
    jambs = [shapely.get_coordinates(footprint) for footprint in footprints(beside, floor + BASE_LEVEL)]
    found: list[Doorway] = []
    for blocker in blockers:
        own: list[Doorway] = []
        for rings in blocker.faces:
            pieces = _cut(rings, floor + BASE_LEVEL)
            for one, after in pairwise(pieces):
                start, end = _between(one[1], after[0], jambs)
                width, middle = float(np.hypot(*(end - start))), (start + end) / 2.0
                if width > SNAP and all(float(np.hypot(*(middle - stand.middle))) > stand.width / 2 for stand in own):
                    own.append(Doorway(blocker.name, width, middle))
        found += own
    return tuple(found)


def _between(start: np.ndarray, end: np.ndarray, jambs: Sequence[np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Return what stays free of a gap from one point to another, (2,) mm each, between what stands in it."""
    length = float(np.hypot(*(end - start)))
    if length <= SNAP:
        return start, end
    way, low, high = (end - start) / length, 0.0, length
    for points in jambs:
        if not len(points):
            continue
        along, away = (points - start) @ way, np.abs((points - start) @ np.array([-way[1], way[0]]))
        if away.min() > _BESIDE or along.max() < SNAP or along.min() > length - SNAP:
            continue
        if along.min() + along.max() < length:
            low = max(low, float(along.max()))
        else:
            high = min(high, float(along.min()))
    return start + low * way, start + max(low, high) * way


def _cut(rings: Sequence[np.ndarray], height: float) -> list[np.ndarray]:
    """Return where a flat face meets a level, (2, 2) plan points each, in order along the face."""
    crossings = []
    for ring in rings:
        start = np.asarray(ring, dtype=float)
        end = np.roll(start, -1, axis=0)
        crossed = (start[:, 2] > height) != (end[:, 2] > height)
        share = (height - start[crossed, 2]) / (end[crossed, 2] - start[crossed, 2])
        crossings.append(start[crossed, :2] + share[:, None] * (end[crossed, :2] - start[crossed, :2]))
    points = np.concatenate(crossings)
    if len(points) < 2:
        return []
    # Along the line that all crossings lie on: the way to the one farthest from the first.
    far = points[np.hypot(*(points - points[0]).T).argmax()]
    points = points[np.argsort((points - points[0]) @ (far - points[0]), kind="stable")]
    return [points[k : k + 2] for k in range(0, len(points), 2)]
