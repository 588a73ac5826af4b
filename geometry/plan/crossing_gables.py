"""Crossing gables: every wing of a right-angled plan has a whole gable roof; where two cross, the higher one stays.

Wings are the largest rectangles that lie in the plan. A ridge runs between two ends of its wing that are walls of the
building all along, so that no roof ends over a room, and end at no inner corner, where the overhang of the gable
would run into the eaves beside it. A plain rectangle is crossed in its middle by a wing as wide as itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

import shapely
from shapely.geometry import LineString, Polygon, box

from ..errors import BadSettingError
from ..tolerance import SNAP
from .outline import Corner, is_right_angled, sides_of, turns_of
from .roof import Roof
from .roof_surface import Patch, RoofSurface, highest_of

__all__ = ["crossing_gables"]

#: x0, y0, x1, y1.
Wing = tuple[float, float, float, float]


def crossing_gables(ring: Sequence[Corner], outline: Sequence[Corner], roof: Roof, height: float) -> RoofSurface:
    """Return the underside over a plan; outline: that of the roof, with its overhang; both corners in mm.

    Raises BadSettingError where a wing has no free ends for its gables.
    """
    if not is_right_angled(ring):
        raise BadSettingError("Crossing gables need a plan with square corners; choose a gable roof")
    turn = _Turn(ring)
    level = [turn.there(corner) for corner in ring]
    plan = Polygon(level)
    wings = _crossed_rectangle(plan) if len(ring) == 4 else list(_wings(plan))
    covered = shapely.union_all([box(*wing).buffer(SNAP, join_style="mitre") for wing, _ in wings])
    if not wings or not covered.covers(plan):
        raise BadSettingError("A wing of this plan has no free ends for its gables; choose a gable roof")
    patches = [patch for wing, along_x in wings for patch in _gable(wing, along_x, roof, height)]
    return highest_of(outline, [turn.back(patch) for patch in patches])


class _Turn:
    """Turns a plan so that its first side runs along x, about its first corner, and patches back again."""

    def __init__(self, ring: Sequence[Corner]) -> None:
        (self.x, self.y), end = ring[0], ring[1]
        length = math.dist(ring[0], end)
        self.u = ((end[0] - self.x) / length, (end[1] - self.y) / length)

    def there(self, corner: Corner) -> Corner:
        x, y = corner[0] - self.x, corner[1] - self.y
        return x * self.u[0] + y * self.u[1], y * self.u[0] - x * self.u[1]

    def back(self, patch: Patch) -> Patch:
        (p, q), (a, b, c) = self.u, patch.plane
        ring = tuple((self.x + p * x - q * y, self.y + q * x + p * y) for x, y in patch.ring)
        slope = (a * p - b * q, a * q + b * p)
        return Patch(ring, (*slope, c - slope[0] * self.x - slope[1] * self.y))


def _crossed_rectangle(plan: Polygon) -> list[tuple[Wing, bool]]:
    x0, y0, x1, y1 = plan.bounds
    length, width = x1 - x0, y1 - y0
    span = min(length, width)
    x, y = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    if length > width - SNAP:
        return [((x0, y0, x1, y1), True), ((x - span / 2.0, y0, x + span / 2.0, y1), False)]
    return [((x0, y0, x1, y1), False), ((x0, y - span / 2.0, x1, y + span / 2.0), True)]


def _wings(plan: Polygon) -> Iterator[tuple[Wing, bool]]:
    """Yield the largest rectangles of a plan that have free ends, and whether their ridge runs along x."""
    room = plan.buffer(SNAP, join_style="mitre")
    corners = tuple(plan.exterior.coords)[:-1]
    inner = shapely.MultiPoint([c for c, turn in zip(corners, turns_of(corners), strict=True) if turn < 0.0])
    walls = shapely.union_all([LineString(side) for side in sides_of(corners)]).buffer(SNAP)

    def is_free(*end: Corner) -> bool:
        return walls.covers(LineString(end)) and shapely.MultiPoint(end).distance(inner) > SNAP

    xs, ys = (_apart(values) for values in plan.exterior.coords.xy)
    inside = [
        (x0, y0, x1, y1)
        for x0, x1 in combinations(xs, 2)
        for y0, y1 in combinations(ys, 2)
        if room.covers(box(x0, y0, x1, y1))
    ]
    for wing in inside:
        x0, y0, x1, y1 = wing
        if any(other != wing and _holds(other, wing) for other in inside):
            continue
        free_x = all(is_free((x, y0), (x, y1)) for x in (x0, x1))
        free_y = all(is_free((x0, y), (x1, y)) for y in (y0, y1))
        if free_x or free_y:
            yield wing, free_x and (not free_y or x1 - x0 > y1 - y0 - SNAP)


def _apart(values: Sequence[float]) -> list[float]:
    """Return values in order without those that are nearly the same."""
    kept: list[float] = []
    for value in sorted(values):
        if not kept or value - kept[-1] > SNAP:
            kept.append(value)
    return kept


def _holds(wing: Wing, other: Wing) -> bool:
    return wing[0] <= other[0] and wing[1] <= other[1] and wing[2] >= other[2] and wing[3] >= other[3]


def _gable(wing: Wing, along_x: bool, roof: Roof, height: float) -> Iterator[Patch]:
    """Yield the two slopes of a wing, with their overhang."""
    x0, y0, x1, y1 = wing
    left, front, right, back = x0 - roof.overhang, y0 - roof.overhang, x1 + roof.overhang, y1 + roof.overhang
    rise = math.tan(roof.pitch)
    if along_x:
        middle = (y0 + y1) / 2.0
        yield Patch(((left, front), (right, front), (right, middle), (left, middle)), (0.0, rise, height - rise * y0))
        yield Patch(((left, middle), (right, middle), (right, back), (left, back)), (0.0, -rise, height + rise * y1))
    else:
        middle = (x0 + x1) / 2.0
        yield Patch(((left, front), (middle, front), (middle, back), (left, back)), (rise, 0.0, height - rise * x0))
        yield Patch(((middle, front), (right, front), (right, back), (middle, back)), (-rise, 0.0, height + rise * x1))
