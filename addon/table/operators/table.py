"""The table: tables, seats, miniatures and furniture are added as plain objects, and settle where they belong."""

from __future__ import annotations

import math
from collections.abc import Sequence

import bpy
import numpy as np
from bpy.props import BoolProperty, IntProperty
from bpy.types import Context, Object, Operator, Scene

from ...geometry.play.table_top import Seat, Spot, Table, settle
from ...host import table
from ...host.lengths import as_typed, millimetres, mm_per_unit
from ...host.scale import keep_scale
from ...jobs.reporting import needs, report_errors, warn
from ...window.framing import Framed, FramedIfUnseen
from .. import settling
from ..fields import MINIATURE_SIZES

#: A table's top is drawn so thick, mm.
_TOP = 25.0

#: A seat is drawn as a ball of this radius at the table's edge, mm; the player is drawn by the overlay.
_BALL = 40.0

#: A miniature turned on a lathe: (share of the base's radius, share of the height).
_PROFILE = ((1.0, 0.0), (1.0, 0.08), (0.45, 0.1), (0.55, 0.5), (0.62, 0.66), (0.25, 0.74), (0.36, 0.86), (0.22, 0.97))
_AROUND = 16

#: A table for six, in round millimetres. Common practice, no source.
_LENGTH, _DEPTH = 1800.0, 1200.0

_TABLE = Table(np.zeros(3))
_PIECE_OPTIONS = {"REGISTER", "UNDO"}

#: What is added is no smaller than this, mm.
_LEAST = 1.0


class AddPiece:
    """What all operators share that add something to the table."""

    bl_options = _PIECE_OPTIONS

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, context.mode == "OBJECT", "Leave Edit Mode first")


def _add(context: Context, name: str, kind: str, data: bpy.types.Mesh | None, place: np.ndarray, turn: float) -> Object:
    """Add an object at ``place``, (3,) mm, turned by ``turn`` radians, as the active and only selected one."""
    target = bpy.data.objects.new(name, data)
    target.stowfold.place.kind = kind
    target.location = place / mm_per_unit(context.scene)
    target.rotation_euler = (0.0, 0.0, turn)
    context.collection.objects.link(target)
    # only then does the layer know of what came and went
    context.view_layer.update()
    for candidate in context.view_layer.objects:
        candidate.select_set(candidate == target)
    context.view_layer.objects.active = target
    return target


def _mesh(name: str, points: np.ndarray, faces: Sequence[Sequence[int]], scene: Scene) -> bpy.types.Mesh:
    """Return a new mesh of points in mm."""
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata((points / mm_per_unit(scene)).tolist(), [], faces)
    mesh.update()
    return mesh


def _block(size: tuple[float, float, float], bottom: float) -> tuple[np.ndarray, tuple[tuple[int, ...], ...]]:
    """Return an upright box about the origin, its lower side at ``bottom``."""
    x, y = size[0] / 2, size[1] / 2
    plan = ((-x, -y), (x, -y), (x, y), (-x, y))
    points = np.array([(*corner, z) for z in (bottom, bottom + size[2]) for corner in plan])
    sides = tuple((k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k) for k in range(4))
    return points, ((3, 2, 1, 0), (4, 5, 6, 7), *sides)


def _turned(base: float, height: float) -> tuple[np.ndarray, tuple[tuple[int, ...], ...]]:
    """Return a figure turned on a lathe, on the origin."""
    around = 2.0 * np.pi * np.arange(_AROUND) / _AROUND
    rings = [
        np.column_stack([r * base / 2 * np.cos(around), r * base / 2 * np.sin(around), np.full(_AROUND, z * height)])
        for r, z in _PROFILE
    ]
    top = len(_PROFILE) * _AROUND
    faces = [tuple(reversed(range(_AROUND)))]
    for ring in range(len(_PROFILE) - 1):
        low, high = ring * _AROUND, (ring + 1) * _AROUND
        faces += [(low + k, low + (k + 1) % _AROUND, high + (k + 1) % _AROUND, high + k) for k in range(_AROUND)]
    last = top - _AROUND
    faces += [(last + k, last + (k + 1) % _AROUND, top) for k in range(_AROUND)]
    return np.vstack([*rings, [[0.0, 0.0, height]]]), tuple(faces)


def _cursor(context: Context) -> np.ndarray:
    """Return the 3D cursor on the floor of the room, (3,) mm."""
    at = np.array(context.scene.cursor.location, dtype=float) * mm_per_unit(context.scene)
    ground = table.read_ground(context.scene)
    if ground is not None:
        at[2] = ground.floor
    return at


class STOWFOLD_OT_add_table(Framed, AddPiece, Operator):
    """Add a table under the building, its top at the floor, or at the cursor where there is no building"""

    bl_idname = "stowfold.add_table"
    bl_label = "Add Table"

    length: millimetres("Length", "", _LENGTH, _LEAST, 3000.0)
    depth: millimetres("Depth", "", _DEPTH, _LEAST, 3000.0)
    height: millimetres("Top at Height", "From the floor on which the chairs stand", _TABLE.height, _LEAST, 1200.0)

    def execute(self, context: Context) -> set[str]:
        if table.objects_at_table(context.scene, "TABLE"):
            return warn(self, "There is a table already; delete or hide it first")
        keep_scale(context.scene)
        ground = table.read_ground(context.scene)
        place = ground.middle if ground is not None else _cursor(context)
        points, faces = _block((as_typed(self.length), as_typed(self.depth), _TOP), -_TOP)
        mesh = _mesh("Table", points, faces, context.scene)
        target = _add(context, "Table", "TABLE", mesh, place, 0.0)
        target.stowfold.place.table_height = self.height
        return {"FINISHED"}


