"""Carrying: what every part did so far, and the ways in which hands bring parts from place to place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import product

import numpy as np

from ..pose import Pose
from .boards import Boards
from .track import Station
from .yard import moved

__all__ = ["Carrying"]

#: What is carried passes over all that stands by so much, mm.
_CLEAR = 12.0

#: Shares of a way at which what is carried is high enough, and above its new place.
_UP, _OVER = 0.3, 0.7

#: Places that differ by less are the same, mm.
_SAME = 1e-6


@dataclass(slots=True, eq=False)
class Carrying:
    """Stations of parts in the order in which they are made; times count acts.

    sheets: where parts lie first. pivots: (3,) mm in part frames, the points that go straight.
    """

    boards: Mapping[str, Boards]
    sheets: Mapping[str, Pose]
    pivots: Mapping[str, np.ndarray]
    clock: float = 0.0
    stations: dict[str, list[Station]] = field(default_factory=dict)
    _boxes: dict[tuple[str, float], np.ndarray] = field(default_factory=dict)
    _tops: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, board in self.boards.items():
            share = 0.0 if board.part.lattices else 1.0
            self.stations[name] = [Station(0.0, self.sheets.get(name, board.stands), share)]
            self._rests(name)

    def at(self, name: str) -> Station:
        """Return the last station of a part."""
        return self.stations[name][-1]

    def corners(self, name: str, pose: Pose, *shares: float) -> np.ndarray:
        """Return the corners of boxes round a part, (8 n, 3) mm, with its bends closed by these shares."""
        return pose.apply(np.concatenate([self._box(name, share) for share in shares]))

    def go(self, to: Mapping[str, Pose], lasts: float, *, share: float | None = None) -> None:
        """Move parts straight to poses, and bend them by a share where one is given."""
        for name, pose in to.items():
            last = self.at(name)
            bent = last.share if share is None else share
            self.stations[name] += [
                Station(self.clock, last.pose, last.share),
                Station(self.clock + lasts, pose, bent),
            ]
            self._rests(name)
        self.clock += lasts

    def carry(self, to: Mapping[str, Pose], lasts: float) -> None:
        """Lift parts as one piece over all that stands, carry them level, and let them down onto poses."""
        parts = [name for name, pose in to.items() if np.abs(pose.matrix - self.at(name).pose.matrix).max() > _SAME]
        if not parts:
            return
        start, end = self.clock, self.clock + lasts
        rises = [self._rise([(name, self.at(name).pose) for name in parts], to)]
        rises.append(self._rise([(name, to[name]) for name in parts], to))
        for name in parts:
            last = self.at(name)
            self.stations[name] += [
                Station(start, last.pose, last.share),
                Station(start + _UP * lasts, moved(last.pose, rises[0]), last.share),
                Station(start + _OVER * lasts, moved(to[name], rises[1]), last.share),
                Station(end, to[name], last.share),
            ]
            self._rests(name)
        self.clock = end

    def backwards(self, since: Mapping[str, float], faster: float) -> None:
        """Undo all that was done to parts since their times, so many times faster, and wait until that is over."""
        end = self.clock
        for name, time in since.items():
            undone = [station for station in reversed(self.stations[name]) if station.time >= time]
            self.stations[name].append(Station(end, self.at(name).pose, self.at(name).share))
            self.stations[name] += [
                Station(end + (end - station.time) / faster, station.pose, station.share) for station in undone
            ]
            self._rests(name)
        self.clock = end + end / faster

    def _rise(self, places: Iterable[tuple[str, Pose]], to: Mapping[str, Pose]) -> np.ndarray:
        """Return how far parts must be lifted from places to pass over all, whichever way they turn, (3,) mm."""
        places = list(places)
        corners = np.concatenate([self.corners(name, pose, self.at(name).share) for name, pose in places])
        turns = any(np.abs(pose.turn - self.at(name).pose.turn).max() > _SAME for name, pose in to.items())
        name, pose = places[0]
        middle = pose.apply(self.pivots[name])
        low = middle[2] - np.linalg.norm(corners - middle, axis=1).max() if turns else corners[:, 2].min()
        top = max((high for name, high in self._tops.items() if name not in to), default=-np.inf)
        return np.array([0.0, 0.0, max(0.0, top + _CLEAR - float(low))])

    def _rests(self, name: str) -> None:
        """Note how high a part reaches where it is by now."""
        last = self.at(name)
        self._tops[name] = float(self.corners(name, last.pose, last.share)[:, 2].max())

    def _box(self, name: str, share: float) -> np.ndarray:
        if (name, share) not in self._boxes:
            points = self.boards[name].points(share)
            self._boxes[name, share] = np.array(list(product(*np.transpose([points.min(axis=0), points.max(axis=0)]))))
        return self._boxes[name, share]
