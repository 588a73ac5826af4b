"""Blocking out: from a plan on the squares to walls with flex corners, and a roof over them.

A maker thinks of a building as a plan, a wall height and a roof. The walls are one ring whose corners all flex; the
roof is a surface of its own whose underside passes through the inner top edges of the walls, so that walls reach up
under a gable. This module gives the points, faces and roles of such a block-out, in millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import BadSettingError
from ..solid.solid import Role
from ..tolerance import SNAP
from .outline import Corner, PlanKind, check_outline, outline_of, sides_of, turns_of
from .roof import Roof, RoofKind, pitch_of_rise
from .roof_kinds import roof_over
from .roof_surface import RoofSurface
from .wings import StandingWing, check_below, fitted

__all__ = ["BlockOut", "Corner", "PlanKind", "Roof", "RoofKind", "block_out", "outline_of", "pitch_of_rise"]

#: Walls that meet at a sharper corner are a slip of the plan, radians (10 degrees): boards of 3 mm beside one another
#: would be in each other's way over 34 mm there.
_SHARPEST = math.radians(10.0)

#: How high a wall is along it: (from its start, height), mm.
Profile = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True, eq=False)
class BlockOut:
    """A building as modelled.

    points: (n, 3) mm, float64, read-only. faces: point indices, counter-clockwise seen from outside.
    roles: (smaller point, larger point) with the role of the edge between them; all others are plain.
    """

    points: np.ndarray
    faces: tuple[tuple[int, ...], ...]
    roles: tuple[tuple[tuple[int, int], Role], ...]


def block_out(
    plan: Sequence[Corner],
    *,
    height: float = 62.0,
    roof: Roof | None = None,
    breaks: Iterable[Corner] = (),
    wings: Sequence[StandingWing] = (),
) -> BlockOut:
    """Return walls over a plan, with their roof.

    plan: corners in mm, either way round, without the first repeated. height: of the walls at the
    eaves, mm. breaks: plan points within walls where the wall is to part; others are passed over.
    wings: what stands against these walls, lower and with a roof of its own.
    Every wall corner flexes; the lines of the roof are left to be proposed.
    Raises BadSettingError, in one sentence, for what cannot be built.

    >>> house = block_out([(0, 0), (200, 0), (200, 120), (0, 120)], height=60.0)
    >>> len(house.faces), len(house.points)
    (4, 8)
    """
    roof = roof or Roof()
    ring = check_outline(plan)
    _check_corners(ring)
    if not (math.isfinite(height) and height > 0.0):
        raise BadSettingError(f"The walls are {height:g} mm high; they must be higher than 0")
    spots = tuple(breaks)
    build = _Build()
    surface = None if roof.kind is RoofKind.NONE else roof_over(ring, roof, height)
    build.walls(ring, _profiles(sides_of(ring), surface, height), spots)
    if surface is not None:
        build.roof(surface)
    for asked in wings:
        standing = fitted(asked, surface, height)
        under = standing.surface()
        check_below(standing, under, surface, height)
        build.walls(standing.ring, _profiles(standing.walls, under, standing.wing.height), spots)
        if under is not None:
            build.roof(under)
    return build.done()


def _profiles(sides: Sequence[tuple[Corner, Corner]], surface: RoofSurface | None, height: float) -> list[Profile]:
    """Return how high the walls are under a roof; all of one height, mm, where there is none."""
    if surface is None:
        return [((0.0, height), (math.dist(*side), height)) for side in sides]
    return [surface.profile(*side) for side in sides]


def _check_corners(ring: Sequence[Corner]) -> None:
    """Raise BadSettingError for a corner so sharp that the walls beside it are a spike or a slit of the plan."""
    for (x, y), turn in zip(ring, turns_of(ring), strict=True):
        between = math.pi - abs(turn)
        if between < _SHARPEST:
            raise BadSettingError(
                f"The walls at ({x:g}, {y:g}) mm meet at {math.degrees(between):.1f} degrees; "
                f"move that corner until they have {math.degrees(_SHARPEST):.0f} or more, or remove it"
            )


class _Build:
    """Points, faces and roles while they grow; points are shared within one surface."""

    def __init__(self) -> None:
        self.points: list[tuple[float, float, float]] = []
        self.faces: list[tuple[int, ...]] = []
        self.roles: dict[tuple[int, int], Role] = {}

    def walls(self, ring: Sequence[Corner], profiles: Sequence[Profile], breaks: Sequence[Corner]) -> None:
        """Add walls along the sides of a ring, in order, one for every profile; the sides after these stay open.

        Neighbours have their corner's points in common. Where all sides are walls, so do the last and the first one.
        """
        feet = [self.point(x, y, 0.0) for x, y in ring]
        heights = [profile[0][1] for profile in profiles]
        if len(profiles) < len(ring):
            heights.append(profiles[-1][-1][1])
        tops = [self.point(*corner, height) for corner, height in zip(ring, heights, strict=True)]
        for k, (start, end) in enumerate(sides_of(ring)[: len(profiles)]):
            after = (k + 1) % len(ring)
            if k > 0 or len(profiles) == len(ring):
                self.mark(feet[k], tops[k], Role.FLEX)
            self.wall(start, end, profiles[k], ((feet[k], tops[k]), (feet[after], tops[after])), breaks)

    def wall(
        self,
        start: Corner,
        end: Corner,
        profile: Profile,
        ends: tuple[tuple[int, int], tuple[int, int]],
        breaks: Sequence[Corner],
    ) -> None:
        """Add a wall in the pieces between its breaks; ends: the points (foot, top) of its two corners."""
        length = math.dist(start, end)

        def at(s: float, z: float) -> int:
            x, y = (a + (b - a) * s / length for a, b in zip(start, end, strict=True))
            return self.point(x, y, z)

        bends = list(profile[1:-1])
        columns = [(0.0, ends[0])]
        for s in _along(start, end, breaks):
            bend = next((bend for bend in bends if abs(bend[0] - s) < SNAP), None)
            if bend is not None:
                bends.remove(bend)
                s = bend[0]
            column = at(s, 0.0), at(s, _height(profile, s))
            self.mark(*column, Role.BREAK)
            columns.append((s, column))
        columns.append((length, ends[1]))
        for (left, (foot, top)), (right, (last, corner)) in pairwise(columns):
            between = [at(s, z) for s, z in reversed(bends) if left < s < right]
            self.faces.append((foot, last, corner, *between, top))

    def roof(self, surface: RoofSurface) -> None:
        first = len(self.points)
        self.points += surface.points
        self.faces += [tuple(first + k for k in face) for face in surface.faces]

    def point(self, x: float, y: float, z: float) -> int:
        self.points.append((x, y, z))
        return len(self.points) - 1

    def mark(self, start: int, end: int, role: Role) -> None:
        self.roles[min(start, end), max(start, end)] = role

    def done(self) -> BlockOut:
        points = np.array(self.points, dtype=np.float64)
        points.setflags(write=False)
        return BlockOut(points, tuple(self.faces), tuple(sorted(self.roles.items())))


def _height(profile: Profile, s: float) -> float:
    return float(np.interp(s, [bend[0] for bend in profile], [bend[1] for bend in profile]))


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
