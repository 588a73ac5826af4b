"""What the maker may set about hinges, joiners, floor and roof. Lengths in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum

from .board.spread import thickness_spread
from .board.stock import Stock
from .board.wishes import HingeWishes
from .errors import BadSettingError

__all__ = [
    "INLAY_PLAY",
    "SECOND_COURSES",
    "TILE_PLAY",
    "TOOTHPICK",
    "BoardFace",
    "BuildSettings",
    "ClosureKind",
    "ClosureSettings",
    "FloorSettings",
    "FloorTiles",
    "FloorWay",
    "HingeSettings",
    "JoinerSettings",
    "RoofSettings",
    "SecondShingles",
    "ShinglePattern",
    "TrimSettings",
]


#: Diameter of a usual toothpick, which goes through the registration holes, mm (common practice, no source).
TOOTHPICK = 2.0

#: What a slot is wider than the thickest board that it may get, mm: both cuts' places, their taper and the kerf of the
#: day, so that 99 of 100 builds go together (worked out by ``fit``).
_SLOT_PLAY = 0.25

#: What a ring is wider than the two thickest boards that it may get, mm (worked out likewise).
_RING_PLAY = 0.1


class BoardFace(StrEnum):
    """Which face of a wall's board the modelled surface is."""

    INSIDE = "inside"
    OUTSIDE = "outside"


@dataclass(frozen=True, slots=True)
class HingeSettings:
    """inside_radius: aimed at, so that a 25 mm base still stands in the corner square.

    along_grain: in solid wood, walls are cut so that their slits run along the grain, whose links are
    stronger, though a wall's run then has only the sheet's way across the grain. grain_joiners: joiners
    that the maker takes for it beyond the fewest; where it costs more, the grain is let go.
    wishes: what else of a lattice is fixed; the solver finds the rest.
    """

    inside_radius: float = 10.0
    along_grain: bool = False
    grain_joiners: int = 2
    wishes: HingeWishes = field(default_factory=HingeWishes)

    @property
    def radius_asked_for(self) -> bool:
        """Whether the maker set an inside radius; where nobody did, only a bend that costs a base its square counts."""
        return not math.isclose(self.inside_radius, HingeSettings().inside_radius)


@dataclass(frozen=True, slots=True)
class JoinerSettings:
    """core_width c, cheek_width w, gap g between core and each wall end.

    margin: least distance of a joiner from bends and openings. painted_faces: faces that carry paint;
    slide: what the channel is wider than board and paint; paint: thickness per face. peg: diameter of the two
    registration holes through core and cheeks, 0 for none: toothpicks are 1.9 to 2.2 mm (common practice, no source),
    and three boards are never quite in line.
    """

    core_width: float = 14.0
    cheek_width: float = 30.0
    gap: float = 0.25
    margin: float = 2.0
    slide: float = 0.12
    paint: float = 0.08
    painted_faces: int = 2
    peg: float = 2.4

    @property
    def engaged(self) -> float:
        """How far each wall end enters the joiner, mm."""
        return (self.cheek_width - self.core_width) / 2 - self.gap


@dataclass(frozen=True, slots=True)
class FloorSettings:
    """wanted: False on a play mat (no floor, no tabs). rim: beyond the walls' outer faces, at least.

    tab_length along the wall; tab_short: what the tab is shorter than the floor is thick;
    play_across, play_along: what slots are larger than tabs; across, None goes by the board.
    square: side of the engraved grid, None for none. strip: how far inside the walls the squares begin, so that bases
    clear cheeks and bends.
    """

    wanted: bool = True
    rim: float = 6.0
    tab_length: float = 15.0
    tab_short: float = 0.2
    play_across: float | None = None
    play_along: float = 0.8
    square: float | None = 25.4
    strip: float = 0.0


@dataclass(frozen=True, slots=True)
class RoofSettings:
    """stop_width, stop_length of the two strips that keep the roof in place; stop_clearance to the wall."""

    stop_width: float = 10.0
    stop_length: float = 60.0
    stop_clearance: float = 0.8


class ClosureKind(StrEnum):
    """What holds a parted edge when the building stands."""

    REST = "rest"
    LAP = "lap"
    MAGNETS = "magnets"


@dataclass(frozen=True, slots=True)
class ClosureSettings:
    """kind: a lap by default, so that no small magnet comes into a home with children.

    lap_length, lap_width: of the strip under boards in one plane, along the line and to each side of it;
    at a bend a tie of fixed size takes its place.
    magnet_diameter, magnet_thickness; magnet_field: at the pole's surface, kG; cover: of card or veneer
    that closes each pocket; pull: what one pair holds through both covers, N, by the maker's own scales.
    glue: whether a strip is glued in for good where none of these finds room. caps: whether caps are cut for what
    stays open outside on roofs.
    """

    kind: ClosureKind = ClosureKind.LAP
    lap_length: float = 30.0
    lap_width: float = 12.0
    magnet_diameter: float = 6.0
    magnet_thickness: float = 2.0
    magnet_field: float = 3.0
    cover: float = 0.5
    pull: float = 1.0
    glue: bool = True
    caps: bool = False


#: Courses of a band of shingles, where the maker says nothing (common practice, no source).
SECOND_COURSES = 3


