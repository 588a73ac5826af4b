"""Hand: whether a hand comes down to a figure on each square, between walls and furniture, and out again.

The hand is three cylinders along its way: fingertips round the figure, the palm, the forearm. All three
must be clear along the same way; the room that the tightest has left is the margin. ``probe_of`` gives
the hand of a stature, ``map_hands`` the best way for every seat and square and what is nearest to it,
``check_hands`` the squares where a hand does not fit, ``passage_over`` what a wall's height does to it.

How long the fingers are between figure and palm decides about walls of just that height, and no survey
gives it: so every map is made for a short and a long pinch.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from ..arrays import read_only
from ..findings import Finding, Location, Severity, place, weigh_squares
from ..tolerance import LENGTH
from .clearance import AZIMUTHS, Clearance, measure_clearance
from .stature import Stature
from .table_top import Blocker, Squares

__all__ = [
    "EASY",
    "Fit",
    "HandMap",
    "Passage",
    "Pinch",
    "Probe",
    "barred_squares",
    "check_hands",
    "map_hands",
    "measure_for",
    "passage_over",
    "probe_of",
    "probes_of",
]

#: From the grip to where the forearm begins to count, mm (common practice, no source).
_FOREARM_START = 180.0

#: A hand comes from the seat's direction or from at most this to its left or right, radians
#: (common practice, no source).
_WINDOW = math.radians(60.0)

#: With less room than this, mm, a hand fits but knocks things over (common practice, no source).
EASY = 3.0


class Pinch(IntEnum):
    """How long the fingers are between figure and palm; the number is the place of the probe in a hand's."""

    SHORT = 0
    LONG = 1


class Fit(IntEnum):
    """How a hand fits."""

    OUTSIDE = -1  # the square is not of the room
    BLOCKED = 0
    TIGHT = 1
    OK = 2


@dataclass(frozen=True, slots=True)
class Probe:
    """One hand on its way to a figure.

    grip: height of the grip point above the floor, mm. stages: (start along the way from the grip,
    radius) mm of each cylinder: fingertips with the figure, palm, forearm.
    """

    grip: float = 20.0
    stages: tuple[tuple[float, float], ...] = ((0.0, 12.5), (50.0, 45.0), (_FOREARM_START, 50.0))


def probe_of(stature: Stature, *, finger: float, base: float = 25.0, grip: float = 20.0) -> Probe:
    """Return the hand of a stature that pinches a figure with ``finger`` mm between figure and palm.

    base: diameter of the figure's base, mm, which the fingertips do not go inside of.
    """
    return Probe(
        grip,
        (
            (0.0, max(stature.fingertip, base / 2)),
            (finger, stature.palm_breadth / 2),
            (max(_FOREARM_START, finger), stature.forearm / 2),
        ),
    )


def probes_of(stature: Stature, *, base: float = 25.0, grip: float = 20.0) -> tuple[Probe, ...]:
    """Return the stature's hand with its shortest and its longest pinch."""
    fingers = dict.fromkeys((stature.finger_low, stature.finger_high))
    return tuple(probe_of(stature, finger=finger, base=base, grip=grip) for finger in fingers)


@dataclass(frozen=True, slots=True, eq=False)
class HandMap:
    """How hands fit, by probe, seat, row and column: all arrays (probes, seats, rows, columns).

    margin: mm, the most room that the tightest stage has left along any way from the seat; infinite
    where nothing stands near. A negative one is no measure of depth where the way itself is barred.
    azimuth, elevation: radians, of that way, from the figure toward the hand. blocked_by: index in
    ``names`` of what leaves the least room along it, or -1.
    """

    squares: Squares
    probes: tuple[Probe, ...]
    margin: np.ndarray
    azimuth: np.ndarray
    elevation: np.ndarray
    blocked_by: np.ndarray
    names: tuple[str, ...]

    @property
    def fit(self) -> np.ndarray:
        """``Fit`` as int, by probe, seat, row and column."""
        fit = np.where(self.margin >= EASY - LENGTH, Fit.OK, np.where(self.margin >= 0.0, Fit.TIGHT, Fit.BLOCKED))
        return np.where(self.squares.inside, fit, Fit.OUTSIDE)

    def share(self, fit: Fit) -> np.ndarray:
        """Return the share of the room's squares with this fit, (probes, seats), 0 .. 1."""
        count = int(self.squares.inside.sum())
        return (self.fit == fit).sum(axis=(2, 3)) / max(count, 1)

    def best_seat(self) -> np.ndarray:
        """Return the index of the seat with the largest margin, (probes, rows, columns); the first of equals."""
        return self.margin.argmax(axis=1)


