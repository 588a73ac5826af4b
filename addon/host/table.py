"""The table in Blender: objects that count as table, seats, miniatures and furniture become values of play.

``read_at_table`` reads them all, for the live maps, the checks of the sidebar and the command line.
What is hidden in the viewport is not on the table. Lengths are millimetres, the frame is the scene's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.errors import BadSettingError, GeometryError, UnreadableError
from ..geometry.play.table import eye_of
from ..geometry.play.table_top import AtTable, Miniature, Seat, Spot, Table
from ..geometry.pose import Pose
from . import reading
from .lengths import as_typed, mm_per_unit
from .people import ANYONE, STATURES
from .poses import pose_of

if TYPE_CHECKING:
    from bpy.types import Object, Scene

    from ..geometry.solid.solid import Solid

__all__ = [
    "Ground",
    "box_of",
    "level",
    "look_of",
    "nearest_edge",
    "objects_at_table",
    "read_at_table",
    "read_furniture",
    "read_ground",
    "read_miniature",
    "read_seat",
    "read_seated",
    "read_table",
]

#: Faces that one piece of furniture may have: while it is dragged, a sculpture beyond it would not be read in time;
#: in a check, work shows its progress and can be given up.
_FACES, _PATIENT_FACES = 20_000, 100_000


def read_at_table(scene: Scene, *, patient: bool = False) -> AtTable:
    """Return who and what is at the table, as the objects and the switches of the scene say.

    patient: read furniture that keeps the maker waiting. Raises GeometryError with one sentence where something
    cannot be read.
    """
    settings, active = scene.stowfold.table, scene.view_layers[0].objects.active
    seats, reaching, fitting = (
        tuple(read_seat(target, scene, anyone=who) for target in objects_at_table(scene, "SEAT"))
        for who in (settings.sees, settings.reaches, settings.fits)
    )
    furniture = objects_at_table(scene, "FURNITURE") if settings.furniture_in else ()
    most = _PATIENT_FACES if patient else _FACES
    return AtTable(
        table=_table_or_usual(scene),
        seats=seats,
        reaching=reaching,
        fitting=fitting,
        furniture=tuple(read_furniture(target, scene, most=most) for target in furniture),
        miniatures=tuple(read_miniature(target, scene) for target in objects_at_table(scene, "MINIATURE")),
        miniatures_in=settings.miniatures_in,
        roof_on=settings.roof_on,
        leaves_open=settings.leaves_open,
        active=None if active is None else active.name,
    )


def read_seated(scene: Scene) -> AtTable | GeometryError | None:
    """Return who and what is at the table for a check; None where nobody sits, the error where it cannot be read."""
    if not objects_at_table(scene, "SEAT"):
        return None
    try:
        return read_at_table(scene, patient=True)
    except GeometryError as error:
        return error


def objects_at_table(scene: Scene, kind: str) -> tuple[Object, ...]:
    """Return the objects that count as ``kind`` and are not hidden, by name."""
    found = (target for target in scene.objects if target.stowfold.place.kind == kind and target.visible_get())
    return tuple(sorted(found, key=lambda target: target.name))


def pose_in_mm(target: Object, scene: Scene) -> Pose:
    """Return how the object stands in the scene, lengths of its own units in mm."""
    pose = Pose(pose_of(target).matrix * mm_per_unit(scene))
    if not np.isfinite(pose.matrix).all():
        raise UnreadableError(f"The place of '{target.name}' is no number; clear its location, rotation and scale")
    return pose


def box_of(target: Object, scene: Scene) -> np.ndarray:
    """Return the corners of the object's own bounding box in the scene, (8, 3) mm."""
    return pose_in_mm(target, scene).apply(target.bound_box)


def level(direction: np.ndarray) -> np.ndarray | None:
    """Return the unit direction in the plan, (3,); None where there is none."""
    length = math.hypot(direction[0], direction[1])
    if length <= 1e-3 * np.linalg.norm(direction):
        return None
    return np.array([direction[0] / length, direction[1] / length, 0.0])


def read_table(scene: Scene) -> Table | None:
    """Return the table, or None where no object counts as one.

    Raises BadSettingError where several do, or where it has no length or depth.
    """
    found = objects_at_table(scene, "TABLE")
    if not found:
        return None
    if len(found) > 1:
        listed = ", ".join(f"'{target.name}'" for target in found)
        raise BadSettingError(f"{len(found)} objects count as the table ({listed}); hide all but one")
    target = found[0]
    pose = pose_in_mm(target, scene)
    low, high = np.array(target.bound_box).min(axis=0), np.array(target.bound_box).max(axis=0)
    along = level(pose.x)
    spans = (np.linalg.norm(pose.turn, axis=0) * (high - low))[:2]
    if along is None or not (spans > 0.0).all():
        raise BadSettingError(f"The table '{target.name}' has no length or depth; scale it or add another one")
    corners = box_of(target, scene)
    centre = np.array([*(corners.min(axis=0) + corners.max(axis=0))[:2] / 2, corners[:, 2].max()])
    return Table(
        centre=centre,
        turn=math.atan2(along[1], along[0]),
        size=(float(spans[0]), float(spans[1])),
        height=as_typed(target.stowfold.place.table_height),
    )


