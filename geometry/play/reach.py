"""Reach: which squares a seated player's arm comes to, upright, leaning, stretching, or only standing up.

The trunk leans straight ahead about the hip and takes the shoulder forward and down; the straight arm
ends at the grip. A pinch reaches a little farther than a grip (a fifth of a hand's length), so what is
said to be in reach is. ``map_reach`` gives the least lean for every seat and square, ``check_reach``
the squares for which everybody has to stand up.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from ..findings import Finding, Location, place, weigh_squares
from ..tolerance import LENGTH
from .stature import Stature, find_stature
from .table import shoulder_of
from .table_top import Seat, Squares, Table

__all__ = ["LEANS", "Reach", "ReachMap", "check_reach", "map_reach"]


class Reach(IntEnum):
    """What it takes to reach a square, from little to much."""

    OUTSIDE = -1  # the square is not of the room
    EASY = 0
    LEAN = 1
    STRETCH = 2
    STAND = 3


#: The most that the trunk leans for each class, radians (common practice, no source).
LEANS = (0.0, math.radians(15.0), math.radians(30.0))


@dataclass(frozen=True, slots=True, eq=False)
class ReachMap:
    """What it takes each seat to reach each square.

    reach: (seats, rows, columns) int8 of ``Reach``.
    """

    squares: Squares
    seats: tuple[str, ...]
    reach: np.ndarray

    def best(self) -> np.ndarray:
        """Return the least that it takes anybody, (rows, columns) of ``Reach``."""
        return self.reach.min(axis=0) if self.seats else np.where(self.squares.inside, Reach.STAND, Reach.OUTSIDE)

    def best_seat(self) -> np.ndarray:
        """Return the index of the seat that it takes least, (rows, columns); the first of equals."""
        return self.reach.argmin(axis=0)

    def share(self, reach: Reach) -> np.ndarray:
        """Return the share of the room's squares with this reach, (seats,), 0 .. 1."""
        return (self.reach == reach).sum(axis=(1, 2)) / max(int(self.squares.inside.sum()), 1)


def map_reach(
    squares: Squares, seats: Iterable[Seat], table: Table, statures: Iterable[Stature], *, grip: float = 20.0
) -> ReachMap:
    """Find the least lean with which each seat's grip comes to each square.

    grip: height of the grip point above the floor, mm. A seat's own lean is passed over, since people
    lean as they need; its slump counts. Raises BadSettingError for an unknown stature.
    """
    seats, statures = tuple(seats), tuple(statures)
    spots = squares.centres + np.array([0.0, 0.0, grip])
    reach = np.full((len(seats), squares.rows, squares.columns), Reach.STAND, dtype=np.int8)
    for index, seat in enumerate(seats):
        arm = find_stature(seat.stature, statures).arm
        for needed in (Reach.STRETCH, Reach.LEAN, Reach.EASY):
            shoulder = shoulder_of(replace(seat, lean=LEANS[needed]), table, statures)
            near = np.linalg.norm(spots - shoulder, axis=-1) <= arm + LENGTH
            reach[index][near] = needed  # the least comes last
    reach[:, ~squares.inside] = Reach.OUTSIDE
    reach.setflags(write=False)
    return ReachMap(squares, tuple(seat.name for seat in seats), reach)


def check_reach(reaches: ReachMap) -> tuple[Finding, ...]:
    """Report the squares that nobody reaches without standing up."""
    far = (reaches.best() == Reach.STAND) & reaches.squares.inside
    count = int(far.sum())
    if not count or not reaches.seats:
        return ()
    row, column = (int(index[0]) for index in np.nonzero(far))
    subject, which = ("1 square is", "it is") if count == 1 else (f"{count} squares are", "the first is")
    return (
        Finding(
            weigh_squares(count, int(reaches.squares.inside.sum())),
            "square-out-of-reach",
            f"{subject} out of reach from every seat unless someone stands up; {which} column {column + 1}, "
            f"row {row + 1}. Move the building toward an edge or add a seat on that side.",
            Location(point=place(reaches.squares.centres[row, column])),
        ),
    )
