"""Buildings: a block-out is added on the squares, and blocked out anew after its sizes have changed."""

from __future__ import annotations

from collections.abc import Callable

import bpy
import numpy as np
from bpy.types import Context, Event, Mesh, Object, Operator, Scene, UILayout

from .. import marks, results
from ..bridge import as_typed, mm_per_unit
from ..building_fields import BuildingFields
from ..geometry.errors import BadSettingError, GeometryError
from ..geometry.plan.carry import break_spots, carry_roles
from ..geometry.plan.walls import BlockOut, PlanKind, Roof, RoofKind, block_out, outline_of, pitch_of_rise
from ..geometry.play.hand import probes_of
from ..geometry.play.stature import find_stature, read_statures
from ..geometry.play.wall_height import passage_over
from ..geometry.solid.solid import Role
from ..scale import keep_scale, scale_words
from ..selection import select_alone
from .framing import Framed

#: The hand that must fit: what it passes over, all others do.
_LARGE_HAND = probes_of(find_stature("large", read_statures()))

_FIELDS = tuple(BuildingFields.__annotations__)


def _read_fields(fields: BuildingFields, square: float, breaks: tuple[tuple[float, float], ...] = ()) -> BlockOut:
    """Return the block-out, in mm, that the maker's fields ask for."""
    if fields.plan == "CORNERS":
        plan = tuple((x * square, y * square) for x, y in _read_corners(fields.corners))
    else:
        plan = outline_of(
            PlanKind(fields.plan.lower()),
            length=as_typed(fields.length),
            width=as_typed(fields.width),
            bar=as_typed(fields.bar),
            wing=as_typed(fields.wing),
            square=square,
        )
    pitch = pitch_of_rise(as_typed(fields.rise)) if fields.pitch_as == "RISE" else float(fields.angle)
    roof = Roof(RoofKind(fields.roof.lower()), pitch, as_typed(fields.overhang))
    return block_out(plan, height=as_typed(fields.height), roof=roof, breaks=breaks)


def _read_corners(text: str) -> tuple[tuple[float, float], ...]:
    corners = []
    for word in text.replace(";", " ").split():
        try:
            x, y = (float(number) for number in word.split(","))
        except ValueError:
            raise BadSettingError(
                f"'{word}' is no corner; write corners in squares as x,y with spaces between them, like 0,0 8,0 8,3"
            ) from None
        corners.append((x, y))
    return tuple(corners)


def _fill(mesh: Mesh, block: BlockOut, scene: Scene) -> None:
    """Put a block-out into a mesh, marks and all, in place of what was there."""
    mesh.clear_geometry()
    mesh.from_pydata((block.points / mm_per_unit(scene)).tolist(), [], block.faces)
    number = {tuple(sorted(edge.vertices)): edge.index for edge in mesh.edges}
    for role in (Role.FLEX, Role.BREAK, Role.CLOSURE):
        marks.set_roles(mesh, [number[pair] for pair, wanted in block.roles if wanted is role], role)
    mesh.update()


def draw_fields(layout: UILayout, fields: BuildingFields, words: Callable[[UILayout, str], None] | None = None) -> None:
    """Draw those fields that count for the chosen plan and roof, and with ``words`` what the wall height does."""
    column = layout.column()
    column.use_property_split = True
    column.use_property_decorate = False
    column.prop(fields, "plan")
    if fields.plan == "CORNERS":
        column.prop(fields, "corners")
    else:
        sizes = column.column(align=True)
        for name in ("length", "width") if fields.plan == "RECTANGLE" else ("length", "width", "bar", "wing"):
            sizes.prop(fields, name)
    column.prop(fields, "height")
    if words is not None:
        words(column, passage_over(as_typed(fields.height), _LARGE_HAND).sentence)
    column.prop(fields, "roof")
    if fields.roof != "NONE":
        column.prop(fields, "pitch_as")
        column.prop(fields, "rise" if fields.pitch_as == "RISE" else "angle")
        column.prop(fields, "overhang")


