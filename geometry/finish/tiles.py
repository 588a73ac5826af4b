"""Floors of two boards: a pattern cut as tiles from a light and a dark board, glued on the floor.

Dark squares of a chequer touch at their corners, so that the other board would fall apart round them: it is no inlay
but tiles on a base. Every tile gets an outline of its own, which is cut with the kerf made up for, and only the play
between tiles is chosen.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from ..board.stock import Stock
from ..findings import Finding, Location, Severity
from ..joints.floor import Room
from ..part import FaceUp, LabelSpot, Part, PartKind, plain_panel
from ..pose import Pose
from ..settings import FloorTiles
from .dark import cells_of, is_dark
from .finish import Finish
from .surface import Surface

__all__ = ["MOST_TILES", "NARROWEST", "OFF_WALLS", "Tile", "Tiling", "cut_tiles", "lay_tiles", "top_of", "uneven"]

#: Between tiles and walls, mm: walls sway in their slots by 0.2 (common practice, no source).
OFF_WALLS = 0.3

#: Pieces narrower than this break or are lost, mm (common practice, no source): their place stays open.
NARROWEST = 3.0

#: More tiles than this nobody lays in one evening (common practice, no source).
MOST_TILES = 300

#: One tile in so many is cut besides where there are many alike: some are lost or split (common practice, no source).
_SPARE = 20

#: Tiles are alike where no corner differs by more than this, mm: a tenth of the play.
_ALIKE = 0.005

#: Letters that a name begins with.
_LETTERS = 2

#: Digits after the point, mm, to which corners are compared: far finer than what is alike.
_DIGITS = 5

#: A quarter of a turn, and how many there are.
_QUARTER, _QUARTERS = np.array([[0.0, 1.0], [-1.0, 0.0]]), 4

#: Boards of the same thickness to the hand, mm.
_EVEN = 0.15

#: Length and height of the room for a tile's name, over the radius of the largest circle in it: within that circle.
_LONG, _HIGH = 1.7, 1.0

#: How near the middle of that circle is looked for, mm.
_NEAR = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """A tile in its place. part: its id; name: that all alike share; dark: which board; outline: in plan, mm.

    is_top: whether it is the top layer that pieces are let into.
    """

    part: str
    name: str
    dark: bool
    outline: Polygon
    is_top: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Tiling:
    """A floor of two boards. parts: all tiles, the spare ones last; tiles: where they lie; spare: how many by name.

    open_area: what stays bare of the room since pieces would be too narrow, mm^2. slack: how much larger than drawn
    all tiles of a row may come out so that it still goes in, mm each; longest: tiles in the longest row, of an inlay
    pieces in line in one opening. boards: what it is cut from and how it is laid.
    """

    parts: tuple[Part, ...] = ()
    tiles: tuple[Tile, ...] = ()
    spare: Mapping[str, int] = field(default_factory=dict)
    open_area: float = 0.0
    slack: float = 0.0
    longest: int = 0
    findings: tuple[Finding, ...] = ()
    boards: FloorTiles | None = None

    @property
    def laid(self) -> tuple[Part, ...]:
        """The parts that lie on the floor, without the spare ones, in the order of ``tiles``."""
        return self.parts[: len(self.tiles)]

    @property
    def tops(self) -> tuple[Tile, ...]:
        """The top layers of an inlay, none of a floor of tiles."""
        return tuple(tile for tile in self.tiles if tile.is_top)

    @property
    def thickness(self) -> float:
        """How much the tiles raise the floor, mm."""
        return max((part.thickness for part in self.parts), default=0.0)


def lay_tiles(floors: Sequence[Part], rooms: Mapping[str, Room], finish: Finish, boards: FloorTiles) -> Tiling:
    """Return the tiles of all rooms. finish: the pattern whose dark units are cut from the dark board.

    floors: the floor pieces, rooms: theirs by id. Without tiles a finding says why.
    """
    tops = {id(room): room for room in rooms.values()}
    level = {id(rooms[part.id]): top_of(part) for part in floors if part.id in rooms}
    pieces: list[tuple[Polygon, bool, float]] = []
    whole = 0.0
    longest = 1
    for key, room in tops.items():
        laid = _pieces_of(room, finish, boards.gap)
        pieces += [(outline, dark, level[key]) for outline, dark in laid]
        whole += float(room.area.buffer(-OFF_WALLS, join_style="mitre").area)
        x0, y0, x1, y1 = room.area.bounds
        longest = max(longest, math.ceil(max(x1 - x0, y1 - y0) / finish.height))
    if not pieces:
        return Tiling(findings=(_too_narrow(finish),) if tops else ())
    if len(pieces) > MOST_TILES:
        return Tiling(findings=(_too_many(len(pieces), finish),))
    tiles, parts, spare = cut_tiles(pieces, boards)
    closed = sum(float(outline.buffer(boards.gap / 2, join_style="mitre").area) for outline, _, _ in pieces)
    slack = boards.gap + 2 * OFF_WALLS / longest
    return Tiling(parts, tiles, spare, max(whole - closed, 0.0), slack, longest, uneven(boards), boards)


def top_of(part: Part) -> float:
    """Return the level of the upper face of a floor piece, mm."""
    stands = part.panels[0].stands
    return float(stands.apply(np.zeros((1, 2)), max(0.0, part.board_side * part.thickness))[0, 2])


def _pieces_of(room: Room, finish: Finish, play: float) -> list[tuple[Polygon, bool]]:
    """Return the outlines of all tiles of a room, in plan, and which are dark, row by row."""
    box = np.array(room.area.bounds).reshape(2, 2) - room.origin
    x0, y0, x1, y1 = box.reshape(4).tolist()
    # grown by a unit, so that cells at the walls are whole before they are cut
    more = max(finish.length, finish.height)
    cells = cells_of(finish, Surface((x0 - more, y0 - more, x1 + more, y1 + more), Polygon(), reach=y1 + more))
    dark = is_dark(finish, cells)
    field_ = shapely.transform(room.area.buffer(-OFF_WALLS, join_style="mitre"), lambda xy: xy - room.origin)
    shapely.prepare(field_)
    kept: list[tuple[Polygon, bool]] = []
    shrunk = shapely.buffer(cells, -play / 2, join_style="mitre")
    for cell, is_one in zip(shapely.intersection(shrunk, field_), dark.tolist(), strict=True):
        for piece in shapely.get_parts(cell):
            if isinstance(piece, Polygon) and not piece.buffer(-NARROWEST / 2, join_style="mitre").is_empty:
                placed = shapely.transform(piece, lambda xy: xy + room.origin)
                kept.append((orient(placed.simplify(_ALIKE)), is_one))
    return sorted(kept, key=lambda entry: (round(entry[0].centroid.y, 1), round(entry[0].centroid.x, 1)))


def cut_tiles(
    pieces: Sequence[tuple[Polygon, bool, float]], boards: FloorTiles
) -> tuple[tuple[Tile, ...], tuple[Part, ...], dict[str, int]]:
    """Return tiles and parts with ids and names; parts of one shape and board share a name. Spares come last."""
    shapes: dict[bool, list[tuple[Polygon, str]]] = {False: [], True: []}
    tiles, parts = [], []
    for number, (outline, dark, level) in enumerate(pieces, start=1):
        name = _name_of(outline, shapes[dark], "FD" if dark else "FL")
        tile = Tile(f"{name}-{number}", name, dark, outline)
        tiles.append(tile)
        parts.append(_part(tile, boards.dark if dark else boards.light, level))
    first = {tile.name: (tile, part) for tile, part in reversed(list(zip(tiles, parts, strict=True)))}
    spare = {
        name: math.ceil(count / _SPARE)
        for name, count in sorted(Counter(tile.name for tile in tiles).items(), key=_by_number)
        if count > 1
    }
    extra = []
    for name, count in spare.items():
        tile, _ = first[name]
        for k in range(count):
            again = Tile(f"{name}-spare{k + 1}", name, tile.dark, tile.outline)
            extra.append(_part(again, boards.dark if tile.dark else boards.light, 0.0))
    return tuple(tiles), (*parts, *extra), spare


def _by_number(counted: tuple[str, int]) -> tuple[str, int]:
    """Return what names and their counts are sorted by: FD2 comes before FD10."""
    name, _ = counted
    return name[:_LETTERS], int(name[_LETTERS:])


def _name_of(outline: Polygon, known: list[tuple[Polygon, str]], letters: str) -> str:
    """Return the name that a tile shares with all that are alike, also turned by quarters."""
    for turn in range(_QUARTERS):
        shape = _moved(outline, turn)
        for other, name in known:
            if shapely.equals_exact(shape, other, _ALIKE):
                return name
    known.append((_moved(outline, 0), f"{letters}{len(known) + 1}"))
    return known[-1][1]


def _moved(outline: Polygon, quarters: int) -> Polygon:
    """Return an outline turned by so many quarters, its box at the origin, its corners from the first one on."""
    turned = shapely.transform(outline, lambda xy: xy @ np.linalg.matrix_power(_QUARTER, quarters))
    corner = np.array(turned.bounds[:2])
    # rounded, so that noise does not change which corner comes first
    return shapely.normalize(shapely.transform(turned, lambda xy: np.round(xy - corner, _DIGITS) + 0.0))


def _part(tile: Tile, stock: Stock, level: float) -> Part:
    """Return a tile as it is cut, its upper face down: the cut is narrowest there, and the name is hidden below."""
    _, y0, x1, _ = tile.outline.bounds
    outline = orient(shapely.transform(tile.outline, lambda xy: np.array([x1, 0.0]) + (xy - [0.0, y0]) * [-1.0, 1.0]))
    stands = Pose.of((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0), (x1, y0, level))
    middle, rim = shapely.get_coordinates(shapely.maximum_inscribed_circle(outline, tolerance=_NEAR)).tolist()
    reach = math.dist(middle, rim)
    spot = LabelSpot((middle[0], middle[1]), 0.0, _LONG * reach, _HIGH * reach)
    board = "dark" if tile.dark else "light"
    return Part(
        id=tile.part,
        label=f"Floor tile, {board} board",
        kind=PartKind.DARK_TILE if tile.dark else PartKind.TILE,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.OUTSIDE,
        board_side=-1,
        outline=outline,
        panels=(plain_panel(outline, stands),),
        label_spot=spot,
        stage=2,
        shared_name=tile.name,
    )


def _too_many(count: int, finish: Finish) -> Finding:
    size = 2.0 ** math.ceil(math.log2(count / MOST_TILES) / 2)
    return Finding(
        Severity.WARNING,
        "floor-tiles",
        f"The floor would take {count:,} tiles, more than {MOST_TILES}, and is left plain; "
        f"make the size of '{finish.pattern}' {size:g} times as large.",
        Location(),
    )


def _too_narrow(finish: Finish) -> Finding:
    return Finding(
        Severity.WARNING,
        "floor-tiles",
        f"The floor is left plain: tiles of '{finish.pattern}' would be {finish.height:.1f} mm wide, and under "
        f"{NARROWEST:g} mm they break; make its size larger.",
        Location(),
    )


def uneven(boards: FloorTiles) -> tuple[Finding, ...]:
    """Return the finding on boards whose thickness differs."""
    step = abs(boards.light.thickness - boards.dark.thickness)
    if step <= _EVEN:
        return ()
    return (
        Finding(
            Severity.WARNING,
            "floor-tiles",
            f"The two boards of the floor differ by {step:.1f} mm, so that figures rock on its edges; "
            "choose boards of one thickness, or put card under the thinner tiles.",
            Location(),
        ),
    )
