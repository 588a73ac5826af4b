"""What stands on the table and who sits round it, as values: squares, table, seats, miniatures, blockers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

__all__ = ["Blocker", "BlockerKind", "Miniature", "Seat", "Spot", "Squares", "Table", "settle"]


@dataclass(frozen=True, slots=True, eq=False)
class Squares:
    """The scale grid of one room, of columns x rows, on which miniatures stand and shares are counted.

    origin: (3,) mm, its lower left corner on the floor, in the model. u, v: (3,) unit, along columns
    and rows, level. size: side of a square, mm. inside: (rows, columns) bool, the squares that belong
    to the room (an L-plan leaves some out).
    """

    origin: np.ndarray
    u: np.ndarray
    v: np.ndarray
    size: float
    inside: np.ndarray

    @property
    def rows(self) -> int:
        """Squares along v."""
        return int(self.inside.shape[0])

    @property
    def columns(self) -> int:
        """Squares along u."""
        return int(self.inside.shape[1])

    @property
    def centres(self) -> np.ndarray:
        """The middle of every square on the floor, (rows, columns, 3) mm."""
        at_u = (np.arange(self.columns) + 0.5) * self.size
        at_v = (np.arange(self.rows) + 0.5) * self.size
        return self.origin + at_u[None, :, None] * self.u + at_v[:, None, None] * self.v


class Spot(StrEnum):
    """What of the grid a miniature's middle stands on."""

    FITTING = "fitting"  # whatever lets it fill whole squares: a square for odd sizes, a corner for even ones
    SQUARE = "square"
    EDGE = "edge"
    CORNER = "corner"


def settle(foot: np.ndarray, squares: Squares, *, taken: int = 1, spot: Spot = Spot.FITTING) -> np.ndarray:
    """Return the place nearest to ``foot``, (3,) mm, for a miniature that takes ``taken`` x ``taken`` squares.

    The grid goes on beyond the room, so that miniatures wait outside in order. The height is the floor's.
    """
    if spot is Spot.FITTING:
        spot = Spot.SQUARE if taken % 2 else Spot.CORNER
    away = np.asarray(foot, dtype=float) - squares.origin
    at = np.array([away @ squares.u, away @ squares.v]) / squares.size
    # a foot on a line belongs to the square on whose side rounding put it: keep to one side
    middle, corner = np.floor(at + 1e-9) + 0.5, np.floor(at + 0.5)
    if spot is Spot.EDGE:
        edges = (np.array([corner[0], middle[1]]), np.array([middle[0], corner[1]]))
        spot_at = min(edges, key=lambda edge: round(float(np.hypot(*(edge - at))), 9))
    else:
        spot_at = middle if spot is Spot.SQUARE else corner
    return squares.origin + squares.size * (spot_at[0] * squares.u + spot_at[1] * squares.v)


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """The table in the model's frame.

    centre: (3,) mm, middle of its top. turn: of its long side against x, radians. size: (length, depth)
    mm of its top. height: of the top above the floor of the room in which people sit, mm.
    """

    centre: np.ndarray
    turn: float = 0.0
    size: tuple[float, float] = (1828.8, 1219.2)
    height: float = 740.0


@dataclass(frozen=True, slots=True, eq=False)
class Seat:
    """One player's place.

    name: unique. edge: (3,) mm, the point of the table's edge before the player, at the height of the
    top. toward: (3,) unit, level, from the player into the table. chair: height of the seat above the
    room's floor, mm. stature: name of the stature class (see ``stature.py``). lean: of the trunk,
    radians; slump: what sitting relaxed takes off the sitting height, mm.
    """

    name: str
    edge: np.ndarray
    toward: np.ndarray
    chair: float = 450.0
    stature: str = "median"
    lean: float = 0.0
    slump: float = 40.0


@dataclass(frozen=True, slots=True, eq=False)
class Miniature:
    """One miniature, taken as an upright cylinder.

    name: unique. foot: (3,) mm, middle of its base on the floor. base: diameter, mm. height: of its
    head above the floor, base included, mm. squares: it takes squares x squares of the grid. spot: where
    its middle settles.
    """

    name: str
    foot: np.ndarray
    base: float = 25.0
    height: float = 35.0
    squares: int = 1
    spot: Spot = Spot.FITTING

    def settled(self, squares: Squares) -> Miniature:
        """Return the miniature on its nearest place of the grid, on the floor."""
        foot = settle(self.foot, squares, taken=self.squares, spot=self.spot)
        foot.setflags(write=False)
        return replace(self, foot=foot)


class BlockerKind(StrEnum):
    """What a blocker is, so that the maker can lift it off, open it or leave it out."""

    WALL = "wall"
    GABLE = "gable"  # what of an end wall rises above the eaves
    JOINER = "joiner"  # a cheek that stands into the room
    ROOF = "roof"
    LEAF = "leaf"
    FURNITURE = "furniture"
    MINIATURE = "miniature"


@dataclass(frozen=True, slots=True, eq=False)
class Blocker:
    """One opaque thing that stands between an eye or a hand and a square.

    name: what the maker calls it, unique. faces: per flat face its rings, (k, 3) mm each, the outline
    first, then holes; the model's frame, z up. solid: the faces close a body and every outline runs
    counter-clockwise seen from outside it; otherwise the faces are sheets that block from both sides.
    """

    name: str
    kind: BlockerKind
    faces: tuple[tuple[np.ndarray, ...], ...]
    solid: bool = False
