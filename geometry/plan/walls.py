"""Blocking out: from a plan on the squares to walls with flex corners and a roof that unfolds.

A maker thinks of a building as a plan, a wall height and a roof. The walls are one ring whose corners
all flex; the roof is a surface of its own whose underside passes through the inner top edges of the
walls at the eaves. This module gives the points, faces and roles of such a block-out, in millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

import numpy as np

from ..errors import BadSettingError
from ..solid.solid import Role
from ..tolerance import SNAP

__all__ = ["BlockOut", "PlanKind", "Roof", "RoofKind", "block_out", "outline_of", "pitch_of_rise"]

Corner = tuple[float, float]


class PlanKind(StrEnum):
    """The shapes of plan that have sizes instead of corners."""

    RECTANGLE = "rectangle"
    L = "l"
    T = "t"
    U = "u"


class RoofKind(StrEnum):
    """What lies over the walls."""

    NONE = "none"
    GABLE = "gable"
    HIP = "hip"


@dataclass(frozen=True, slots=True)
class Roof:
    """A roof over a rectangle: pitch in radians, overhang in mm, level, beyond the walls."""

    kind: RoofKind = RoofKind.NONE
    pitch: float = math.atan2(8.0, 12.0)
    overhang: float = 6.0


@dataclass(frozen=True, slots=True, eq=False)
class BlockOut:
    """A building as modelled.

    points: (n, 3) mm, float64, read-only. faces: point indices, counter-clockwise seen from outside.
    roles: (smaller point, larger point) with the role of the edge between them; all others are plain.
    """

    points: np.ndarray
    faces: tuple[tuple[int, ...], ...]
    roles: tuple[tuple[tuple[int, int], Role], ...]


def pitch_of_rise(rise: float) -> float:
    """Return the pitch in radians of a roof that rises ``rise`` in 12, as a framing square counts.

    >>> import math
    >>> round(math.degrees(pitch_of_rise(8.0)), 2)
    33.69
    """
    return math.atan2(rise, 12.0)


def outline_of(
    kind: PlanKind, *, length: float, width: float, bar: float = 0.0, wing: float = 0.0, square: float
) -> tuple[Corner, ...]:
    """Return the corners, in mm, counter-clockwise from the origin, of a plan that is sized in squares.

    length, width: the whole plan along x and y. The bar of an L, T or U lies along the front over the
    whole length and is ``bar`` deep; its wings are ``wing`` wide and reach the full width: one at the
    left of an L, one in the middle of a T, one at each end of a U.
    Raises BadSettingError where a size leaves nothing of the shape.

    >>> outline_of(PlanKind.RECTANGLE, length=3, width=2, square=25.0)
    ((0.0, 0.0), (75.0, 0.0), (75.0, 50.0), (0.0, 50.0))
    """
    for name, value in (("length", length), ("width", width), ("square", square)):
        if not (math.isfinite(value) and value > 0.0):
            raise BadSettingError(f"The {name} of the plan is {value:g}; it must be more than 0")
    if kind is not PlanKind.RECTANGLE:
        wings = 2 if kind is PlanKind.U else 1
        if not 0.0 < bar < width:
            raise BadSettingError(
                f"The bar is {bar:g} squares deep; choose between 0 and the plan's width of {width:g}"
            )
        if not 0.0 < wing * wings < length:
            raise BadSettingError(
                f"A wing {wing:g} squares wide leaves no {kind.value.upper()}; "
                f"choose less than {length / wings:g} for a length of {length:g}"
            )
    far = length - wing
    left, right = (length - wing) / 2.0, (length + wing) / 2.0
    corners: dict[PlanKind, list[Corner]] = {
        PlanKind.RECTANGLE: [(length, width), (0.0, width)],
        PlanKind.L: [(length, bar), (wing, bar), (wing, width), (0.0, width)],
        PlanKind.T: [(length, bar), (right, bar), (right, width), (left, width), (left, bar), (0.0, bar)],
        PlanKind.U: [(length, width), (far, width), (far, bar), (wing, bar), (wing, width), (0.0, width)],
    }
    return tuple((x * square, y * square) for x, y in [(0.0, 0.0), (length, 0.0), *corners[kind]])


def block_out(
    plan: Sequence[Corner], *, height: float = 62.0, roof: Roof | None = None, breaks: Iterable[Corner] = ()
) -> BlockOut:
    """Return walls over a right-angled plan, with their roof.

    plan: corners in mm, either way round, without the first repeated. height: of the walls at the
    eaves, mm. breaks: plan points within walls where the wall is to part; others are passed over.
    Every wall corner and the ridge flex. Of a hip roof two hips across from each other flex and two
    are closures; a square one comes to a point, and one of its four hips is a closure.
    Raises BadSettingError, in one sentence, for what cannot be built.

    >>> house = block_out([(0, 0), (200, 0), (200, 120), (0, 120)], height=60.0)
    >>> len(house.faces), len(house.points)
    (4, 8)
    """
    roof = roof or Roof()
    ring = _checked(plan)
    if not (math.isfinite(height) and height > 0.0):
        raise BadSettingError(f"The walls are {height:g} mm high; they must be higher than 0")
    build = _Build()
    if roof.kind is RoofKind.NONE:
        build.walls(ring, height, {}, tuple(breaks))
        return build.done()
    span = _checked_roof(ring, roof, height)
    rise = math.tan(roof.pitch) * span / 2.0
    gables = _short_sides(ring) if roof.kind is RoofKind.GABLE else ()
    build.walls(ring, height, dict.fromkeys(gables, height + rise), tuple(breaks))
    build.roof(ring, roof, height, rise)
    return build.done()


def _checked(plan: Sequence[Corner]) -> tuple[Corner, ...]:
    """Return the corners counter-clockwise without those within straight walls."""
    ring = [(float(x), float(y)) for x, y in plan]
    if not all(math.isfinite(value) for corner in ring for value in corner):
        raise BadSettingError("A corner of the plan is no number; give every corner as two numbers")
    if len(ring) < 4:
        raise BadSettingError(f"The plan has {len(ring)} corners; a right-angled room needs at least 4")
    count = len(ring)
    for k, (a, b) in enumerate(zip(ring, [*ring[1:], ring[0]], strict=True)):
        across = [abs(a[0] - b[0]), abs(a[1] - b[1])]
        if max(across) < SNAP:
            raise BadSettingError(f"Wall {k + 1} of the plan has no length; remove one of its two corners")
        if min(across) > SNAP:
            raise BadSettingError(f"Wall {k + 1} of the plan is slanted; every wall must run along the squares")
    ring = [c for k, c in enumerate(ring) if not _straight(ring[k - 1], c, ring[(k + 1) % count])]
    for k in range(len(ring)):
        for other in range(k + 2, len(ring)):
            if (other + 1) % len(ring) != k and _meet(*_side(ring, k), *_side(ring, other)):
                raise BadSettingError(
                    f"Walls {k + 1} and {other + 1} of the plan cross or touch; move their corners apart"
                )
    area = sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(ring, [*ring[1:], ring[0]], strict=True))
    return tuple(ring if area > 0.0 else ring[::-1])


def _straight(before: Corner, here: Corner, after: Corner) -> bool:
    one = (here[0] - before[0], here[1] - before[1])
    two = (after[0] - here[0], after[1] - here[1])
    if (abs(one[0]) > SNAP) != (abs(two[0]) > SNAP):
        return False
    if one[0] * two[0] + one[1] * two[1] < 0.0:
        raise BadSettingError(f"The plan runs back on itself at ({here[0]:g}, {here[1]:g}) mm; remove that corner")
    return True


def _side(ring: Sequence[Corner], k: int) -> tuple[Corner, Corner]:
    return ring[k], ring[(k + 1) % len(ring)]


def _meet(a: Corner, b: Corner, c: Corner, d: Corner) -> bool:
    """Return whether two sides along the axes share a point: their boxes do."""
    return all(max(min(a[i], b[i]), min(c[i], d[i])) < min(max(a[i], b[i]), max(c[i], d[i])) + SNAP for i in (0, 1))


def _checked_roof(ring: Sequence[Corner], roof: Roof, height: float) -> float:
    """Return the span of the roof, mm."""
    if len(ring) != 4:
        raise BadSettingError(
            f"A {roof.kind.value} roof needs a rectangular plan and this one has {len(ring)} corners; "
            "choose no roof, or block out the rectangles one by one"
        )
    # at the ends of the range there is no roof plane, or one that nothing could meet
    if not math.radians(1.0) <= roof.pitch <= math.radians(85.0):
        raise BadSettingError(f"The pitch is {math.degrees(roof.pitch):.4g} degrees; choose between 1 and 85")
    span = min(math.dist(*_side(ring, 0)), math.dist(*_side(ring, 1)))
    # without any overhang the roof would share its corners with the walls and be one surface with them
    if not SNAP < roof.overhang <= span / 2.0:
        raise BadSettingError(
            f"The overhang is {roof.overhang:g} mm; choose from above 0 to {span / 2.0:g}, half the room's width"
        )
    drop = math.tan(roof.pitch) * roof.overhang
    if drop >= height:
        raise BadSettingError(
            f"The eaves would hang {drop:.4g} mm below the wall tops, to the ground of walls {height:g} mm high; "
            "choose less overhang or a lower pitch"
        )
    return span


def _short_sides(ring: Sequence[Corner]) -> tuple[int, int]:
    """Return the two walls that bear the gables: the shorter ones, on a square those along y."""
    along_x = abs(ring[1][0] - ring[0][0]) > SNAP
    first, second = math.dist(*_side(ring, 0)), math.dist(*_side(ring, 1))
    if abs(first - second) < SNAP:
        return (1, 3) if along_x else (0, 2)
    return (1, 3) if second < first else (0, 2)


class _Build:
    """Points, faces and roles while they grow; points are shared within one surface."""

    def __init__(self) -> None:
        self.points: list[tuple[float, float, float]] = []
        self.faces: list[tuple[int, ...]] = []
        self.roles: dict[tuple[int, int], Role] = {}
        self.known: dict[tuple[float, float, float], int] = {}

    def point(self, x: float, y: float, z: float) -> int:
        key = (round(x, 9), round(y, 9), round(z, 9))
        if key not in self.known:
            self.known[key] = len(self.points)
            self.points.append((x, y, z))
        return self.known[key]

    def mark(self, start: int, end: int, role: Role) -> None:
        self.roles[min(start, end), max(start, end)] = role

    def walls(self, ring: Sequence[Corner], height: float, peaks: dict[int, float], breaks: Sequence[Corner]) -> None:
        for k in range(len(ring)):
            start, end = _side(ring, k)
            length = math.dist(start, end)
            peak = peaks.get(k, height)
            partings = _along(start, end, breaks)
            columns = [0.0, *partings, length]

            def at(s: float, z: float, start: Corner = start, end: Corner = end, length: float = length) -> int:
                x, y = (a + (b - a) * s / length for a, b in zip(start, end, strict=True))
                return self.point(x, y, z)

            def top(s: float, length: float = length, peak: float = peak) -> float:
                return height + (peak - height) * (1.0 - abs(2.0 * s / length - 1.0))

            for left, right in pairwise(columns):
                apex = [at(length / 2.0, peak)] if peak > height and left < length / 2.0 < right else []
                self.faces.append((at(left, 0.0), at(right, 0.0), at(right, top(right)), *apex, at(left, top(left))))
            self.mark(at(0.0, 0.0), at(0.0, height), Role.FLEX)
            for s in partings:
                self.mark(at(s, 0.0), at(s, top(s)), Role.BREAK)

    def roof(self, ring: Sequence[Corner], roof: Roof, height: float, rise: float) -> None:
        """Add the roof; ``ring`` is turned so that the ridge runs along its first side."""
        self.known = {}
        if 0 in _short_sides(ring):
            ring = [*ring[1:], ring[0]]
        a, b, _, d = (np.array(corner) for corner in ring)
        length, span = float(np.linalg.norm(b - a)), float(np.linalg.norm(d - a))
        u, v = (b - a) / length, (d - a) / span
        out = roof.overhang
        foot, ridge = height - math.tan(roof.pitch) * out, height + rise

        def at(s: float, t: float, z: float) -> int:
            x, y = a + s * u + t * v
            return self.point(float(x), float(y), z)

        low = [at(s, t, foot) for s, t in ((-out, -out), (length + out, -out), (length + out, span + out))]
        low.append(at(-out, span + out, foot))
        if roof.kind is RoofKind.GABLE:
            left, right = at(-out, span / 2.0, ridge), at(length + out, span / 2.0, ridge)
            self.faces += [(low[0], low[1], right, left), (low[2], low[3], left, right)]
            self.mark(left, right, Role.FLEX)
            return
        if length - span < SNAP:
            tip = at(length / 2.0, span / 2.0, ridge)
            self.faces += [(low[k], low[(k + 1) % 4], tip) for k in range(4)]
            for k in range(4):
                self.mark(low[k], tip, Role.FLEX if k else Role.CLOSURE)
            return
        left, right = at(span / 2.0, span / 2.0, ridge), at(length - span / 2.0, span / 2.0, ridge)
        self.faces += [(low[0], low[1], right, left), (low[1], low[2], right)]
        self.faces += [(low[2], low[3], left, right), (low[3], low[0], left)]
        self.mark(left, right, Role.FLEX)
        for corner, end, role in ((0, left, Role.CLOSURE), (1, right, Role.FLEX), (2, right, Role.CLOSURE)):
            self.mark(low[corner], end, role)
        self.mark(low[3], left, Role.FLEX)

    def done(self) -> BlockOut:
        points = np.array(self.points, dtype=np.float64)
        points.setflags(write=False)
        return BlockOut(points, tuple(self.faces), tuple(sorted(self.roles.items())))


def _along(start: Corner, end: Corner, spots: Sequence[Corner]) -> list[float]:
    """Return how far along a wall, mm, those of the spots lie that are within it."""
    length = math.dist(start, end)
    u = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    found: list[float] = []
    for x, y in spots:
        s = (x - start[0]) * u[0] + (y - start[1]) * u[1]
        away = abs((x - start[0]) * u[1] - (y - start[1]) * u[0])
        if away < SNAP and SNAP < s < length - SNAP and all(abs(s - other) > SNAP for other in found):
            found.append(s)
    return sorted(found)
