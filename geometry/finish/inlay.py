"""Inlaid floors: a top layer of the light board with openings cut right through, and pieces that fit into them.

Openings and pieces keep the same play everywhere, half of it taken off either, and every outline is cut with the kerf
made up for. The top layer is cut with its upper face up, so that squares are engraved on it, the pieces with theirs
down: both flanks then slant alike, and a piece goes in from above like a cork.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.polygon import orient

from ..findings import Finding, Location, Severity
from ..joints.floor import Room
from ..joints.floor_grid import grid_lines
from ..part import FaceUp, Part, PartKind, frozen, plain_panel
from ..pose import Pose
from ..settings import FloorTiles
from .dark import cells_of, is_dark
from .finish import Finish
from .motifs import LAND, SMALLEST_STAR, Motif, border, inside_border, star, star_spot
from .surface import Surface
from .tiles import MOST_TILES, NARROWEST, OFF_WALLS, Tile, Tiling, cut_tiles, top_of, uneven

__all__ = ["lay_inlay"]

#: Engraved squares keep this from openings and edges of the top layer, mm (common practice, no source).
_EDGE = 0.5

#: Straight pieces to a quarter of the circle that stays light round a star.
_ARC = 32

#: Tails of a piece narrower than this burn away, mm (common practice, no source); corners reach out so many times half
#: of it at most.
_TAIL, _MITRE = 1.0, 2.0

#: Pieces of a border that would lose no more than this beside a joiner's cheek stay whole, mm: the board there is as
#: much narrower, and pieces that look alike are alike.
_SHAVING = 0.1

#: Pieces in line across a star: the disc and two halves.
_ACROSS_STAR = 3


@dataclass(frozen=True, slots=True, eq=False)
class _Field:
    """The place of one top layer, in plan, mm. room: that it lies in; level: of its lower face, mm."""

    area: shapely.Geometry
    room: Room
    level: float


def lay_inlay(
    floors: Sequence[Part],
    rooms: Mapping[str, Room],
    finish: Finish | None,
    boards: FloorTiles,
    *,
    square: float,
    engraved: bool = True,
) -> Tiling:
    """Return top layers and pieces of all rooms. finish: a pattern whose dark units are let in, None for none.

    floors: the floor pieces, rooms: theirs by id; every floor piece gets a top layer of its own. square: side of a
    square, mm; engraved: whether the squares are engraved on the top layer. Without pieces a finding says why.
    """
    fields = [_field(part, rooms[part.id], boards.gap) for part in floors if part.id in rooms]
    if not fields:
        return Tiling()
    if finish is None and not (boards.border or boards.star):
        return Tiling(findings=(_finding("The floor has no inlay: give it a material, or switch Border or Star on."),))
    findings = list(uneven(boards))
    motifs: list[list[Motif]] = []
    stars = _stars(fields, boards, square)
    for field, spot in zip(fields, stars, strict=True):
        motifs.append(list(_motifs_of(field, spot, finish, boards, square)))
    if boards.star and not any(stars):
        findings.append(_finding(f"The floor has no room for a star, which reaches {SMALLEST_STAR:g} mm at least."))
    pieces = [
        (orient(part), dark, field.level)
        for field, own in zip(fields, motifs, strict=True)
        for motif in own
        for area, dark in motif.pieces
        for part in _shrunk(area, boards.gap)
    ]
    if not pieces:
        return Tiling(findings=(*findings, _finding("The floor is left plain: no piece of its inlay is 3 mm wide.")))
    if len(pieces) > MOST_TILES:
        words = (
            f"The floor would take {len(pieces):,} pieces of inlay, more than {MOST_TILES}; make its pattern larger."
        )
        return Tiling(findings=(*findings, _finding(words)))
    tops = [
        top
        for field, own in zip(fields, motifs, strict=True)
        for top in _tops_of(field, own, boards, square if engraved else None)
    ]
    named = [
        (replace(tile, part=f"FT{k}", name=f"FT{k}"), replace(part, id=f"FT{k}", shared_name=f"FT{k}"))
        for k, (tile, part) in enumerate(tops, start=1)
    ]
    tiles, parts, spare = cut_tiles(sorted(pieces, key=_place), boards)
    return Tiling(
        parts=(*(part for _, part in named), *parts),
        tiles=(*(tile for tile, _ in named), *tiles),
        spare=spare,
        slack=boards.gap,
        longest=_ACROSS_STAR if any(stars) else 1,
        findings=tuple(findings),
        boards=boards,
    )


def _place(piece: tuple[Polygon, bool, float]) -> tuple[float, float]:
    middle = piece[0].centroid
    return round(middle.y, 1), round(middle.x, 1)


def _field(part: Part, room: Room, play: float) -> _Field:
    """Return the place of the top layer on a floor piece: off the walls, and off the next piece of the floor."""
    plan = shapely.transform(part.outline, lambda xy: part.panels[0].stands.apply(xy)[:, :2])
    whole = Polygon(plan.exterior).buffer(-play / 2.0, join_style="mitre")
    return _Field(room.area.buffer(-OFF_WALLS, join_style="mitre").intersection(whole), room, top_of(part))


def _stars(
    fields: Sequence[_Field], boards: FloorTiles, square: float
) -> list[tuple[tuple[float, float], float] | None]:
    """Return for every field where its star stands: one star a room, where it is largest."""
    found: list[tuple[tuple[float, float], float] | None] = [None] * len(fields)
    if not boards.star:
        return found
    for room in {id(field.room): field.room for field in fields}.values():
        spots = {
            k: spot
            for k, field in enumerate(fields)
            if field.room is room and (spot := star_spot(_inner(field, boards, square), room.origin, square))
        }
        if spots:
            best = max(spots, key=lambda k: spots[k][1])
            found[best] = spots[best]
    return found


def _inner(field: _Field, boards: FloorTiles, square: float) -> shapely.Geometry:
    """Return where pattern and star lie: within the border, and off the edges of the top layer."""
    land = LAND + boards.gap
    free = field.area.buffer(-land, join_style="mitre")
    if not boards.border:
        return free
    return free.intersection(inside_border(field.room.area, square).buffer(-land, join_style="mitre"))


def _motifs_of(
    field: _Field,
    spot: tuple[tuple[float, float], float] | None,
    finish: Finish | None,
    boards: FloorTiles,
    square: float,
) -> Iterator[Motif]:
    """Yield the openings of one top layer with what fills them, without play."""
    land = LAND + boards.gap
    inner, around = _inner(field, boards, square), Polygon()
    if boards.border:
        band = border(field.room.area, field.room.origin, square, land)
        for whole in shapely.get_parts(band):
            for area in _sound(_clipped(whole, field.area.buffer(-land, join_style="mitre")), boards.gap):
                yield Motif.of_one(area)
    if spot is not None:
        motif = star(*spot)
        yield motif
        disc = Point(spot[0]).buffer(spot[1] + land, quad_segs=_ARC)
        around = disc.union(motif.opening.buffer(land, join_style="mitre"))
    if finish is not None:
        for area in _dark_units(field, finish, land):
            # units that a star would cut are left out
            if area.intersects(around):
                continue
            for piece in _sound(_without_tails(area.intersection(inner)), boards.gap):
                yield Motif.of_one(piece)


def _dark_units(field: _Field, finish: Finish, land: float) -> Iterator[shapely.Geometry]:
    """Yield the dark units of a pattern in plan, each so much smaller that ``land`` stays between two that touch."""
    origin = field.room.origin
    x0, y0, x1, y1 = (np.array(field.room.area.bounds).reshape(2, 2) - origin).reshape(4).tolist()
    more = max(finish.length, finish.height)
    cells = cells_of(finish, Surface((x0 - more, y0 - more, x1 + more, y1 + more), Polygon(), reach=y1 + more))
    dark = cells[is_dark(finish, cells)]
    for cell in shapely.buffer(dark, -land / 2.0, join_style="mitre"):
        yield shapely.transform(cell, lambda xy: xy + origin)


def _sound(area: shapely.Geometry, play: float) -> Iterator[Polygon]:
    """Yield the pieces of an area that are wide enough somewhere to be cut and laid."""
    for piece in shapely.get_parts(area):
        if isinstance(piece, Polygon) and not piece.buffer(-(NARROWEST + play) / 2.0, join_style="mitre").is_empty:
            yield piece


def _clipped(piece: shapely.Geometry, free: shapely.Geometry) -> shapely.Geometry:
    """Return what of a piece lies in an area, or the whole of it where it would lose a shaving alone."""
    return piece if free.buffer(_SHAVING, join_style="mitre").covers(piece) else piece.intersection(free)


def _without_tails(area: shapely.Geometry) -> shapely.Geometry:
    """Return an area without what is so narrow that it burns away, as where a circle cuts a corner off."""
    core = area.buffer(-_TAIL / 2.0, join_style="mitre")
    return core.buffer(_TAIL / 2.0, join_style="mitre", mitre_limit=_MITRE).intersection(area)


def _shrunk(area: Polygon, play: float) -> Iterator[Polygon]:
    """Yield a piece without its half of the play."""
    for part in shapely.get_parts(area.buffer(-play / 2.0, join_style="mitre")):
        if isinstance(part, Polygon) and not part.is_empty:
            yield part


def _tops_of(
    field: _Field, motifs: Sequence[Motif], boards: FloorTiles, square: float | None
) -> Iterator[tuple[Tile, Part]]:
    """Yield the top layer of a field with its openings, mostly one piece. square: None where none are engraved."""
    holes = [motif.opening.buffer(boards.gap / 2.0, join_style="mitre") for motif in motifs]
    # the land round a single piece is a hair wider than what is narrowest, without a gap of its own
    for area in _sound(field.area.difference(shapely.union_all(holes)), 0.0):
        yield Tile("", "", False, area, is_top=True), _top_part(area, field, boards, square)


def _top_part(area: Polygon, field: _Field, boards: FloorTiles, square: float | None) -> Part:
    """Return a top layer as it is cut, with its upper face up."""
    low = np.array(area.bounds[:2])
    outline = orient(shapely.transform(area, lambda xy: xy - low))
    lines = grid_lines(area.buffer(-_EDGE, join_style="mitre"), field.room.origin, square) if square else ()
    return Part(
        id="",
        label="Top layer of the floor, light board",
        kind=PartKind.TILE,
        stock=boards.light.name,
        thickness=boards.light.thickness,
        face_up=FaceUp.ROOM,
        board_side=1,
        outline=outline,
        panels=(plain_panel(outline, Pose.identity().moved_to((*low.tolist(), field.level))),),
        engrave=tuple(frozen(line - low) for line in lines),
        stage=2,
    )


def _finding(words: str) -> Finding:
    return Finding(Severity.WARNING, "floor-tiles", words, Location())
