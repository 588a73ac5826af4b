"""Boards on a straight path: where a moving one would meet a resting one, exact over the whole path.

Two convex prisms are apart if and only if some axis separates them. While one of them moves straight, its shadow on
an axis moves at an even speed, so that both shadows overlap over one interval of the path; the prisms meet over what
the intervals of all axes have in common (Ericson, Real-Time Collision Detection, 5.5.2).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..findings import place
from ..tolerance import OVERLAP
from .collide import edge_directions, edges_crossed, face_normals

__all__ = ["Meeting", "Passing", "go_past", "way_out"]

#: Boards that pass one another with more room than this are not near, mm: no hand feels it.
NEAR = 1.0

#: Pairs of prisms that are looked at together: a few at first, since most ways that are blocked are so everywhere, then
#: as many as memory takes easily.
_FIRST, _AT_ONCE = 200, 4_000

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
    start, mover, rest = 0, _Prisms(moving), _Prisms(resting)
    while start < len(one):
        these = slice(start, start + (_AT_ONCE if start else _FIRST))
        passing = _pass(mover, rest, one[these], two[these], way, length, deeper)
        start, room, met = these.stop, min(room, passing.room), passing.meeting
        if met is not None and (worst is None or met.depth > worst.depth):
            worst = met
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


class _Prisms:
    """Prisms, (k, 6, 3) mm, with the directions of their edges and faces, worked out once for all pairs."""

    def __init__(self, corners: np.ndarray) -> None:
        self.corners = corners
        self.edges = edge_directions(corners)
        self.normals = face_normals(self.edges)


@dataclass(frozen=True, slots=True, eq=False)
class _Shadows:
    """Pairs of prisms on their axes, (k, a) each: by how much their shadows overlap at the end of the path from ahead
    and from behind, mm, infinite on what is no axis; speed of the moving one per mm of path.

    since, until: (k,) mm before the end of the path, between which they overlap on all axes on which they move;
    sideways: (k,) mm by which they overlap on the other axes, at least.
    """

    ahead: np.ndarray
    behind: np.ndarray
    speed: np.ndarray
    since: np.ndarray
    until: np.ndarray
    sideways: np.ndarray

    @property
    def at_end(self) -> np.ndarray:
        """By how much both share a place at the end of the path, (k,) mm; below 0 where they are apart."""
        depths: np.ndarray = np.minimum(self.ahead, self.behind).min(axis=1)
        return depths

    def depths(self, pairs: np.ndarray, before: np.ndarray) -> np.ndarray:
        """Return how deep pairs share a place ``before`` the end of the path, (k, n) mm for both."""
        moved = before[:, :, None] * self.speed[pairs, None, :]
        overlap = np.minimum(self.ahead[pairs, None, :] - moved, self.behind[pairs, None, :] + moved)
        deep: np.ndarray = overlap.min(axis=2)
        return deep


def _shadows(
    one: np.ndarray,
    two: np.ndarray,
    axes: np.ndarray,
    usable: np.ndarray,
    way: np.ndarray,
    length: float,
    deeper: float,
) -> _Shadows:
    """Return pairs of prisms, (k, 6, 3) each, on axes, (k, a, 3), of which some can be used, (k, a)."""
    a, b = axes @ one.transpose(0, 2, 1), axes @ two.transpose(0, 2, 1)
    ahead = np.where(usable, a.max(axis=2) - b.min(axis=2), np.inf)
    behind = np.where(usable, b.max(axis=2) - a.min(axis=2), np.inf)
    speed = axes @ way
    moves = np.abs(speed) * length >= deeper
    rate = np.where(moves, np.abs(speed), 1.0)
    until = np.where(moves, (np.where(speed > 0.0, ahead, behind) - deeper) / rate, np.inf).min(axis=1)
    since = np.where(moves, (deeper - np.where(speed > 0.0, behind, ahead)) / rate, -np.inf).max(axis=1)
    sideways = np.where(moves, np.inf, np.minimum(ahead, behind)).min(axis=1)
    return _Shadows(ahead, behind, speed, np.maximum(since, 0.0), np.minimum(until, length), sideways)


def _pass(
    moving: _Prisms,
    resting: _Prisms,
    first: np.ndarray,
    second: np.ndarray,
    way: np.ndarray,
    length: float,
    deeper: float,
) -> Passing:
    """Return what the path comes to for pairs of prisms, named by their places among the moving and the resting ones.

    The normals of faces part most pairs; only for the others edges are crossed.
    """
    faces = np.concatenate([moving.normals[first], resting.normals[second]], axis=1)
    all_of_them = np.ones(faces.shape[:2], dtype=bool)
    seen = _shadows(moving.corners[first], resting.corners[second], faces, all_of_them, way, length, deeper)
    left = np.flatnonzero((seen.until > seen.since) & (seen.sideways > -NEAR))
    if not len(left):
        return Passing()
    first, second = first[left], second[left]
    one, two = moving.corners[first], resting.corners[second]
    crossed, usable = edges_crossed(moving.edges[first], resting.edges[second])
    axes, usable = np.concatenate([faces[left], crossed], axis=1), np.hstack([all_of_them[left], usable])
    seen = _shadows(one, two, axes, usable, way, length, deeper)
    passes = (seen.until > seen.since) & (seen.at_end <= deeper)
    room = float(np.min(-seen.sideways[passes & np.isfinite(seen.sideways)], initial=np.inf))
    room = room if room < NEAR else np.inf
    met = np.flatnonzero(passes & (seen.sideways > deeper))
    if not len(met):
        return Passing(room)
    before = seen.since[met, None] + (seen.until - seen.since)[met, None] * _LOOKS
    depths = seen.depths(met, before).max(axis=1)
    at = int(met[int(np.argmax(depths))])
    there = one[at] - way * seen.until[at]
    low, high = np.maximum(there.min(axis=0), two[at].min(axis=0)), np.minimum(there.max(axis=0), two[at].max(axis=0))
    pair = (int(first[at]), int(second[at]))
    return Passing(room, Meeting(pair, float(seen.until[at]), float(depths.max()), place((low + high) / 2)))