def _add_seat(context: Context, seat: Seat) -> Object:
    turn = math.atan2(-seat.toward[0], seat.toward[1])
    target = _add(context, f"Seat {seat.name}", "SEAT", None, seat.edge, turn)
    target.empty_display_type = "SPHERE"
    target.empty_display_size = _BALL / mm_per_unit(context.scene)
    target.show_name = True
    target.stowfold.place.chair = seat.chair
    return target


class STOWFOLD_OT_add_seat(FramedIfUnseen, AddPiece, Operator):
    """Add a player's seat at the table's edge nearest to the cursor"""

    bl_idname = "stowfold.add_seat"
    bl_label = "Add Seat"

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        toward: np.ndarray | None
        keep_scale(context.scene)
        top = table.read_table(context.scene)
        cursor = np.array(context.scene.cursor.location, dtype=float) * mm_per_unit(context.scene)
        if top is not None:
            edge, toward = table.nearest_edge(top, cursor)
        else:
            ground = table.read_ground(context.scene)
            edge = cursor
            toward = table.level(ground.middle - cursor) if ground is not None else None
        _add_seat(context, Seat("1", edge, np.array([0.0, 1.0, 0.0]) if toward is None else toward))
        return {"FINISHED"}


class STOWFOLD_OT_propose_seats(Framed, AddPiece, Operator):
    """Spread seats evenly round the table; move them afterwards as you like"""

    bl_idname = "stowfold.propose_seats"
    bl_label = "Seats Round the Table"

    number: IntProperty(name="Seats", description="How many players sit down", default=6, min=1, soft_max=12)
    replace: BoolProperty(name="Replace Present Seats", description="Take away the seats that there are", default=True)

    # no error: the panel of the last step must stay, so that the number can be mended there
    @report_errors("WARNING")
    def execute(self, context: Context) -> set[str]:
        # needs the packages of the flow: only imported when seats are wanted
        from ...geometry.play.table import propose_seats

        top = table.read_table(context.scene)
        if top is None:
            return warn(self, "There is no table yet; add one first")
        seats = propose_seats(top, self.number)
        if self.replace:
            for seat in table.objects_at_table(context.scene, "SEAT"):
                bpy.data.objects.remove(seat)
        keep_scale(context.scene)
        added = [_add_seat(context, seat) for seat in seats]
        for target in added:
            target.select_set(True)
        return {"FINISHED"}


def _fit_size(operator: Operator, _context: Context) -> None:
    operator.base, operator.height = MINIATURE_SIZES[operator.squares]


class STOWFOLD_OT_add_miniature(FramedIfUnseen, AddPiece, Operator):
    """Add a stand-in for a miniature on the square of the cursor"""

    bl_idname = "stowfold.add_miniature"
    bl_label = "Add Miniature"

    squares: IntProperty(
        name="Squares",
        description="It takes so many squares by as many",
        default=1,
        min=1,
        max=max(MINIATURE_SIZES),
        update=_fit_size,
    )
    base: millimetres("Base", "Diameter of the base", MINIATURE_SIZES[1][0], _LEAST, 150.0)
    height: millimetres("Height", "Of its head above the floor, base included", MINIATURE_SIZES[1][1], _LEAST, 200.0)

    def execute(self, context: Context) -> set[str]:
        set_out = self.properties.is_property_set
        usual = MINIATURE_SIZES[self.squares]
        base = as_typed(self.base) if set_out("base") else usual[0]
        height = as_typed(self.height) if set_out("height") else usual[1]
        keep_scale(context.scene)
        points, faces = _turned(base, height)
        place = settle(_cursor(context), settling.read_grid(context.scene), taken=self.squares)
        target = _add(context, "Miniature", "MINIATURE", _mesh("Miniature", points, faces, context.scene), place, 0.0)
        target.stowfold.place["squares"] = self.squares
        return {"FINISHED"}


class STOWFOLD_OT_add_furniture(FramedIfUnseen, AddPiece, Operator):
    """Add a box that stands for a piece of furniture, at the cursor. Any other mesh can count as furniture too"""

    bl_idname = "stowfold.add_furniture"
    bl_label = "Add Furniture"

    length: millimetres("Length", "", 50.0, _LEAST, 200.0)
    depth: millimetres("Depth", "", 25.0, _LEAST, 200.0)
    height: millimetres("Height", "", 20.0, _LEAST, 100.0)

    def execute(self, context: Context) -> set[str]:
        size = (as_typed(self.length), as_typed(self.depth), as_typed(self.height))
        points, faces = _block(size, 0.0)
        half = np.array([size[0] / 2, size[1] / 2, 0.0])
        keep_scale(context.scene)
        corner = settle(_cursor(context) - half, settling.read_grid(context.scene), spot=Spot.CORNER)
        _add(context, "Furniture", "FURNITURE", _mesh("Furniture", points, faces, context.scene), corner + half, 0.0)
        return {"FINISHED"}


class STOWFOLD_OT_settle(Operator):
    """Bring selected miniatures and furniture onto the squares, and selected seats to the table's edge"""

    bl_idname = "stowfold.settle"
    bl_label = "Snap to Squares"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        kinds = {target.stowfold.place.kind for target in context.selected_objects}
        ready = context.mode == "OBJECT" and kinds & {"SEAT", "MINIATURE", "FURNITURE"}
        return needs(cls, ready, "Select miniatures, furniture or seats in Object Mode")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        for target in context.selected_objects:
            settling.settle_object(target, context.scene)
        return {"FINISHED"}


CLASSES = (
    STOWFOLD_OT_add_table,
    STOWFOLD_OT_add_seat,
    STOWFOLD_OT_propose_seats,
    STOWFOLD_OT_add_miniature,
    STOWFOLD_OT_add_furniture,
    STOWFOLD_OT_settle,
)
