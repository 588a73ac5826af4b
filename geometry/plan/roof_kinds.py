"""Kinds of roof: from a plan and the sizes of its roof to the surface of the underside, one small function a kind.

Every slope passes through the inner top edge of its wall at the eaves. Over right-angled plans slopes meet as in a
straight skeleton, and the ends of wings stand upright as gables; over other convex plans a gable, gambrel or
half-hip is that of the narrowest rectangle round the plan, and the walls reach up to it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import BadSettingError
from ..tolerance import SNAP
from .crossing_gables import crossing_gables
from .outline import Corner, grow, is_convex, is_right_angled, sides_of, turns_of
from .roof import Roof, RoofKind, check_roof
from .roof_surface import Patch, Plane, RoofSurface, highest_roof_of, join, lowest_of
from .skeleton import Stage, straight_skeleton

__all__ = ["roof_over"]

Ring = tuple[Corner, ...]


def roof_over(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    """Return the underside of a roof over an outline, corners in mm, counter-clockwise; height: of the eaves, mm.

    Raises BadSettingError, in one sentence, for what makes no roof over this plan.
    """
    inset = straight_skeleton(ring).top
    check_roof(roof, inset=inset, height=height)
    return _KINDS[roof.kind](ring, roof, height)


def _hip(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    return _slopes(ring, roof, [Stage(height - roof.drop, _speeds(ring, roof.pitch))])


def _mansard(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    return _broken(ring, roof, height, ())


def _gable(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    if _is_slanted(ring):
        return lowest_of(_overhung(ring, roof), _box_slopes(ring, roof.pitch, height))
    return _slopes(ring, roof, [Stage(height - roof.drop, _speeds(ring, roof.pitch, _ends_of(ring)))])


def _gambrel(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    if not _is_slanted(ring):
        return _broken(ring, roof, height, _ends_of(ring))
    planes = _box_slopes(ring, roof.lower_pitch, height)
    run = roof.lower_share * _box(ring).width / 2.0
    upper = height + run * (math.tan(roof.lower_pitch) - math.tan(roof.pitch))
    return lowest_of(_overhung(ring, roof), [*planes, *_box_slopes(ring, roof.pitch, upper)])


def _half_hip(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    rise = math.tan(roof.pitch) / 2.0
    if _is_slanted(ring):
        box = _box(ring)
        clipped = height + roof.lower_share * rise * box.width
        ends = _two_slopes(box.along, box.left, box.right, roof.pitch, clipped)
        return lowest_of(_overhung(ring, roof), [*_box_slopes(ring, roof.pitch, height), *ends])
    upright = set(_ends_of(ring))
    sides = sides_of(ring)
    starts = {k: height - roof.drop + roof.lower_share * rise * math.dist(*sides[k]) for k in upright}
    stages = [Stage(height - roof.drop, _speeds(ring, roof.pitch, upright))]
    for start in sorted(set(starts.values())):
        now = {k for k in upright if starts[k] < start + SNAP}
        if now:
            upright -= now
            stages.append(Stage(start, _speeds(ring, roof.pitch, upright)))
    return _slopes(ring, roof, stages)


def _lean_to(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    """One slope that rises from the longest wall, or from what lies farthest beyond it."""
    sides = sides_of(ring)
    lowest = max(range(len(ring)), key=lambda k: (round(math.dist(*sides[k]) / SNAP), -k))
    n = _inward(*sides[lowest])
    foot = min(n[0] * x + n[1] * y for x, y in ring)
    return lowest_of(_overhung(ring, roof), [_slope(n, foot, roof.pitch, height)])


def _pyramid(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    """All slopes meet in one point; the pitch is that of the steepest, the overhang of the least."""
    if not is_convex(ring):
        raise BadSettingError("A pyramid needs a plan without inner corners; choose a hip roof")
    skeleton = straight_skeleton(ring)
    x, y = (float(value) for value in skeleton.points[skeleton.points[:, 2] > skeleton.top - SNAP][:, :2].mean(axis=0))
    sides = sides_of(ring)
    reach = [n[0] * (x - a[0]) + n[1] * (y - a[1]) for (a, b) in sides for n in (_inward(a, b),)]
    rise = math.tan(roof.pitch) * min(reach)
    scale = 1.0 + roof.overhang / min(reach)
    grown = [(x + scale * (a - x), y + scale * (b - y)) for a, b in ring]
    patches = []
    for (a, b), far, (c, d) in zip(sides, reach, sides_of(grown), strict=True):
        n = _inward(a, b)
        patches.append(Patch((c, d, (x, y)), _slope(n, n[0] * a[0] + n[1] * a[1], math.atan2(rise, far), height)))
    return join(patches)


def _crossing(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    """Gables along every wing; a convex plan is crossed in its middle by a gable roof as wide as itself."""
    if not is_convex(ring):
        return crossing_gables(ring, _overhung(ring, roof), roof, height)
    box = _box(ring)
    middle, half = (box.left + box.right) / 2.0, box.width / 2.0
    across = _two_slopes(box.along, middle - half, middle + half, roof.pitch, height)
    return highest_roof_of(_overhung(ring, roof), [_box_slopes(ring, roof.pitch, height), across])


def _flat(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    return join([Patch(_overhung(ring, roof), (0.0, 0.0, height))])


_KINDS: dict[RoofKind, Callable[[Ring, Roof, float], RoofSurface]] = {
    RoofKind.GABLE: _gable,
    RoofKind.HIP: _hip,
    RoofKind.HALF_HIP: _half_hip,
    RoofKind.PYRAMID: _pyramid,
    RoofKind.LEAN_TO: _lean_to,
    RoofKind.GAMBREL: _gambrel,
    RoofKind.MANSARD: _mansard,
    RoofKind.CROSSING: _crossing,
    RoofKind.FLAT: _flat,
}


# -- slopes that meet as in a skeleton -------------------------------------------------------------


def _broken(ring: Ring, roof: Roof, height: float, upright: Collection[int]) -> RoofSurface:
    """Return slopes that are steep up to a share of the way in and flat above."""
    run = roof.lower_share * straight_skeleton(ring).top
    lower = Stage(height - roof.drop, _speeds(ring, roof.lower_pitch, upright))
    upper = Stage(height + run * math.tan(roof.lower_pitch), _speeds(ring, roof.pitch, upright))
    return _slopes(ring, roof, [lower, upper])


def _speeds(ring: Ring, pitch: float, upright: Collection[int] = ()) -> tuple[float, ...]:
    flat = 1.0 / math.tan(pitch)
    return tuple(0.0 if k in upright else flat for k in range(len(ring)))


def _slopes(ring: Ring, roof: Roof, stages: Sequence[Stage]) -> RoofSurface:
    skeleton = straight_skeleton(_overhung(ring, roof), stages)
    flat = [(float(x), float(y)) for x, y in skeleton.points[:, :2]]
    return join([Patch(tuple(flat[k] for k in face.ring), face.plane) for face in skeleton.faces])


def _overhung(ring: Ring, roof: Roof) -> Ring:
    return grow(ring, [roof.overhang] * len(ring))


def _ends_of(ring: Ring) -> tuple[int, ...]:
    """Return the sides that bear gables: ends of wings, no two beside one another, narrow ones first.

    An end lies between two outer corners and is no wider than the plan has room for a ridge behind it. Of equally
    wide ones those along y come first, so that the ridge of a square runs along x.
    Raises BadSettingError where there is none.
    """
    sides, turns = sides_of(ring), turns_of(ring)
    count, widest = len(ring), 2.0 * straight_skeleton(ring).top
    free = [k for k in range(count) if turns[k] > 0.0 and turns[(k + 1) % count] > 0.0]
    free = [k for k in free if math.dist(*sides[k]) <= widest + SNAP]

    def rank(k: int) -> tuple[int, bool, int]:
        (ax, ay), (bx, by) = sides[k]
        return round(math.dist(*sides[k]) / SNAP), abs(bx - ax) > abs(by - ay), k

    ends: list[int] = []
    for k in sorted(free, key=rank):
        if not {(k - 1) % count, (k + 1) % count} & set(ends):
            ends.append(k)
    if not ends:
        raise BadSettingError("No wall of this plan is the end of a wing, where a gable could stand; choose a hip roof")
    return tuple(sorted(ends))


# -- slopes over the narrowest rectangle -----------------------------------------------------------


def _is_slanted(ring: Ring) -> bool:
    return is_convex(ring) and not is_right_angled(ring)


@dataclass(frozen=True, slots=True)
class _Box:
    """The narrowest rectangle round a plan: ``across`` its width, unit; its limits across, and along its length, mm."""

    across: Corner
    front: float
    back: float
    left: float
    right: float

    @property
    def along(self) -> Corner:
        return self.across[1], -self.across[0]

    @property
    def width(self) -> float:
        return self.back - self.front


def _box(ring: Ring) -> _Box:
    """Return the narrowest rectangle with a side along a side of the plan; of equally narrow ones the first."""
    boxes = []
    corners = np.array(ring)
    for side in sides_of(ring):
        n = _inward(*side)
        for across in (n, (-n[1], n[0])):
            v, u = corners @ across, corners @ (across[1], -across[0])
            boxes.append(_Box(across, *(float(value) for value in (v.min(), v.max(), u.min(), u.max()))))
    return min(boxes, key=lambda box: round(box.width / SNAP))


def _box_slopes(ring: Ring, pitch: float, height: float) -> list[Plane]:
    """Return the two slopes that rise from the long sides of the narrowest rectangle."""
    box = _box(ring)
    return _two_slopes(box.across, box.front, box.back, pitch, height)


def _two_slopes(n: Corner, front: float, back: float, pitch: float, height: float) -> list[Plane]:
    """Return the slopes that rise to each other from where n . p is ``front`` and ``back``."""
    return [_slope(n, front, pitch, height), _slope((-n[0], -n[1]), -back, pitch, height)]


def _slope(n: Corner, foot: float, pitch: float, height: float) -> Plane:
    """Return the plane that rises along ``n``, unit, from ``height`` where n . p is ``foot``."""
    rise = math.tan(pitch)
    return rise * n[0], rise * n[1], height - rise * foot


def _inward(start: Corner, end: Corner) -> Corner:
    """Return the direction from a side into the plan."""
    length = math.dist(start, end)
    return (start[1] - end[1]) / length, (end[0] - start[0]) / length
