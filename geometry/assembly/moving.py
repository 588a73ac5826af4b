"""Boards on a straight path: where a moving one would meet a resting one, exact over the whole path.

Two convex prisms are apart if and only if some axis separates them. While one of them moves straight, its shadow on
an axis moves at an even speed, so that both shadows overlap over one interval of the path; the prisms meet over what
the intervals of all axes have in common (Ericson, Real-Time Collision Detection, 5.5.2).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..findings import place
from ..fold.collide import axes_between
from ..tolerance import OVERLAP

__all__ = ["Meeting", "Passing", "go_past", "way_out"]

#: Boards that pass one another with more room than this are not near, mm: no hand feels it.
NEAR = 1.0

#: Pairs of prisms that are looked at together, so that memory stays small.
_AT_ONCE = 1_000

#: Places along a contact where its depth is looked at; ends and middles are among them.
_LOOKS = np.linspace(0.0, 1.0, 9)


@dataclass(frozen=True, slots=True)
class Meeting:
    """Where a moving prism first enters a resting one.

    pair: their places among the moving and the resting prisms; before: how far from the end of the path, mm; depth:
    how deep they would share a place at worst, mm; point: in the model, mm, where the moving prism is by then.
    """

    pair: tuple[int, int]
    before: float
    depth: float
    point: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Passing:
    """What a path comes to. room: least play sideways where boards pass one another, mm, infinite where none are near.

    meeting: the deepest place where the path is blocked, None where it is free.
    """

    room: float = np.inf
    meeting: Meeting | None = None

    @property
    def depth(self) -> float:
        """How deep the path is blocked, mm, 0 where it is free."""
        return 0.0 if self.meeting is None else self.meeting.depth


def way_out(moving: np.ndarray, resting: np.ndarray, way: np.ndarray) -> float:
    """Return how far before its place what moves along ``way`` is clear of all that rests, mm.

    moving, resting: (k, 6, 3) mm, prisms in their places; way: (3,) unit, toward the place.
    """
    if not len(moving) or not len(resting):
        return 0.0
    return max(0.0, float((moving @ way).max() - (resting @ way).min()))


def go_past(
    moving: np.ndarray,
    resting: np.ndarray,
    way: np.ndarray,
    length: float,
    *,
    deeper: float = OVERLAP,
    first: bool = False,
) -> Passing:
    """Move prisms straight to their places, ``length`` mm along the unit vector ``way``, past resting ones.

    moving, resting: (k, 6, 3) mm, prisms in their places at the end of the path. Prisms that share less than
    ``deeper`` mm only touch, so that boards may slide along each other. Those that cross at the end of the path already
    are left out; the proof reports them. first: stop at any meeting, where it matters only whether the path is free.
    """
    one, two = _near(moving, resting, way, length, deeper)
    room, worst = np.inf, None
    for start in range(0, len(one), _AT_ONCE):
        these = slice(start, start + _AT_ONCE)
        passing = _pass(moving[one[these]], resting[two[these]], way, length, deeper)
        room, met = min(room, passing.room), passing.meeting
        if met is not None and (worst is None or met.depth > worst.depth):
            k = start + met.pair[0]
            worst = replace(met, pair=(int(one[k]), int(two[k])))
            if first:
                break
    return Passing(room, worst)


def _near(
    moving: np.ndarray, resting: np.ndarray, way: np.ndarray, length: float, deeper: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return the pairs whose boxes come near on the path, as places among the moving and the resting prisms.

    Near is meant sideways; ahead they must overlap.
    """
    if not len(moving) or not len(resting):
        return np.zeros(0, dtype=int), np.zeros(0, dtype=int)
    air = NEAR * np.sqrt(np.maximum(0.0, 1.0 - way**2)) - deeper * np.abs(way)
    low, high = moving.min(axis=1), moving.max(axis=1)
    low, high = np.minimum(low, low - way * length) - air, np.maximum(high, high - way * length) + air
    low_rest, high_rest = resting.min(axis=1), resting.max(axis=1)
    here = np.flatnonzero(np.all((low < high_rest.max(axis=0)) & (high > low_rest.min(axis=0)), axis=1))
    there = np.flatnonzero(np.all((low_rest < high.max(axis=0)) & (high_rest > low.min(axis=0)), axis=1))
    close = np.ones((len(here), len(there)), dtype=bool)
    for axis in range(3):
        close &= low[here, None, axis] < high_rest[None, there, axis]
        close &= high[here, None, axis] > low_rest[None, there, axis]
    one, two = np.nonzero(close)
    return here[one], there[two]


