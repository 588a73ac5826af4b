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

__all__ = ["PLAY", "Tile", "Tiling", "lay_tiles"]

#: Between two tiles, mm: enough that a row does not push, too little to be seen (common practice, no source).
PLAY = 0.05

#: Between tiles and walls, mm: walls sway in their slots by 0.2 (common practice, no source).
_OFF_WALLS = 0.3

#: Pieces narrower than this break or are lost, mm (common practice, no source): their place stays open.
_NARROWEST = 3.0

#: More tiles than this nobody lays in one evening (common practice, no source).
_MOST = 300

#: One tile in so many is cut besides where there are many alike: some are lost or split (common practice, no source).
_SPARE = 20

#: Tiles are alike where no corner differs by more than this, mm: a tenth of the play.
_ALIKE = 0.005

#: Boards of the same thickness to the hand, mm.
_EVEN = 0.15

#: Length and height of the room for a tile's name, over the radius of the largest circle in it: within that circle.
_LONG, _HIGH = 1.7, 1.0

#: How near the middle of that circle is looked for, mm.
_NEAR = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """A tile in its place. part: its id; name: that all alike share; dark: which board; outline: in plan, mm."""

    part: str
    name: str
    dark: bool
    outline: Polygon


@dataclass(frozen=True, slots=True, eq=False)
class Tiling:
    """A floor of two boards. parts: all tiles, the spare ones last; tiles: where they lie; spare: how many by name.

    open_area: what stays bare of the room since pieces would be too narrow, mm^2. slack: how much larger than drawn
    all tiles of a row may come out so that it still goes in, mm each; longest: tiles in the longest row.
    """

    parts: tuple[Part, ...] = ()
    tiles: tuple[Tile, ...] = ()
    spare: Mapping[str, int] = field(default_factory=dict)
    open_area: float = 0.0
    slack: float = 0.0
    longest: int = 0
    findings: tuple[Finding, ...] = ()

    @property
    def laid(self) -> tuple[Part, ...]:
        """The parts that lie on the floor, without the spare ones, in the order of ``tiles``."""
        return self.parts[: len(self.tiles)]

    @property
    def thickness(self) -> float:
        """How much the tiles raise the floor, mm."""
        return max((part.thickness for part in self.parts), default=0.0)


def lay_tiles(floors: Sequence[Part], rooms: Mapping[str, Room], finish: Finish, boards: FloorTiles) -> Tiling:
    """Return the tiles of all rooms. finish: the pattern whose dark units are cut from the dark board.

    floors: the floor pieces, rooms: theirs by id. Without tiles a finding says why.
    """
    tops = {id(room): room for room in rooms.values()}
    level = {id(rooms[part.id]): _top(part) for part in floors if part.id in rooms}
    pieces: list[tuple[Polygon, bool, float]] = []
    whole = 0.0
    longest = 1
    for key, room in tops.items():
        laid = _pieces_of(room, finish)
        pieces += [(outline, dark, level[key]) for outline, dark in laid]
        whole += float(room.area.buffer(-_OFF_WALLS, join_style="mitre").area)
        x0, y0, x1, y1 = room.area.bounds
        longest = max(longest, math.ceil(max(x1 - x0, y1 - y0) / finish.height))
    if not pieces:
        return Tiling(findings=(_too_narrow(finish),) if tops else ())
    if len(pieces) > _MOST:
        return Tiling(findings=(_too_many(len(pieces), finish),))
    tiles, parts, spare = _parts(pieces, boards)
    closed = sum(float(outline.buffer(PLAY / 2, join_style="mitre").area) for outline, _, _ in pieces)
    findings = _uneven(boards)
    return Tiling(parts, tiles, spare, max(whole - closed, 0.0), PLAY + 2 * _OFF_WALLS / longest, longest, findings)


def _top(part: Part) -> float:
    stands = part.panels[0].stands
    return float(stands.apply(np.zeros((1, 2)), max(0.0, part.board_side * part.thickness))[0, 2])


def _pieces_of(room: Room, finish: Finish) -> list[tuple[Polygon, bool]]:
    """Return the outlines of all tiles of a room, in plan, and which are dark, row by row."""
    box = np.array(room.area.bounds).reshape(2, 2) - room.origin
    x0, y0, x1, y1 = box.reshape(4).tolist()
    # grown by a unit, so that cells at the walls are whole before they are cut
    more = max(finish.length, finish.height)
    cells = cells_of(finish, Surface((x0 - more, y0 - more, x1 + more, y1 + more), Polygon(), reach=y1 + more))
    dark = is_dark(finish, cells)
    field_ = shapely.transform(room.area.buffer(-_OFF_WALLS, join_style="mitre"), lambda xy: xy - room.origin)
    shapely.prepare(field_)
    kept: list[tuple[Polygon, bool]] = []
    shrunk = shapely.buffer(cells, -PLAY / 2, join_style="mitre")
    for cell, is_one in zip(shapely.intersection(shrunk, field_), dark.tolist(), strict=True):
        for piece in shapely.get_parts(cell):
            if isinstance(piece, Polygon) and not piece.buffer(-_NARROWEST / 2, join_style="mitre").is_empty:
                placed = shapely.transform(piece, lambda xy: xy + room.origin)
                kept.append((orient(placed.simplify(_ALIKE)), is_one))
    return sorted(kept, key=lambda each: (round(each[0].centroid.y, 1), round(each[0].centroid.x, 1)))


def _parts(
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
        for name, count in sorted(Counter(tile.name for tile in tiles).items())
        if count > 1
    }
    extra = []
    for name, count in spare.items():
        tile, _ = first[name]
        for k in range(count):
            again = Tile(f"{name}-spare{k + 1}", name, tile.dark, tile.outline)
            extra.append(_part(again, boards.dark if tile.dark else boards.light, 0.0))
    return tuple(tiles), (*parts, *extra), spare


def _name_of(outline: Polygon, known: list[tuple[Polygon, str]], letters: str) -> str:
    x0, y0, _, _ = outline.bounds
    shape = shapely.normalize(shapely.transform(outline, lambda xy: xy - np.array([x0, y0])))
    for other, name in known:
        if shapely.equals_exact(shape, other, _ALIKE):
            return name
    known.append((shape, f"{letters}{len(known) + 1}"))
    return known[-1][1]


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
    size = 2.0 ** math.ceil(math.log2(count / _MOST) / 2)
    return Finding(
        Severity.WARNING,
        "floor-tiles",
        f"The floor would take {count:,} tiles, more than {_MOST}, and is left plain; "
        f"make the size of '{finish.pattern}' {size:g} times as large.",
        Location(),
    )


def _too_narrow(finish: Finish) -> Finding:
    return Finding(
        Severity.WARNING,
        "floor-tiles",
        f"The floor is left plain: tiles of '{finish.pattern}' would be {finish.height:.1f} mm wide, and under "
        f"{_NARROWEST:g} mm they break; make its size larger.",
        Location(),
    )


def _uneven(boards: FloorTiles) -> tuple[Finding, ...]:
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
