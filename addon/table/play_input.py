"""The table as it stands in the scene now, for the live maps: what has not changed since is not read again."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..geometry.errors import UnreadableError
from ..geometry.flow.unfolding import facets_of
from ..geometry.play.pieces import blocker_of_mesh
from ..geometry.play.set_table import Room, find_room, set_table
from ..geometry.play.table_top import Blocker, TableTop
from ..geometry.solid.solid import Solid
from ..host import reading, table
from ..jobs import results

if TYPE_CHECKING:
    from bpy.types import Object, Scene

__all__ = ["forget", "objects_read", "read_now", "read_room"]

#: Faces of a building that can be looked at; beyond it reading alone would stall the window.
BUILDING_FACES = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class _Building:
    """A building with the room that was found in it. made_from: what else the room depends on."""

    solid: Solid
    made_from: tuple[object, ...]
    room: Room


@dataclass(slots=True)
class _Read:
    """What was read last: the building, its objects by session id, and pieces of furniture with their blockers."""

    building: _Building | None = None
    objects: tuple[int, ...] = ()
    pieces: dict[str, tuple[Solid, Blocker]] = field(default_factory=dict)


_read = _Read()


def forget() -> None:
    """Drop what was read."""
    _read.building, _read.objects = None, ()
    _read.pieces.clear()


def objects_read() -> tuple[int, ...]:
    """Return the session ids of the objects that the building was read from last."""
    return _read.objects


def read_now(scene: Scene, *, settled: bool = False) -> TableTop | None:
    """Return the table as it is set now, or None where there is no building.

    settled: take the active miniature, which hangs in the air while it is dragged, where it will settle.
    Raises GeometryError with one sentence where something cannot be read.
    """
    room = read_room(scene)
    if room is None:
        return None
    at_table = table.read_at_table(scene)
    if settled and scene.stowfold.table.stay_on_squares:
        at_table = at_table.settled(room.squares)
    return set_table(at_table, room, [_blocker(solid) for solid in at_table.furniture])


def read_room(scene: Scene) -> Room | None:
    """Return the room with its roof on and its leaves as the scene says; None where there is no building.

    Cheeks of joiners are those of the last check, while it holds. Raises
    UnreadableError for a building of too many faces, GeometryError where its walls enclose no plan.
    """
    try:
        objects = reading.find_block_out(scene)
    except UnreadableError:
        return None
    solid = _read_building(objects, scene)
    _read.objects = tuple(target.session_uid for target in objects)
    settings, leaves_open = reading.read_settings(scene), scene.stowfold.table.leaves_open
    report = results.for_object(objects[0])
    outcome = report.outcome if report is not None and not report.stale else None
    made_from = (settings, leaves_open, outcome)
    known = _read.building
    if known is None or known.made_from != made_from or not known.solid.is_same(solid):
        facets = facets_of(solid, settings)
        parts = outcome.parts if outcome is not None else ()
        raised = outcome.tiling.thickness if outcome is not None else 0.0
        room = find_room(facets, settings, square=settings.square, parts=parts, leaves_open=leaves_open, raised=raised)
        known = _read.building = _Building(solid, made_from, room)
    return known.room


def _read_building(objects: tuple[Object, ...], scene: Scene) -> Solid:
    number = sum(len(target.data.polygons) for target in objects)
    solid = reading.read_solid(objects, scene) if number <= BUILDING_FACES else None
    # modifiers may make many faces of few
    if solid is None or len(solid.faces) > BUILDING_FACES:
        raise UnreadableError(
            f"The building has {number if solid is None else len(solid.faces)} faces, more than the {BUILDING_FACES} "
            "whose shadows are cast; model it with one face per wall"
        )
    return solid


def _blocker(furniture: Solid) -> Blocker:
    """Return the blocker that a piece of furniture is."""
    name = furniture.sources[0]
    known = _read.pieces.get(name)
    if known is None or not known[0].is_same(furniture):
        known = _read.pieces[name] = (furniture, blocker_of_mesh(name, furniture.points, furniture.faces)[0])
    return known[1]
