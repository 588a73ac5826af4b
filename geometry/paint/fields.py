"""Colour fields: which area of which face of every part gets which colour of which finish.

They are cut from the same surfaces as the lines of finishes. What stays bare is in none of them: tabs, wall ends that a
joiner takes, places where something is glued, and openings.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon, box

from ..finish.dark import dark_units
from ..finish.draw import draw
from ..finish.dress import Board, boards_among, covered_stretches, flat_area, regions_on, surface_of
from ..finish.finish import Finish, Pattern
from ..finish.runs import Run, find_runs
from ..finish.surface import Surface
from ..joints.floor import Room
from ..joints.glue_places import GluePlace, find_glue_places
from ..part import ColourField, FaceUp, Joiner, PaintRole, Panel, Part, PartKind
from ..polygons import polygons_in
from ..solid.facets import Facets
from ..solid.solid import Solid
from ..tolerance import SNAP
from ..unfold.section import Sections
from .paint import Paint

__all__ = ["Model", "colour_parts", "tile_fields"]

#: Pieces of a field smaller than this are remainders of rounding, mm^2: no brush meets them.
_CRUMB = 0.05

#: Boards that show a facet outside, and those that show one to the room.
_OUTSIDE = (PartKind.WALL, PartKind.ROOF, PartKind.PANEL, PartKind.UPSTAND)


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """What colours are read from: the solid with its finishes, what became of it, and how finishes look.

    inside, floor: names of the finishes of room side and floor, empty for none. rooms: by the id of the floor piece.
    tiled: whether tiles lie on the floor.
    """

    solid: Solid
    facets: Facets
    sections: Sections
    joiners: Sequence[Joiner]
    finishes: Mapping[str, Finish]
    inside: str = ""
    floor: str = ""
    rooms: Mapping[str, Room] | None = None
    tiled: bool = False


def colour_parts(
    model: Model, parts: Sequence[Part], paint: Paint, covered: Mapping[str, shapely.Geometry] = MappingProxyType({})
) -> tuple[Part, ...]:
    """Return the parts with their colour fields; as they are where the model names no finish and no board a colour.

    covered: what is glued over the upper faces of parts besides, in their frames, by id.
    """
    named = frozenset(model.facets.finishes.values())
    if not (named or model.inside or model.floor or paint.trim or paint.leaf):
        return tuple(parts)
    places = find_glue_places(parts)
    glued = _glued(places)
    for name, area in covered.items():
        glued[name, True] = shapely.union(glued.get((name, True), Polygon()), area)
    made: dict[int, list[ColourField]] = {}
    runs = find_runs(model.facets, model.sections.setbacks) if named or model.inside else ()
    if named:
        outer = {joiner.cheeks[0] for joiner in model.joiners}
        shown = [part.kind in _OUTSIDE or part.id in outer for part in parts]
        _colour_side(model, parts, paint, runs, shown, FaceUp.OUTSIDE, made)
    if model.inside:
        inner = {joiner.cheeks[1] for joiner in model.joiners}
        shown = [part.kind is PartKind.WALL or part.id in inner for part in parts]
        _colour_side(model, parts, paint, runs, shown, FaceUp.ROOM, made)
    for k, part in enumerate(parts):
        if part.kind is PartKind.FLOOR and model.floor and not model.tiled and part.id in (model.rooms or {}):
            made.setdefault(k, []).extend(_on_floor(part, model, paint))
        elif part.kind is PartKind.TRIM and (paint.trim or named):
            made.setdefault(k, []).append(ColourField("", PaintRole.TRIM, part.outline, part.face_up is FaceUp.OUTSIDE))
    caps = _capped(parts, places, made) if named else {}
    for k, part in enumerate(parts):
        if part.id in caps:
            own = ColourField(caps[part.id], PaintRole.MAIN, part.outline, part.face_up is FaceUp.OUTSIDE)
            made[k] = [own]
        elif paint.leaf and any(placed.swing for placed in part.lattices):
            made.setdefault(k, [])
    # only the outside of a cap shows, and no glue lies there
    return tuple(
        replace(part, colour_fields=tuple(_cleared(made[k], part, {} if part.id in caps else glued, paint)))
        if k in made
        else part
        for k, part in enumerate(parts)
    )


def tile_fields(part: Part) -> Part:
    """Return a tile of a floor with its colour: on its lower face, since it is cut with the upper one down.

    Only the top layer of an inlay is cut with the face up that shows.
    """
    role = PaintRole.DARK_TILE if part.kind is PartKind.DARK_TILE else PaintRole.TILE
    return replace(part, colour_fields=(ColourField("", role, part.outline, up=part.face_up is FaceUp.ROOM),))


def _glued(places: Iterable[GluePlace]) -> dict[tuple[str, bool], shapely.Geometry]:
    """Return what of a face is glued, in the part frame, by part and whether the face lies up."""
    found: dict[tuple[str, bool], list[Polygon]] = {}
    for place in places:
        found.setdefault((place.host, place.up), []).append(place.area)
        if place.own is not None:
            found.setdefault((place.glued, place.own_up), []).append(place.own)
    return {key: shapely.union_all(areas) for key, areas in found.items()}


def _colour_side(
    model: Model,
    parts: Sequence[Part],
    paint: Paint,
    runs: Sequence[Run],
    shown: Sequence[bool],
    side: FaceUp,
    made: dict[int, list[ColourField]],
) -> None:
    """Add the fields of all boards that show one side of the walls and slopes."""
    every = frozenset({"", *model.facets.finishes.values()})
    held: dict[Panel, dict[str, float]] = {}
    boards = list(boards_among(parts, shown, runs))
    covered = covered_stretches(model.joiners, runs)
    for k, run in enumerate(runs):
        own = [board for board in boards if board.run == k and (side is FaceUp.OUTSIDE or run.upright)]
        if not own:
            continue
        surface = surface_of(model.facets, run, own, covered.get(k, ()))
        bears = [(model.inside, None)] if side is FaceUp.ROOM else regions_on(model.solid, model.facets, run, every)
        for name, grown in bears:
            # lines may reach a hair beyond their faces, but colours meet where faces do
            where = None if grown is None else shapely.buffer(grown, -SNAP, join_style="mitre")
            roles = _roles(model.finishes.get(name), name, surface, paint)
            for board in own:
                cut = list(_on_board(parts[board.part], board, run, surface, name, where, roles, side))
                made.setdefault(board.part, []).extend(cut)
                sums = held.setdefault(board.panel, {})
                sums[name] = sums.get(name, 0.0) + sum(float(field.area.area) for field in cut)
    for index, several in made.items():
        several += _on_lattices(parts[index], held, model.finishes, paint, side)


def _roles(
    finish: Finish | None, name: str, surface: Surface, paint: Paint
) -> list[tuple[PaintRole, shapely.Geometry]]:
    """Return what of a surface has another colour than the main one, what lies over the others first."""
    scheme = paint.schemes.get(name)
    if finish is None or scheme is None or not (scheme.units or scheme.around):
        return []
    pattern, _, taken = draw(finish, surface)
    found = []
    if scheme.around:
        found.append((PaintRole.AROUND, taken))
    if scheme.units:
        units = dark_units(finish, surface, pattern)
        found.append((PaintRole.UNITS, shapely.difference(units, taken)))
    return found


def _on_board(
    part: Part,
    board: Board,
    run: Run,
    surface: Surface,
    name: str,
    where: shapely.Geometry | None,
    roles: Iterable[tuple[PaintRole, shapely.Geometry]],
    side: FaceUp,
) -> Iterator[ColourField]:
    """Yield the fields of one finish on one board, in the part frame."""
    area: shapely.Geometry = board.shape if where is None else board.shape.intersection(where)
    if part.kind is not PartKind.CHEEK and surface.joiners:
        _, y0, _, y1 = surface.box
        area = area.difference(shapely.union_all([box(a, y0 - 1.0, b, y1 + 1.0) for a, b in surface.joiners]))
    up = part.face_up is side
    for role, over in roles:
        yield ColourField(name, role, flat_area(board, run, area.intersection(over)), up)
        area = area.difference(over)
    yield ColourField(name, PaintRole.MAIN, flat_area(board, run, area), up)


def _on_lattices(
    part: Part,
    held: Mapping[Panel, Mapping[str, float]],
    finishes: Mapping[str, Finish],
    paint: Paint,
    side: FaceUp,
) -> Iterator[ColourField]:
    """Yield the lattices of a part as fields of the finish that most of their panel has.

    held: area by finish of every panel. Hinges of leaves go with these. Of a timber frame lattices are timber: a post
    stands on both sides of every bend.
    """
    for placed in part.lattices:
        if placed.swing:
            continue
        own = held.get(part.panels[placed.parent]) or held.get(part.panels[placed.child])
        if not own:
            continue
        name = max(sorted(own), key=lambda finish: own[finish])
        finish, scheme = finishes.get(name), paint.schemes.get(name)
        timber = finish is not None and finish.pattern is Pattern.TIMBER_FRAME and scheme is not None and scheme.units
        role = PaintRole.UNITS if timber else PaintRole.MAIN
        yield ColourField(name, role, Polygon(placed.zone), part.face_up is side, thin=True)


def _on_floor(part: Part, model: Model, paint: Paint) -> Iterator[ColourField]:
    """Yield the fields of a floor's finish inside the walls, slots left out."""
    assert model.rooms is not None
    room = model.rooms[part.id]
    low = part.panels[0].stands.origin[:2]
    area = shapely.intersection(shapely.transform(room.area, lambda xy: xy - low), part.outline)
    finish = model.finishes.get(model.floor)
    scheme = paint.schemes.get(model.floor)
    up = part.face_up is FaceUp.ROOM
    if finish is not None and scheme is not None and scheme.units and not area.is_empty:
        x0, y0, x1, y1 = (np.array(room.area.bounds).reshape(2, 2) - room.origin).reshape(4).tolist()
        surface = Surface((x0, y0, x1, y1), shapely.box(x0, y0, x1, y1), reach=y1)
        units = dark_units(finish, surface, draw(finish, surface)[0])
        over = shapely.transform(units, lambda xy: xy + room.origin - low)
        yield ColourField(model.floor, PaintRole.UNITS, area.intersection(over), up)
        area = area.difference(over)
    yield ColourField(model.floor, PaintRole.MAIN, area, up)