class STOWFOLD_OT_add_building(Framed, BuildingFields, Operator):
    """Add a building on the squares: walls whose corners flex, and a roof that unfolds"""

    bl_idname = "stowfold.add_building"
    bl_label = "Add Building"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        if context.mode == "OBJECT":
            return True
        cls.poll_message_set("Leave Edit Mode first")
        return False

    def execute(self, context: Context) -> set[str]:
        scene = context.scene
        square = as_typed(scene.stowfold.square)
        try:
            block = _read_fields(self, square)
        except GeometryError as error:
            # not an error report: the redo panel must stay, so that the size can be mended there
            self.report({"WARNING"}, str(error))
            return {"CANCELLED"}
        keep_scale(scene)
        mesh = bpy.data.meshes.new("House")
        _fill(mesh, block, scene)
        target = bpy.data.objects.new("House", mesh)
        step = square / mm_per_unit(scene)
        x, y, z = scene.cursor.location
        target.location = (np.floor(x / step + 1e-4) * step, np.floor(y / step + 1e-4) * step, z)
        # seen from above, walls without their edges would not be seen at all
        target.show_wire = True
        ours = target.stowfold
        ours.is_block_out = True
        ours.building.was_added = True
        ours.building.faces_made = len(mesh.polygons)
        for name in _FIELDS:
            setattr(ours.building, name, getattr(self, name))
        context.collection.objects.link(target)
        select_alone(context, target)
        self.report({"INFO"}, f"House added on the squares: {scale_words(scene)}")
        return {"FINISHED"}

    def draw(self, _context: Context) -> None:
        draw_fields(self.layout, self)


def _read_before(mesh: Mesh, scene: Scene) -> tuple[np.ndarray, np.ndarray, tuple[Role, ...]]:
    """Return points in mm, edges and roles of a mesh, in its own axes."""
    points = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    edges = np.empty(2 * len(mesh.edges), dtype=np.int32)
    mesh.vertices.foreach_get("co", points)
    mesh.edges.foreach_get("vertices", edges)
    roles = tuple(Role(role) for role in marks.read_roles(mesh).tolist())
    return points.astype(np.float64).reshape(-1, 3) * mm_per_unit(scene), edges.reshape(-1, 2), roles


class STOWFOLD_OT_rebuild_building(Operator):
    """Block the building out anew with these sizes. Marks stay where their line stays, changes by hand are lost"""

    bl_idname = "stowfold.rebuild_building"
    bl_label = "Rebuild"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        target: Object | None = context.object
        if target is None or target.type != "MESH" or not target.stowfold.building.was_added:
            cls.poll_message_set("Select a building that was added here first")
            return False
        if context.mode != "OBJECT":
            cls.poll_message_set("Leave Edit Mode first")
            return False
        return True

    def invoke(self, context: Context, event: Event) -> set[str]:
        target = context.object
        if len(target.data.polygons) == target.stowfold.building.faces_made:
            return self.execute(context)
        # openings cut by hand would go; nobody should lose an evening's work to one click
        return context.window_manager.invoke_confirm(
            self,
            event,
            title="Rebuild and lose changes by hand?",
            message="Faces of this building were changed since it was added. Marks stay where their line stays.",
            confirm_text="Rebuild",
        )

    def execute(self, context: Context) -> set[str]:
        target, scene = context.object, context.scene
        try:
            before = _read_before(target.data, scene)
            block = _read_fields(target.stowfold.building, as_typed(scene.stowfold.square), break_spots(*before))
            carried = carry_roles(*before, block)
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        _fill(target.data, carried.block, scene)
        target.stowfold.building.faces_made = len(target.data.polygons)
        results.suspect_all()
        lost = f", {carried.lost} had no line any more" if carried.lost else ""
        self.report({"INFO"}, f"Rebuilt: {carried.kept} mark{'' if carried.kept == 1 else 's'} kept{lost}")
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building)
