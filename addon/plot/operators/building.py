"""Buildings: a block-out is added on the squares, and blocked out again after its sizes have changed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import bpy
import numpy as np
from bpy.types import Context, Event, Mesh, Object, Operator, Scene, UILayout

from ...geometry.errors import GeometryError
from ...geometry.plan.outline import PlanKind
from ...geometry.plan.roof import Roof, RoofKind, pitch_of_rise
from ...geometry.plan.sizes import BuildingSizes, read_corners
from ...geometry.plan.walls import BlockOut
from ...geometry.play.hand import passage_over, probes_of
from ...geometry.play.stature import find_stature, read_statures
from ...geometry.pose import Pose
from ...geometry.solid.solid import Role
from ...host import marks
from ...host.openings import openings_in, read_opening
from ...host.poses import as_pose
from ...host.reading import as_typed, find_block_out, mm_per_unit, read_settings
from ...host.scale import keep_scale, scale_words
from ...host.views import select_alone
from ...jobs import results
from ...window.framing import Framed
from ..building_fields import BuildingFields

if TYPE_CHECKING:
    from ...geometry.flow.added import Earlier
    from ...geometry.solid.opening import Opening

#: The hand that must fit: what it passes over, all others do.
_LARGE_HAND = probes_of(find_stature("large", read_statures()))

_FIELDS = tuple(BuildingFields.__annotations__)

#: Fields that count for a plan; those with a bar and wings have four.
_PLAN_FIELDS = {"RECTANGLE": ("length", "width"), "ROUND": ("across", "sides"), "CORNERS": ("corners",)}

#: Fields that count for a kind of roof, beside its pitch and overhang.
_ROOF_FIELDS = {
    "GAMBREL": ("lower_pitch", "lower_share"),
    "MANSARD": ("lower_pitch", "lower_share"),
    "HALF_HIP": ("lower_share",),
}


def _read_sizes(fields: BuildingFields) -> BuildingSizes:
    """Return the sizes that the maker's fields ask for."""
    pitch = pitch_of_rise(as_typed(fields.rise)) if fields.pitch_as == "RISE" else float(fields.angle)
    corners = fields.plan == "CORNERS"
    return BuildingSizes(
        plan=None if corners else PlanKind[fields.plan],
        length=as_typed(fields.across if fields.plan == "ROUND" else fields.length),
        width=as_typed(fields.width),
        bar=as_typed(fields.bar),
        wing=as_typed(fields.wing),
        sides=fields.sides,
        corners=read_corners(fields.corners) if corners else (),
        height=as_typed(fields.height),
        roof=Roof(
            RoofKind[fields.roof],
            pitch,
            as_typed(fields.overhang),
            lower_pitch=float(fields.lower_pitch),
            lower_share=as_typed(fields.lower_share),
        ),
    )


def _fill(mesh: Mesh, block: BlockOut, made: Sequence[tuple[tuple[int, int], Role]], scene: Scene) -> None:
    """Put a block-out into a mesh, marks and all, in place of what was there; made: the roles that are not by hand."""
    mesh.clear_geometry()
    mesh.from_pydata((block.points / mm_per_unit(scene)).tolist(), [], block.faces)
    number = {tuple(sorted(edge.vertices)): edge.index for edge in mesh.edges}
    for roles, write in ((block.roles, marks.set_roles), (made, marks.set_made)):
        for role in (Role.FLEX, Role.BREAK, Role.CLOSURE):
            write(mesh, [number[pair] for pair, wanted in roles if wanted is role], role)
    mesh.update()


def draw_fields(layout: UILayout, fields: BuildingFields, words: Callable[[UILayout, str], None] | None = None) -> None:
    """Draw those fields that count for the chosen plan and roof, and with ``words`` what the wall height does."""
    column = layout.column()
    column.use_property_split = True
    column.use_property_decorate = False
    column.prop(fields, "plan")
    sizes = column.column(align=True)
    for name in _PLAN_FIELDS.get(fields.plan, ("length", "width", "bar", "wing")):
        sizes.prop(fields, name)
    column.prop(fields, "height")
    if words is not None:
        words(column, passage_over(as_typed(fields.height), _LARGE_HAND).sentence)
    column.prop(fields, "roof")
    if fields.roof != "NONE":
        column.prop(fields, "pitch_as")
        column.prop(fields, "rise" if fields.pitch_as == "RISE" else "angle")
        for name in _ROOF_FIELDS.get(fields.roof, ()):
            column.prop(fields, name)
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
        from ...geometry.flow.added import add_building

        scene = context.scene
        try:
            settings = read_settings(scene)
            block = add_building(_read_sizes(self), settings)
        except GeometryError as error:
            # not an error report: the redo panel must stay, so that the size can be mended there
            self.report({"WARNING"}, str(error))
            return {"CANCELLED"}
        keep_scale(scene)
        mesh = bpy.data.meshes.new("House")
        _fill(mesh, block, block.roles, scene)
        target = bpy.data.objects.new("House", mesh)
        step = settings.square / mm_per_unit(scene)
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


def _read_earlier(mesh: Mesh, scene: Scene) -> Earlier:
    """Return the marks on a mesh, in its own axes."""
    from ...geometry.flow.added import Earlier

    points = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    edges = np.empty(2 * len(mesh.edges), dtype=np.int32)
    mesh.vertices.foreach_get("co", points)
    mesh.edges.foreach_get("vertices", edges)
    roles, made = (tuple(Role(role) for role in read(mesh).tolist()) for read in (marks.read_roles, marks.read_made))
    return Earlier(points.astype(np.float64).reshape(-1, 3) * mm_per_unit(scene), edges.reshape(-1, 2), roles, made)


def _openings_of(target: Object, scene: Scene) -> tuple[Opening, ...]:
    """Return the openings that stand in a building, in the axes of its own mesh, mm."""
    back = as_pose(target.matrix_world.inverted_safe())
    home = Pose.of(back.x, back.y, back.z, back.origin * mm_per_unit(scene))
    found = []
    for each in openings_in((target,), scene, alone=find_block_out(scene) == (target,)):
        opening = read_opening(each, scene)
        found.append(replace(opening, stands=home @ opening.stands))
    return tuple(found)


class STOWFOLD_OT_rebuild_building(Operator):
    """Block the building out with these sizes. Your marks stay where their line stays, changes by hand are lost"""

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
        from ...geometry.flow.added import rebuild_building

        target, scene = context.object, context.scene
        try:
            earlier, openings = _read_earlier(target.data, scene), _openings_of(target, scene)
            sizes = _read_sizes(target.stowfold.building)
            rebuilt = rebuild_building(sizes, read_settings(scene), earlier, openings)
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        _fill(target.data, rebuilt.block, rebuilt.made, scene)
        target.stowfold.building.faces_made = len(target.data.polygons)
        results.suspect_all()
        lost = f", {rebuilt.lost} had no line any more" if rebuilt.lost else ""
        self.report({"INFO"}, f"Rebuilt: {rebuilt.kept} mark{'' if rebuilt.kept == 1 else 's'} of yours kept{lost}")
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building)