def measure_for(probes: Iterable[Probe], squares: Squares, blockers: Iterable[Blocker]) -> Clearance:
    """Measure the clearance that these probes, all of one grip height, need.

    What moves is measured apart and laid ``beside`` what stays.
    """
    probes = tuple(probes)
    starts = [start for probe in probes for start, _ in probe.stages]
    return measure_clearance(squares, blockers, starts=starts, grip=probes[0].grip)


def map_hands(clearance: Clearance, probes: Iterable[Probe], shoulders: np.ndarray) -> HandMap:
    """Find the best way for each probe, seat and square.

    clearance: from ``measure_for`` with at least these probes. shoulders: (seats, 3) mm, where the
    hands come from, in the model's frame. Of equal ways the one straightest from the seat is taken,
    then the flattest.
    """
    probes, squares, ways = tuple(probes), clearance.squares, clearance.ways
    shoulders = np.asarray(shoulders, dtype=float).reshape(-1, 3)
    toward = shoulders[:, None, :2] - squares.centres.reshape(-1, 3)[None, :, :2]
    aside = ways[:, 0] - np.arctan2(toward[..., 1], toward[..., 0])[..., None]
    aside = np.abs((aside + math.pi) % (2.0 * math.pi) - math.pi)
    aside[..., ways[:, 1] >= math.pi / 2] = 0.0  # straight down there is no direction
    # Half a step of rounding: a seat straight ahead keeps both ways at exactly 60 degrees.
    allowed = aside <= _WINDOW + LENGTH
    preference = np.round(aside / (math.pi / AZIMUTHS)) + ways[:, 1] / math.pi
    shape = (len(shoulders), squares.rows, squares.columns)
    found = [_best(clearance, probe, allowed, preference) for probe in probes]
    margin, way, nearest = (np.array(values).reshape(len(probes), *shape) for values in zip(*found, strict=True))
    margin = np.where(squares.inside, margin, np.nan)
    return HandMap(
        squares,
        probes,
        read_only(margin),
        read_only(ways[way, 0]),
        read_only(ways[way, 1]),
        read_only(np.where(squares.inside, nearest, -1)),
        clearance.names,
    )


