"""The values of an assembly: every move of the maker's hands in order, and how far its parts are from their place."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ..findings import Finding

__all__ = ["Assembly", "Blocked", "Leg", "Move", "Stage"]


class Stage(StrEnum):
    """What a move of an assembly does."""

    FOLD = "fold"  # a section is bent at its lattices
    RING = "ring"  # walls and joiners go together
    FLOOR = "floor"  # a ring goes down onto the floor
    CLOSE = "close"  # pieces of a roof and the rings of its ties go together
    ROOF = "roof"  # a roof goes onto the walls
    UPSTAND = "upstand"  # a dormer, chimney or porch goes into its place
    SIGN = "sign"  # a signboard goes into its slot
    LEAF = "leaf"  # a leaf is opened


@dataclass(frozen=True, slots=True)
class Blocked:
    """What is in the way of a move. part, by: ids of the part that moves and of the part that it meets.

    at: share of the move that is made by then; depth: by how much they would share a place, mm; point: where, mm.
    """

    part: str
    by: str
    at: float
    depth: float
    point: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight piece of a path: unit direction of movement, and length, mm."""

    way: tuple[float, float, float]
    length: float

    def shift(self, share: float) -> np.ndarray:
        """Return what is left of it when a share of it is gone, seen from its end, (3,) mm."""
        left: np.ndarray = np.array(self.way) * (self.length * (min(max(share, 0.0), 1.0) - 1.0))
        return left


@dataclass(frozen=True, slots=True)
class Move:
    """One move of the maker's hands.

    parts: ids of what moves; onto: ids of what it goes to and must pass. legs: straight pieces of the path in the order
    of the movement, one mostly, two or three round corners; none where parts are bent or turned. turn: of a leaf,
    radians. clearance: least play sideways on the way between bare boards, mm; None where nothing is near. blocked:
    what is in the way, None where the path is free.
    """

    stage: Stage
    parts: tuple[str, ...]
    onto: tuple[str, ...] = ()
    legs: tuple[Leg, ...] = ()
    turn: float | None = None
    clearance: float | None = None
    blocked: Blocked | None = None

    def shift(self, share: float) -> np.ndarray:
        """Return how far its parts are from their place when a share of the move is made, (3,) mm."""
        gone = min(max(share, 0.0), 1.0) * sum(leg.length for leg in self.legs)
        left = np.zeros(3)
        for leg in self.legs:
            left = left + leg.shift(gone / leg.length if leg.length else 1.0)
            gone = max(0.0, gone - leg.length)
        return left


@dataclass(frozen=True, slots=True)
class Assembly:
    """All moves in order, and what there is to say."""

    moves: tuple[Move, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def is_possible(self) -> bool:
        """Whether the path of every move is free."""
        return all(move.blocked is None for move in self.moves)