class ShinglePattern(StrEnum):
    """How shingle strips are shared between two boards."""

    BANDS = "bands"  # level, so many courses of one board, then so many of the other
    DIAMONDS = "diamonds"  # they touch at their corners, so many courses from middle to tip


@dataclass(frozen=True, slots=True)
class SecondShingles:
    """A second board of shingle strips. stock: that board; courses: of a band, or from the middle of a diamond up."""

    stock: Stock
    pattern: ShinglePattern = ShinglePattern.BANDS
    courses: int = SECOND_COURSES

    def __post_init__(self) -> None:
        if self.courses < 1:
            raise BadSettingError(f"A band of {self.courses} courses of shingles cannot be laid; take 1 or more.")


@dataclass(frozen=True, slots=True)
class TrimSettings:
    """What is cut from a thinner board and glued onto the walls. stock: that board; without one there is no trim.

    frames, sills, shutters: round openings. corner_boards: beside bends. timbers: in place of the engraved frame, where
    that is a wall's finish. shingles: strips on slopes with that finish; second: another board for some of them, None
    where all are of one. width: of members, mm.
    """

    stock: Stock | None = None
    frames: bool = False
    sills: bool = False
    shutters: bool = False
    corner_boards: bool = False
    timbers: bool = False
    shingles: bool = False
    second: SecondShingles | None = None
    width: float = 3.0

    @property
    def stocks(self) -> tuple[Stock, ...]:
        """The boards that trim is cut from."""
        second = () if self.second is None else (self.second.stock,)
        return () if self.stock is None else (self.stock, *second)

    @property
    def wanted(self) -> bool:
        """Whether the building gets any."""
        return self.frames or self.sills or self.shutters or self.corner_boards or self.timbers or self.shingles


class FloorWay(StrEnum):
    """How a floor of two boards is laid."""

    TILES = "tiles"  # all units of the pattern, glued on the floor
    INLAY = "inlay"  # dark pieces in openings of a top layer that is light


#: Between two tiles, mm: enough that a row does not push, too little to be seen (common practice, no source).
TILE_PLAY = 0.05

#: Between a piece of an inlay and its neighbours, mm: 95 of 100 builds go together with the kerfs of the catalogue, 98
#: with measured ones (worked out by ``fit``, with boards that taper unlike).
INLAY_PLAY = 0.12

#: More play than this is a gap that everyone sees, mm (common practice, no source).
_WIDEST_TILE_PLAY = 0.5


@dataclass(frozen=True, slots=True)
class FloorTiles:
    """The boards of a floor of two boards: one for light units of its pattern, one for dark ones, and how it is laid.

    border, star: motifs of an inlay, beside the dark units of the floor's pattern. play: between neighbours, mm, None
    for what is usual.
    """

    light: Stock
    dark: Stock
    way: FloorWay = FloorWay.TILES
    border: bool = False
    star: bool = False
    play: float | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.gap) and 0.0 <= self.gap <= _WIDEST_TILE_PLAY):
            raise BadSettingError(
                f"Pieces of the floor cannot be laid {self.gap:g} mm apart; take 0 to {_WIDEST_TILE_PLAY:g} mm."
            )

    @property
    def gap(self) -> float:
        """What is left free between two neighbours, mm."""
        if self.play is not None:
            return self.play
        return INLAY_PLAY if self.way is FloorWay.INLAY else TILE_PLAY


@dataclass(frozen=True, slots=True)
class BuildSettings:
    """The maker's decisions that shape the parts: a stock per kind of part, and the settings above.

    tiles: boards of the floor's tiles, None where the floor is one board.
    props: whether bars are cut that hold leaves open, where they take no sheet of their own.
    """

    walls: Stock
    roof: Stock
    floor: Stock
    joiners: Stock
    face: BoardFace = BoardFace.INSIDE
    hinge: HingeSettings = field(default_factory=HingeSettings)
    joiner: JoinerSettings = field(default_factory=JoinerSettings)
    ground: FloorSettings = field(default_factory=FloorSettings)
    eaves: RoofSettings = field(default_factory=RoofSettings)
    closure: ClosureSettings = field(default_factory=ClosureSettings)
    trim: TrimSettings = field(default_factory=TrimSettings)
    tiles: FloorTiles | None = None
    props: bool = True

    @property
    def chosen_stocks(self) -> tuple[Stock, ...]:
        """The stocks of all kinds of parts, one for every choice of the maker."""
        tiles = () if self.tiles is None else (self.tiles.light, self.tiles.dark)
        return (*self.trim.stocks, self.walls, self.roof, self.floor, self.joiners, *tiles)

    @property
    def stocks(self) -> dict[str, Stock]:
        """The stocks of all kinds of parts, by name."""
        return {stock.name: stock for stock in self.chosen_stocks}

    def slot_play(self, board: Stock) -> float:
        """Return what a slot is wider than the tab of a board, mm: as set, as measured, or by how thick it may be."""
        if self.ground.play_across is not None:
            return self.ground.play_across
        return thickness_spread(board)[1] + _SLOT_PLAY if board.slide is None else board.slide

    @property
    def ring_play(self) -> float:
        """What the ring of a tie is wider than its two fins, mm: as measured, or by how thick they may be."""
        board = self.joiners
        return 2.0 * thickness_spread(board)[1] + _RING_PLAY if board.slide is None else board.slide
