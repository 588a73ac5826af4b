"""Crossing gables: every wing of a right-angled plan has a whole gable roof; where two cross, the higher one stays.

Wings are the largest rectangles that lie in the plan. A ridge runs between two free ends of its wing: ends that are
walls of the building all along, so that no roof ends over a room, and that end at no inner corner, where the overhang
of the gable would run into the eaves beside it. A wing with one free end runs under the ridge of another one that is
at least as wide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import shapely
from shapely.geometry import LineString, Polygon, box

from ..errors import BadSettingError
from ..tolerance import SNAP
from .outline import Corner, is_right_angled, sides_of, turns_of
from .roof import Roof
from .roof_surface import Patch, RoofSurface, highest_of

__all__ = ["crossing_gables"]


@dataclass(frozen=True, slots=True)
class _Wing:
    """A rectangle under one gable roof, mm: its ridge runs along an axis from ``low`` to ``high``, its eaves beside it.

    along_x: whether the ridge runs along x; front, back: where the eaves are on the other axis.
    """

    along_x: bool
    low: float
    high: float
    front: float
    back: float

    @property
    def width(self) -> float:
        return self.back - self.front

    @property
    def middle(self) -> float:
        return (self.front + self.back) / 2.0

    def corner(self, along: float, across: float) -> Corner:
        return (along, across) if self.along_x else (across, along)

    def room(self) -> Polygon:
        return box(*self.corner(self.low, self.front), *self.corner(self.high, self.back))


def crossing_gables(ring: Sequence[Corner], outline: Sequence[Corner], roof: Roof, height: float) -> RoofSurface:
    """Return the underside over a plan; outline: that of the roof, with its overhang; both corners in mm.

    Raises BadSettingError where a wing has no free ends for its gables.
    """
    if not is_right_angled(ring):
        raise BadSettingError("Crossing gables need a plan with square corners, or none inside; choose a gable roof")
    turn = _Turn(ring)
    plan = Polygon([turn.there(corner) for corner in ring])
    wings = _wings(plan, roof.overhang)
    covered = shapely.union_all([wing.room().buffer(SNAP, join_style="mitre") for wing in wings])
    if not covered.covers(plan):
        raise BadSettingError("A wing of this plan has no free ends for its gables; choose a gable roof")
    patches = [patch for wing in wings for patch in _gable(wing, roof, height)]
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


def _wings(plan: Polygon, overhang: float) -> list[_Wing]:
    """Return the wings of a plan: those with two free ends, and those with one that run under a ridge of these."""
    corners = tuple(plan.exterior.coords)[:-1]
    inner = shapely.MultiPoint([c for c, turn in zip(corners, turns_of(corners), strict=True) if turn < 0.0])
    walls = shapely.union_all([LineString(side) for side in sides_of(corners)]).buffer(SNAP)

    def is_free(wing: _Wing, along: float) -> bool:
        ends = [wing.corner(along, across) for across in (wing.front, wing.back)]
        return walls.covers(LineString(ends)) and shapely.MultiPoint(ends).distance(inner) > SNAP

    whole: list[_Wing] = []
    half: list[tuple[_Wing, bool]] = []
    for x0, y0, x1, y1 in _largest_rectangles(plan):
        ways = [_Wing(True, x0, x1, y0, y1), _Wing(False, y0, y1, x0, x1)]
        free = [(is_free(wing, wing.low), is_free(wing, wing.high)) for wing in ways]
        both = [wing for wing, ends in zip(ways, free, strict=True) if all(ends)]
        if both:
            whole.append(max(both, key=lambda wing: round(wing.high - wing.low)))
        half += [(wing, ends[0]) for wing, ends in zip(ways, free, strict=True) if any(ends) and not both]
    return [*whole, *(under for wing, at_low in half for under in _under_a_ridge(wing, at_low, whole, overhang))]


def _under_a_ridge(wing: _Wing, free_at_low: bool, whole: Sequence[_Wing], overhang: float) -> list[_Wing]:
    """Return a wing with one free end cut off where it has run under the ridge of a wing across it, if there is one.

    It is shorter by the overhang, with which it reaches just to that ridge.
    """
    under = []
    for other in whole:
        across = other.along_x != wing.along_x and wing.low < other.middle < wing.high
        if (
            across
            and other.width > wing.width - SNAP
            and other.low < wing.front + SNAP
            and other.high > wing.back - SNAP
        ):
            if free_at_low:
                under.append(replace(wing, high=other.middle - overhang))
            else:
                under.append(replace(wing, low=other.middle + overhang))
    return under


def _largest_rectangles(plan: Polygon) -> list[tuple[float, float, float, float]]:
    """Return the rectangles (x0, y0, x1, y1) in a plan that lie in no larger one."""
    room = plan.buffer(SNAP, join_style="mitre")
    xs, ys = (_apart(values) for values in plan.exterior.coords.xy)
    inside = [
        (x0, y0, x1, y1)
        for x0, x1 in combinations(xs, 2)
        for y0, y1 in combinations(ys, 2)
        if room.covers(box(x0, y0, x1, y1))
    ]

    def holds(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
        return one[0] <= other[0] and one[1] <= other[1] and one[2] >= other[2] and one[3] >= other[3]

    return [one for one in inside if not any(other != one and holds(other, one) for other in inside)]


def _apart(values: Sequence[float]) -> list[float]:
    """Return values in order without those that are nearly the same."""
    kept: list[float] = []
    for value in sorted(values):
        if not kept or value - kept[-1] > SNAP:
            kept.append(value)
    return kept


def _gable(wing: _Wing, roof: Roof, height: float) -> list[Patch]:
    """Return the two slopes of a wing, with their overhang."""
    low, high = wing.low - roof.overhang, wing.high + roof.overhang
    rise = math.tan(roof.pitch)
    slopes = []
    for eave, sign in ((wing.front, 1.0), (wing.back, -1.0)):
        outer = eave - sign * roof.overhang
        edges = sorted((outer, wing.middle))
        room = box(*wing.corner(low, edges[0]), *wing.corner(high, edges[1]))
        a, b = wing.corner(0.0, sign * rise)
        ring = tuple((float(x), float(y)) for x, y in room.exterior.coords[:-1])
        slopes.append(Patch(ring, (a, b, height - sign * rise * eave)))
    return slopes
