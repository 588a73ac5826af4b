"""What stands on the table and who sits round it, as values.

``AtTable`` is what the scene says, with or without a building; ``TableTop`` is the table set with one, which
everything that players see and reach is computed from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from ..solid.solid import Solid

__all__ = [
    "AtTable",
    "Blocker",
    "BlockerKind",
    "Miniature",
    "RoundedCorner",
    "Seat",
    "Spot",
    "Squares",
    "Table",
    "TableTop",
    "settle",
]


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

    FITTING = "fitting"  # fills whole squares: a square for odd sizes, a corner for even ones
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


@dataclass(frozen=True, slots=True, eq=False)
class RoundedCorner:
    """One flex corner, seen from the room.

    name: what the maker calls it. corner: (3,) mm, where the reference faces of both walls meet, on the
    floor. along: (2, 3) unit, level, from the corner along either wall. inside_radius: mm.
    """

    name: str
    corner: np.ndarray
    along: np.ndarray
    inside_radius: float

    def distance(self, spots: np.ndarray) -> np.ndarray:
        """Return the distance of plan points, (..., 2) mm, from the arc; negative behind it, infinite beside it.

        The arc touches each wall R / tan(h) from the corner, h being half the angle between them; its
        centre lies R / sin(h) along the bisector. Beside the arc the straight walls count, which are
        blockers of their own.
        """
        ways = self.along[:, :2]
        half = math.acos(max(-1.0, min(1.0, float(ways[0] @ ways[1])))) / 2.0
        away = spots - self.corner[:2]
        bisector = ways.sum(axis=0) / (2.0 * math.cos(half))
        centre = bisector * (self.inside_radius / math.sin(half))
        gap = self.inside_radius - np.hypot(*np.moveaxis(away - centre, -1, 0))
        beside = (away @ ways.T >= self.inside_radius / math.tan(half)).any(axis=-1)
        behind = away @ bisector < 0.0
        return np.where(beside | behind, np.inf, gap)


@dataclass(frozen=True, slots=True, eq=False)
class AtTable:
    """Who and what is at the table, as the scene says, before the building is known.

    table: the object that counts as one, else a usual one under the middle of the building; None where there is
    neither. seats: by who sees; reaching, fitting: the same seats by who
    reaches and whose hand must fit. furniture: in the way, named by their source. miniatures: all;
    miniatures_in: whether they are in the way. active: name of the active object, the one that may be dragged.
    """

    table: Table | None
    seats: tuple[Seat, ...]
    reaching: tuple[Seat, ...]
    fitting: tuple[Seat, ...]
    furniture: tuple[Solid, ...] = ()
    miniatures: tuple[Miniature, ...] = ()
    miniatures_in: bool = False
    roof_on: bool = False
    leaves_open: bool = True
    active: str | None = None

    def settled(self, squares: Squares) -> AtTable:
        """Return the same with the active miniature on its nearest place of the grid."""
        settled = tuple(one.settled(squares) if one.name == self.active else one for one in self.miniatures)
        return replace(self, miniatures=settled)


@dataclass(frozen=True, slots=True, eq=False)
class TableTop:
    """A table with a building on it and people round it: everything that play is judged from.

    squares: of the room. building: its blockers, the roof left out where it is lifted off. seats: by who sees;
    reaching, fitting: the same seats by who reaches and whose hand must fit. pieces: furniture and miniatures in
    the way; miniatures: all of them. bends: flex corners as they stand in the room. active: name of the active
    object, the one that may be dragged. ridge: height of the roof's ridge in the model, mm, whether it is on or
    lifted; None without a roof.
    """

    squares: Squares
    building: tuple[Blocker, ...]
    table: Table
    seats: tuple[Seat, ...]
    reaching: tuple[Seat, ...]
    fitting: tuple[Seat, ...]
    pieces: tuple[Blocker, ...] = ()
    miniatures: tuple[Miniature, ...] = ()
    bends: tuple[RoundedCorner, ...] = ()
    active: str | None = None
    ridge: float | None = None

    @property
    def blockers(self) -> tuple[Blocker, ...]:
        """Building and pieces."""
        return (*self.building, *self.pieces)

    @property
    def moving(self) -> tuple[Blocker, ...]:
        """The pieces that may be dragged."""
        return tuple(piece for piece in self.pieces if piece.name == self.active)

    @property
    def staying(self) -> tuple[Blocker, ...]:
        """The building and the pieces that stay."""
        return (*self.building, *(piece for piece in self.pieces if piece.name != self.active))

    @property
    def lifted(self) -> bool:
        """Whether the building has a roof that is not on."""
        return self.ridge is not None and all(part.kind is not BlockerKind.ROOF for part in self.building)
