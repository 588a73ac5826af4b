"""Play as it stands in the scene: room, people and obstacles read at once, and measured into maps.

The building is taken apart only when it has changed; what stays is measured once for every eye, so that
dragging one miniature costs its own shadow and little more.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.errors import BadSettingError, UnreadableError
from ..geometry.play.table_top import Blocker, BlockerKind, Miniature, Seat, Squares, Table
from ..host import reading, table
from ..host.people import STATURES
from ..jobs import results
from . import play_maps

if TYPE_CHECKING:
    from bpy.types import Object, Scene

    from ..geometry.play.bodies import Bodies
    from ..geometry.play.clearance import Clearance
    from ..geometry.play.hand import HandMap
    from ..geometry.play.sight import Shadows, SightLine
    from ..geometry.solid.solid import Solid

__all__ = ["AtTable", "Room", "Static", "forget", "measure", "read_now", "read_room", "with_gables"]

#: Faces of a building that can be looked at; beyond it reading alone would stall the window.
BUILDING_FACES = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class AtTable:
    """Everything that maps are made from.

    building, furniture, miniatures: what is in the way, as the toggles of the scene say. figures: all
    miniatures, whether in the way or not. seats: by who sees; reaching, fitting: the same seats by who
    reaches and whose hand must fit. active: name of the active object, which is what may be dragged.
    ridge: height of the roof's ridge in the model, mm, whether it is on or lifted. objects: session ids of the
    building's objects.
    """

    squares: Squares
    building: tuple[Blocker, ...]
    furniture: tuple[Blocker, ...]
    miniatures: tuple[Blocker, ...]
    figures: tuple[Miniature, ...]
    table: Table
    seats: tuple[Seat, ...]
    reaching: tuple[Seat, ...]
    fitting: tuple[Seat, ...]
    active: str | None = None
    ridge: float | None = None
    objects: tuple[int, ...] = ()

    @property
    def lifted(self) -> bool:
        """Whether the building has a roof that is not on."""
        return self.ridge is not None and all(each.kind is not BlockerKind.ROOF for each in self.building)

    @property
    def moving(self) -> tuple[Blocker, ...]:
        """What is in the way and may be dragged."""
        return tuple(each for each in (*self.furniture, *self.miniatures) if each.name == self.active)

    @property
    def standing(self) -> tuple[Blocker, ...]:
        """What is in the way and stays."""
        rest = (each for each in (*self.furniture, *self.miniatures) if each.name != self.active)
        return (*self.building, *rest)


@dataclass(frozen=True, slots=True, eq=False)
class Static:
    """What was measured of everything that stays; ``mark`` and ``eyes`` tell whether it still holds."""

    mark: bytes
    eyes: bytes
    bodies: Bodies
    shadows: Shadows
    clearance: Clearance | None = None


def read_now(scene: Scene, *, settled: bool = False) -> AtTable | None:
    """Return what is at the table, or None where there is no building.

    settled: take the active miniature, which hangs in the air while it is dragged, where it will settle.
    Raises GeometryError with one sentence where something cannot be read.
    """
    from ..geometry.play.pieces import blocker_of_miniature

    room = read_room(scene)
    if room is None:
        return None
    squares, blockers = room.squares, room.blockers
    settings = scene.stowfold.table
    ground = table.read_ground(scene)
    top = table.read_table(scene) or Table(squares.origin if ground is None else ground.middle)
    seats = {
        who: tuple(
            table.read_seat(each, scene, top=float(top.centre[2]), anyone=getattr(settings, who))
            for each in table.objects_at_table(scene, "SEAT")
        )
        for who in ("sees", "reaches", "fits")
    }
    lifted = set() if settings.roof_on else {BlockerKind.ROOF}
    furniture = table.objects_at_table(scene, "FURNITURE") if settings.furniture_in else ()
    figures = tuple(table.read_miniature(each, scene) for each in table.objects_at_table(scene, "MINIATURE"))
    active = scene.view_layers[0].objects.active
    if settled and active is not None and scene.stowfold.table.stay_on_squares:
        figures = tuple(each.settled(squares) if each.name == active.name else each for each in figures)
    return AtTable(
        squares=squares,
        building=tuple(each for each in blockers if each.kind not in lifted),
        furniture=tuple(_furniture(each, scene) for each in furniture),
        miniatures=tuple(blocker_of_miniature(each) for each in figures) if settings.miniatures_in else (),
        figures=figures,
        table=top,
        seats=seats["sees"],
        reaching=seats["reaches"],
        fitting=seats["fits"],
        active=None if active is None else active.name,
        ridge=_top([each for each in blockers if each.kind is BlockerKind.ROOF]),
        objects=room.objects,
    )


#: What was read last: the building by what it was made from, pieces of furniture by name.
_read: dict[str, object] = {}
_pieces: dict[str, tuple[bytes, Blocker]] = {}


def forget() -> None:
    """Drop what was read."""
    _read.clear()
    _pieces.clear()


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """What was read of the building: its squares, all that stands round them, and the session ids of its objects."""

    squares: Squares
    blockers: tuple[Blocker, ...]
    objects: tuple[int, ...] = ()


def read_room(scene: Scene) -> Room | None:
    """Return the room with its roof on and its leaves as the scene says; None where there is no building.

    Cheeks of joiners are those of the last check, while it holds. Raises
    UnreadableError for a building of too many faces, GeometryError where its walls enclose no plan.
    """
    from ..geometry.play.fittings import room_leaves
    from ..geometry.play.room import room_blockers, room_squares
    from ..geometry.solid.find import find_facets

    try:
        objects = reading.find_block_out(scene)
    except UnreadableError:
        return None
    number = sum(len(each.data.polygons) for each in objects)
    solid = reading.read_solid(objects, scene) if number <= BUILDING_FACES else None
    # modifiers may make many faces of few
    if solid is None or len(solid.faces) > BUILDING_FACES:
        raise UnreadableError(
            f"The building has {number if solid is None else len(solid.faces)} faces, more than the {BUILDING_FACES} "
            "whose shadows are cast; model it with one face per wall"
        )
    settings, wide_open = reading.read_settings(scene), scene.stowfold.table.leaves_open
    report = results.for_object(objects[0])
    outcome = report.outcome if report is not None and not report.stale else None
    made_from = (settings, wide_open, outcome)
    if not (_read and _alike(_read["solid"], solid) and _read["made_from"] == made_from):  # type: ignore[arg-type]
        facets = find_facets(solid, wall_face=settings.face.value)
        parts = outcome.parts if outcome is not None else ()
        blockers = room_blockers(facets, settings, roof=True, cheeks=parts)
        room = Room(
            squares=room_squares(facets, settings, size=settings.square),
            blockers=(*blockers, *room_leaves(solid.openings, wide_open=wide_open)),
        )
        _read.update(solid=solid, made_from=made_from, room=room)
    kept: Room = _read["room"]  # type: ignore[assignment]
    return replace(kept, objects=tuple(each.session_uid for each in objects))


def _furniture(target: Object, scene: Scene) -> Blocker:
    from ..geometry.play.pieces import blocker_of_mesh

    solid = table.read_furniture(target, scene)
    mark = solid.points.tobytes()
    before = _pieces.get(target.name)
    if before is None or before[0] != mark:
        _pieces[target.name] = (mark, blocker_of_mesh(target.name, solid.points, solid.faces)[0])
    return _pieces[target.name][1]


def _top(blockers: Sequence[Blocker]) -> float | None:
    """Return how high the highest of the blockers reaches, mm; None where there is none."""
    return max((float(ring[:, 2].max()) for each in blockers for face in each.faces for ring in face), default=None)


def with_gables(play: AtTable) -> tuple[AtTable, AtTable]:
    """Return the table with level wall tops, and with end walls raised to the ridge; the roof lifted off both.

    A building that has gables loses them for the first; one that has none gets them as boards without
    thickness on the short sides of its room, up to the ridge of its roof. Raises BadSettingError where
    there is neither a gable nor a roof over a rectangle.
    """
    lifted = tuple(each for each in play.building if each.kind is not BlockerKind.ROOF)
    level = replace(play, building=tuple(each for each in lifted if each.kind is not BlockerKind.GABLE))
    if len(level.building) < len(lifted):
        return level, replace(play, building=lifted)
    squares, ridge = play.squares, play.ridge
    if ridge is None or not squares.inside.all():
        raise BadSettingError(
            "The building has neither a gable nor a roof over a rectangle; "
            "add a roof, so that there is a ridge to raise walls to"
        )
    eaves = _top(level.building) or 0.0
    long, wide = squares.columns * squares.size * squares.u, squares.rows * squares.size * squares.v
    if squares.columns < squares.rows:
        long, wide = wide, long
    foot, up = squares.origin + (eaves - squares.origin[2]) * np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, 1.0])
    ends = tuple(
        Blocker(
            f"Gable {k + 1}", BlockerKind.GABLE, ((np.array([at, at + wide, at + wide / 2 + (ridge - eaves) * up]),),)
        )
        for k, at in enumerate((foot, foot + long))
    )
    return level, replace(play, building=(*level.building, *ends))


def _mark(squares: Squares, blockers: Iterable[Blocker]) -> bytes:
    parts = [squares.origin.tobytes(), squares.u.tobytes(), squares.v.tobytes(), squares.inside.tobytes()]
    for each in blockers:
        parts.append(each.name.encode())
        parts += [np.ascontiguousarray(ring).tobytes() for face in each.faces for ring in face]
    return b"|".join(parts)


def measure(play: AtTable, before: Static | None = None, *, hands: bool = True) -> tuple[play_maps.Maps, Static]:
    """Return the maps of a table and what can be used again when only the active piece has moved.

    hands: measure how hands fit as well, which takes longer than sight. Raises GeometryError where an eye
    lies in something or cannot look down on the squares.
    """
    from ..geometry.play.bodies import make_bodies
    from ..geometry.play.hand import map_hands, measure_for, probes_of
    from ..geometry.play.reach import map_reach
    from ..geometry.play.sight import Eye, cast_shadows
    from ..geometry.play.stature import find_stature
    from ..geometry.play.table import eye_of, shoulder_of

    squares = play.squares
    eyes = tuple(Eye(seat.name, eye_of(seat, play.table, STATURES)) for seat in play.seats)
    mark = _mark(squares, play.standing)
    seen_from = b"".join(eye.point.tobytes() for eye in eyes) + "|".join(eye.seat for eye in eyes).encode()
    same = before is not None and before.mark == mark
    if before is not None and same and before.eyes == seen_from:
        static = before
    else:
        shadows = cast_shadows(play.standing, squares, eyes, play_maps.HEIGHTS)
        kept = before.clearance if before is not None and same else None
        static = Static(mark, seen_from, make_bodies(play.standing, squares), shadows, kept)
    sight = static.shadows.with_moved(play.moving) if play.moving else static.shadows.sight

    fit: HandMap | None = None
    if hands and play.fitting:
        sorts = [find_stature(seat.stature, STATURES) for seat in play.fitting]
        probes = {sort.name: probes_of(sort) for sort in sorts}
        if static.clearance is None or not {
            start for each in probes.values() for probe in each for start, _ in probe.stages
        } <= set(static.clearance.starts):
            every = [probe for each in probes.values() for probe in each]
            static = replace(static, clearance=measure_for(every, squares, play.standing))
        clearance = static.clearance
        assert clearance is not None
        if play.moving:
            from ..geometry.play.clearance import measure_clearance

            clearance = clearance.beside(
                measure_clearance(squares, play.moving, starts=clearance.starts, grip=clearance.grip)
            )
        shoulders = np.array([shoulder_of(seat, play.table, STATURES) for seat in play.fitting])
        fit = _joined([map_hands(clearance, probes[sort.name], shoulders[k : k + 1]) for k, sort in enumerate(sorts)])

    maps = play_maps.Maps(
        squares=squares,
        seats=tuple(seat.name for seat in play.seats),
        sight=sight,
        reach=map_reach(squares, play.reaching, play.table, STATURES),
        hands=fit,
        lines=_lines(play, static, {eye.seat: eye.point for eye in eyes}),
        players=tuple(
            (eye.seat, eye.point, shoulder_of(seat, play.table, STATURES), seat.toward)
            for eye, seat in zip(eyes, play.seats, strict=True)
        ),
        lifted=play.objects if play.lifted else (),
        walls=tuple(face for each in play.building for face in each.faces) if play.lifted else (),
    )
    return maps, static


def _joined(maps: Sequence[HandMap]) -> HandMap:
    """Return hand maps of one seat each as one."""
    margin, azimuth, elevation, blocked_by = (
        np.concatenate([getattr(each, name) for each in maps], axis=1)
        for name in ("margin", "azimuth", "elevation", "blocked_by")
    )
    return replace(maps[0], margin=margin, azimuth=azimuth, elevation=elevation, blocked_by=blocked_by)


def _lines(play: AtTable, static: Static, eyes: dict[str, np.ndarray]) -> tuple[SightLine, ...]:
    """Return the lines of sight from every seat to the active miniature, or from the active seat to all of them."""
    from ..geometry.play.bodies import make_bodies
    from ..geometry.play.sight import draw_sight_line

    aims = [each for each in play.figures if each.name == play.active]
    seats = list(eyes)
    if play.active in eyes:
        aims, seats = list(play.figures), [play.active]
    if not aims:
        return ()
    moving = make_bodies(play.moving, play.squares)
    lines = []
    for figure in aims:
        target = figure.foot + np.array([0.0, 0.0, figure.height / 2])
        for seat in seats:
            found = [
                draw_sight_line(eyes[seat], target, bodies, play.squares, through=figure.name)
                for bodies in (static.bodies, moving)
            ]
            blocked = [line for line in found if line.hit is not None]
            lines.append(
                min(blocked, key=lambda line: float(np.linalg.norm(line.hit - line.eye))) if blocked else found[0]
            )
    return tuple(lines)


def _alike(one: Solid, other: Solid) -> bool:
    """Return whether two readings are of the same building."""
    return (
        one.faces == other.faces
        and one.edge_roles == other.edge_roles
        and one.openings == other.openings
        and np.array_equal(one.points, other.points)
    )