def _table_or_usual(scene: Scene) -> Table | None:
    """Return the table, else a usual one under the middle of the building; None where there is neither."""
    ground = read_ground(scene)
    return read_table(scene) or (None if ground is None else Table(ground.middle))


def read_seat(target: Object, scene: Scene, *, top: float | None = None, anyone: str = "median") -> Seat:
    """Return the seat that an object is.

    top: height of the table's top, mm, else the object's own. anyone: who sits there if nobody is named.
    Raises BadSettingError where the object faces up or down.
    """
    place = target.stowfold.place
    pose = pose_in_mm(target, scene)
    toward = level(pose.y)
    if toward is None:
        raise BadSettingError(
            f"The seat '{target.name}' faces up or down; turn it so that its y axis points to the table"
        )
    edge = pose.origin.copy()
    if top is not None:
        edge[2] = top
    return Seat(
        name=target.name,
        edge=edge,
        toward=toward,
        chair=as_typed(place.chair),
        stature=anyone if place.stature == ANYONE else place.stature,
        lean=float(place.lean),
        slump=as_typed(place.slump),
    )


def read_miniature(target: Object, scene: Scene) -> Miniature:
    """Return the upright cylinder that an object counts as: the middle of its box, its widest side, its height."""
    corners = box_of(target, scene)
    low, high = corners.min(axis=0), corners.max(axis=0)
    own = np.ptp(np.array(target.bound_box), axis=0) * np.linalg.norm(pose_in_mm(target, scene).turn, axis=0)
    if not (own > 0.0).all():
        raise BadSettingError(f"The miniature '{target.name}' has no size; scale it or add another one")
    return Miniature(
        name=target.name,
        foot=np.array([*(low + high)[:2] / 2, low[2]]),
        base=float(max(own[:2])),
        height=float(high[2] - low[2]),
        squares=target.stowfold.place.squares,
        spot=Spot[target.stowfold.place.spot],
    )


def read_furniture(target: Object, scene: Scene, *, most: int = _FACES) -> Solid:
    """Return a piece of furniture as a solid; raise UnreadableError for what is no mesh or has too many faces.

    most: how many faces are not too many.
    """
    if target.type != "MESH":
        raise UnreadableError(
            f"The furniture '{target.name}' is no mesh (its type is {target.type.lower()}); convert it"
        )
    solid = reading.read_solid([target], scene) if len(target.data.polygons) <= most else None
    # modifiers may make many faces of few
    number = len(target.data.polygons) if solid is None else len(solid.faces)
    if solid is None or number > most:
        raise UnreadableError(
            f"The furniture '{target.name}' has {number} faces, more than the {most} that are read; "
            "let a box of its size stand in for it"
        )
    return solid


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """What of the building counts for placing things: its extent in plan and its floor, mm."""

    low: np.ndarray
    high: np.ndarray

    @property
    def floor(self) -> float:
        """Height of the floor."""
        return float(self.low[2])

    @property
    def middle(self) -> np.ndarray:
        """The middle of the plan, on the floor, (3,)."""
        return np.array([*(self.low + self.high)[:2] / 2, self.floor])


def read_ground(scene: Scene) -> Ground | None:
    """Return the extent of the building, or None where there is none yet."""
    try:
        objects = reading.find_block_out(scene)
    except GeometryError:
        return None
    corners = np.concatenate([box_of(target, scene) for target in objects])
    return Ground(corners.min(axis=0), corners.max(axis=0))


def nearest_edge(table: Table, point: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the point of the table's edge nearest to ``point`` and the level direction into the table, (3,) each."""
    turn = np.array([[math.cos(table.turn), -math.sin(table.turn)], [math.sin(table.turn), math.cos(table.turn)]])
    half = np.array(table.size) / 2
    at = (np.asarray(point)[:2] - table.centre[:2]) @ turn
    inside = np.clip(at, -half, half)
    # the side whose line is nearest; outside the corner of two, the one that is passed farther
    axis = int(np.argmax(np.abs(at) - half))
    sign = 1.0 if at[axis] >= 0.0 else -1.0
    inside[axis] = sign * half[axis]
    toward = np.zeros(2)
    toward[axis] = -sign
    return np.array([*(turn @ inside + table.centre[:2]), table.centre[2]]), np.array([*(turn @ toward), 0.0])


def look_of(target: Object, scene: Scene) -> tuple[np.ndarray, np.ndarray]:
    """Return the eye of who sits at a seat and the middle of what there is to look at, (3,) mm each."""
    ground = read_ground(scene)
    middle = pose_in_mm(target, scene).origin if ground is None else ground.middle
    top = read_table(scene) or Table(middle)
    seat = read_seat(target, scene, top=float(top.centre[2]), anyone=scene.stowfold.table.sees)
    looks_at = top.centre if ground is None else middle
    return eye_of(seat, top, STATURES), looks_at