def _best(
    clearance: Clearance, probe: Probe, allowed: np.ndarray, preference: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return margin, index of the way and of the nearest blocker, (seats, squares) each."""
    rows = [clearance.starts.index(start) for start, _ in probe.stages]
    radii = np.array([radius for _, radius in probe.stages])
    left = clearance.distance[rows] - radii[:, None, None]
    stage = left.argmin(axis=0)
    least = np.take_along_axis(left, stage[None], axis=0)[0]
    whose = np.take_along_axis(clearance.nearest[rows], stage[None], axis=0)[0]
    room = np.where(allowed, least.T, -np.inf)
    margin = room.max(axis=2)
    equal = room >= (margin - LENGTH)[..., None]
    way = np.where(equal, preference, np.inf).argmin(axis=2)
    return margin, way, whose[way, np.arange(way.shape[1])]


def check_hands(hands: HandMap) -> tuple[Finding, ...]:
    """Report the squares where a hand does not fit from any seat.

    A warning where it does not even with the longest pinch, in many squares; a note where only a short one fails.
    """
    if not hands.margin.size:
        return ()
    fingers, (short, long) = [probe.stages[1][0] for probe in hands.probes], _short_and_long(hands)
    never, only_long = barred_squares(hands)
    found = []
    inside = int(hands.squares.inside.sum())
    heavy = weigh_squares(int(never.sum()), inside)
    for which, mask, severity in ((long, never, heavy), (short, only_long, Severity.NOTE)):
        if not mask.any():
            continue
        seat = np.broadcast_to(hands.best_seat()[which], mask.shape)
        nearest = np.take_along_axis(hands.blocked_by[which], seat[None], axis=0)[0][mask]
        names = Counter(hands.names[index] for index in nearest.tolist() if index >= 0)
        name, times = min(names.items(), key=lambda entry: (-entry[1], entry[0]))
        row, column = (int(index[0]) for index in np.nonzero(mask))
        count = int(mask.sum())
        culprit = f"because of {name}" if count == 1 else f"{times} of them because of {name}"
        # what not even the long pinch enters is counted there
        more = mask is only_long and bool(never.any())
        which_first = "it is" if count == 1 else "the first is"
        found.append(
            Finding(
                severity,
                "hand-does-not-fit",
                f"With {fingers[which]:.0f} mm of fingers below the palm, a hand cannot enter {_squares(count, more)} "
                f"from any seat, {culprit}; {which_first} column {column + 1}, row {row + 1}. Lower or lift off what "
                f"is in the way, or keep {'this square' if count == 1 else 'these squares'} free.",
                Location(point=place(hands.squares.centres[row, column]), words=f"{fingers[which]:.0f} mm of fingers"),
            )
        )
    return tuple(found)


def barred_squares(hands: HandMap) -> tuple[np.ndarray, np.ndarray]:
    """Return, (rows, columns) bool each, where no hand comes down from any seat, and where only a long pinch does."""
    short, long = _short_and_long(hands)
    barred = (hands.margin.max(axis=1, initial=-np.inf) < 0.0) & hands.squares.inside
    return barred[long], barred[short] & ~barred[long]


def _short_and_long(hands: HandMap) -> tuple[int, int]:
    """Return the indices of the shortest and the longest pinch."""
    fingers = [probe.stages[1][0] for probe in hands.probes]
    return int(np.argmin(fingers)), int(np.argmax(fingers))


def _squares(count: int, more: bool) -> str:
    return f"{count}{' more' if more else ''} square{'' if count == 1 else 's'}"


@dataclass(frozen=True, slots=True)
class Passage:
    """How the palm passes over walls of one height, the hand straight from above.

    free: walls up to this height, mm, never meet the palm, however short the fingers taken here.
    blocked: walls above this height always do. palm: radius of the palm, mm: squares whose middle is
    nearer to a wall than that are then out of a hand's way from above.
    """

    height: float
    free: float
    blocked: float
    palm: float

    @property
    def sentence(self) -> str:
        """What the maker reads beside the height."""
        near = f"squares within {self.palm:.0f} mm of a wall are hard to reach"
        if self.height <= self.free:
            return f"A large hand passes over walls up to {self.free:.0f} mm."
        if self.height <= self.blocked:
            return f"Above {self.free:.0f} mm the palm of short fingers meets the wall: {near}."
        return f"Above {self.blocked:.0f} mm any palm meets the wall: {near}."


def passage_over(height: float, probes: Sequence[Probe]) -> Passage:
    """Return what walls of a height, mm, do to a hand with a short or a long pinch, given as its probes.

    The palm starts a finger's length above the grip, so a wall below that never stops it from above;
    how long a pinching finger is has no good source, hence two limits.
    """
    starts = [probe.grip + probe.stages[1][0] for probe in probes]
    return Passage(height, min(starts), max(starts), max(probe.stages[1][1] for probe in probes))