def _cleared(
    fields: Iterable[ColourField],
    part: Part,
    glued: Mapping[tuple[str, bool], shapely.Geometry],
    paint: Paint,
) -> Iterator[ColourField]:
    """Yield fields without what is glued, those of one colour as one; leaves get their own colour if there is one."""
    hung = [part.panels[placed.child] for placed in part.lattices if placed.swing]
    leaf = shapely.union_all([Polygon(panel.ring, panel.holes) for panel in hung])
    gathered: dict[tuple[str, PaintRole, bool, bool], list[shapely.Geometry]] = {}
    if paint.leaf and hung:
        zones = [Polygon(placed.zone) for placed in part.lattices if placed.swing]
        # an open leaf shows both of its faces
        for up in (True, False):
            gathered["", PaintRole.LEAF, up, False] = [shapely.intersection(leaf, part.outline)]
            gathered["", PaintRole.LEAF, up, True] = list(zones)
    for field in fields:
        area = field.area
        bare = glued.get((part.id, field.up))
        if bare is not None and not field.thin:
            area = shapely.difference(area, bare)
        if hung and paint.leaf and not field.thin:
            area = shapely.difference(area, leaf)
        gathered.setdefault((field.finish, field.role, field.up, field.thin), []).append(area)
    for (finish, role, up, thin), areas in gathered.items():
        pieces = [piece for area in areas for piece in polygons_in(area, above=_CRUMB)]
        if pieces:
            yield ColourField(finish, role, MultiPolygon(pieces), up, thin)


def _capped(
    parts: Sequence[Part], places: Iterable[GluePlace], made: Mapping[int, Sequence[ColourField]]
) -> dict[str, str]:
    """Return for every cap the finish that most of the board beneath it has, by the cap's id.

    made: fields of the parts by their index, before what is glued is left out of them.
    """
    index = {part.id: k for k, part in enumerate(parts)}
    caps = {part.id for part in parts if part.kind is PartKind.CAP}
    found: dict[str, dict[str, float]] = {}
    for place in places:
        if place.glued in caps:
            sums = found.setdefault(place.glued, {})
            for field in made.get(index[place.host], ()):
                if field.up is place.up:
                    shared = float(shapely.area(shapely.intersection(field.area, place.area)).sum())
                    sums[field.finish] = sums.get(field.finish, 0.0) + shared
    return {name: max(sorted(sums), key=lambda finish: sums[finish]) for name, sums in found.items() if sums}