@dataclass(frozen=True, slots=True, eq=False)
class _Shadows:
    """Pairs of prisms on their axes, (k, a) each: by how much their shadows overlap at the end of the path from ahead
    and from behind, mm; speed of the moving one per mm of path; which axes do not move; which can be used.

    since, until: (k,) mm before the end of the path, between which all other axes overlap; sideways: (k,) mm by which
    the axes that do not move overlap, at least.
    """

    ahead: np.ndarray
    behind: np.ndarray
    speed: np.ndarray
    usable: np.ndarray
    since: np.ndarray
    until: np.ndarray
    sideways: np.ndarray

    @property
    def at_end(self) -> np.ndarray:
        """By how much both share a place at the end of the path, (k,) mm; below 0 where they are apart."""
        depths: np.ndarray = np.where(self.usable, np.minimum(self.ahead, self.behind), np.inf).min(axis=1)
        return depths

    def depths(self, pairs: np.ndarray, before: np.ndarray) -> np.ndarray:
        """Return how deep pairs share a place ``before`` the end of the path, (k, n) mm for both."""
        moved = before[:, :, None] * self.speed[pairs, None, :]
        overlap = np.minimum(self.ahead[pairs, None, :] - moved, self.behind[pairs, None, :] + moved)
        deep: np.ndarray = np.where(self.usable[pairs, None, :], overlap, np.inf).min(axis=2)
        return deep


def _shadows(
    one: np.ndarray, two: np.ndarray, way: np.ndarray, length: float, deeper: float, *, faces: bool
) -> _Shadows:
    axes, usable = axes_between(one, two, faces=faces)
    a, b = (np.einsum("kpj,kxj->kxp", prism, axes) for prism in (one, two))
    ahead, behind = a.max(axis=2) - b.min(axis=2), b.max(axis=2) - a.min(axis=2)
    speed = axes @ way
    still = np.abs(speed) * length < deeper
    moves = usable & ~still
    rate = np.where(moves, np.abs(speed), 1.0)
    until = np.where(moves, (np.where(speed > 0.0, ahead, behind) - deeper) / rate, np.inf).min(axis=1)
    since = np.where(moves, (deeper - np.where(speed > 0.0, behind, ahead)) / rate, -np.inf).max(axis=1)
    sideways = np.where(usable & still, np.minimum(ahead, behind), np.inf).min(axis=1)
    return _Shadows(ahead, behind, speed, usable, np.maximum(since, 0.0), np.minimum(until, length), sideways)


def _pass(one: np.ndarray, two: np.ndarray, way: np.ndarray, length: float, deeper: float) -> Passing:
    """Return what the path comes to for pairs of prisms, (k, 6, 3) each; a meeting's pair is its place among them."""
    seen = _shadows(one, two, way, length, deeper, faces=True)
    left = np.flatnonzero((seen.until > seen.since) & (seen.sideways > -NEAR))
    if not len(left):
        return Passing()
    one, two = one[left], two[left]
    seen = _shadows(one, two, way, length, deeper, faces=False)
    passes = (seen.until > seen.since) & (seen.at_end <= deeper)
    room = float(np.min(-seen.sideways[passes & np.isfinite(seen.sideways)], initial=np.inf))
    room = room if room < NEAR else np.inf
    met = np.flatnonzero(passes & (seen.sideways > deeper))
    if not len(met):
        return Passing(room)
    before = seen.since[met, None] + (seen.until - seen.since)[met, None] * _LOOKS
    depths = seen.depths(met, before).max(axis=1)
    k = int(np.argmax(depths))
    at = met[k]
    there = one[at] - way * seen.until[at]
    low, high = np.maximum(there.min(axis=0), two[at].min(axis=0)), np.minimum(there.max(axis=0), two[at].max(axis=0))
    where = int(left[at])
    return Passing(room, Meeting((where, where), float(seen.until[at]), float(depths[k]), place((low + high) / 2)))
