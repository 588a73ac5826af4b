"""Tracks: how one part moves, from station to station; between two stations it turns and moves evenly, eased at both.

Fold time runs from 0, flat on the sheets, over 1, standing, to 2, stacked in the box.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..pose import Pose

__all__ = ["FLAT", "STACKED", "STANDING", "Station", "Track", "matrix_of", "quaternion_of", "track_of"]

#: Fold times at which the building lies on its sheets, stands, and lies in its box.
FLAT, STANDING, STACKED = 0.0, 1.0, 2.0

#: Turns nearer to each other than this, 1 - cosine of half the angle, are interpolated along a straight line.
_NEAR = 1e-9


#: A turn whose half has a cosine below this is half a turn, and parts of its axis below it are rounding.
_HALF_TURN = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Station:
    """Where a part is at a fold time: the pose of its frame in the model, and the share of its bends."""

    time: float
    pose: Pose
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """The stations of one part. pivot: (3,) mm in the part frame, the point that goes straight between stations.

    times: (k,) rising; turns: (k, 4) unit quaternions (w, x, y, z), each on the near side of the one before;
    places: (k, 3) mm of the pivot; shares: (k,).
    """

    part: str
    pivot: np.ndarray
    times: np.ndarray
    turns: np.ndarray
    places: np.ndarray
    shares: np.ndarray

    def at(self, time: float) -> tuple[Pose, float]:
        """Return the pose of the part frame in the model and the share of the bends at a fold time."""
        k = int(np.clip(np.searchsorted(self.times, time, side="right") - 1, 0, len(self.times) - 2))
        span = self.times[k + 1] - self.times[k]
        along = float(np.clip((time - self.times[k]) / span, 0.0, 1.0))
        eased = along * along * (3.0 - 2.0 * along)
        turn = matrix_of(_between(self.turns[k], self.turns[k + 1], eased))
        place = self.places[k] + eased * (self.places[k + 1] - self.places[k])
        share = self.shares[k] + eased * (self.shares[k + 1] - self.shares[k])
        return Pose(np.column_stack([turn, place - turn @ self.pivot])), float(share)


def track_of(part: str, pivot: np.ndarray, stations: Sequence[Station]) -> Track:
    """Return the track through stations, in the order of their times; of two at one time the later counts."""
    rising = sorted(stations, key=lambda station: station.time)
    kept = [
        one for one, later in zip(rising, [*rising[1:], None], strict=True) if later is None or later.time > one.time
    ]
    if len(kept) == 1:
        kept = [kept[0], Station(kept[0].time + STACKED, kept[0].pose, kept[0].share)]
    turns = [quaternion_of(station.pose.turn) for station in kept]
    for k in range(1, len(turns)):
        if _goes_round(turns[k - 1], turns[k]):
            turns[k] = -turns[k]
    return Track(
        part=part,
        pivot=np.asarray(pivot, dtype=float),
        times=np.array([station.time for station in kept]),
        turns=np.array(turns),
        places=np.array([station.pose.apply(pivot) for station in kept]),
        shares=np.array([station.share for station in kept]),
    )


def _goes_round(one: np.ndarray, two: np.ndarray) -> bool:
    """Whether the way from one quaternion to another is the longer one; of half turns one of both ways counts as that.

    Parts that turn over together have frames of their own, so the choice must depend on the turn in space alone.
    """
    w, x, y, z = one.tolist()
    # two times the inverse of one: its scalar and its axis
    scalar = float(one @ two)
    axis = np.array([[-x, w, -z, y], [-y, z, w, -x], [-z, -y, x, w]]) @ two
    if abs(scalar) > _HALF_TURN:
        return scalar < 0.0
    return float(axis[np.abs(axis) > _HALF_TURN][0]) < 0.0


def quaternion_of(turn: np.ndarray) -> np.ndarray:
    """Return the unit quaternion (w, x, y, z) of a rotation, (3, 3): the eigenvector that Bar-Itzhack (2000) takes."""
    (a, b, c), (d, e, f), (g, h, i) = turn.tolist()
    form = np.array(
        [
            [a + e + i, h - f, c - g, d - b],
            [h - f, a - e - i, b + d, c + g],
            [c - g, b + d, e - a - i, f + h],
            [d - b, c + g, f + h, i - a - e],
        ]
    )
    found: np.ndarray = np.linalg.eigh(form)[1][:, -1]
    return found if found[0] >= 0.0 else -found


def matrix_of(quaternion: np.ndarray) -> np.ndarray:
    """Return the rotation, (3, 3), of a quaternion (w, x, y, z) of any length."""
    w, x, y, z = (quaternion / np.linalg.norm(quaternion)).tolist()
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


def _between(one: np.ndarray, two: np.ndarray, share: float) -> np.ndarray:
    """Return the turn at a share of the way from one quaternion to another (Shoemake's slerp)."""
    cosine = min(1.0, float(one @ two))
    if cosine > 1.0 - _NEAR:
        mixed: np.ndarray = one + share * (two - one)
        return mixed
    angle = math.acos(cosine)
    turned: np.ndarray = (math.sin((1.0 - share) * angle) * one + math.sin(share * angle) * two) / math.sin(angle)
    return turned
