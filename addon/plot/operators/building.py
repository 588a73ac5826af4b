"""Buildings: a block-out is added on the squares, and blocked out again after its sizes have changed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import bpy
import numpy as np
from bpy.types import Context, Event, Object, Operator, PropertyGroup, UILayout

from ...geometry.errors import GeometryError
from ...geometry.plan.outline import PlanKind
from ...geometry.plan.sizes import BuildingSizes, lay_out_building
from ...geometry.plan.wings import count_wings
from ...geometry.play.hand import passage_over, probes_of
from ...geometry.play.stature import find_stature, read_statures
from ...geometry.progress import SILENT
from ...host.lengths import as_typed, mm_per_unit
from ...host.reading import read_settings
from ...host.scale import keep_scale, scale_words
from ...host.views import select_alone
from ...jobs import results
from ...window.framing import Framed
from ...window.words import draw_setting, is_narrow
from .. import blocking, proposing
from ..building_fields import FIELDS, BuildingFields

if TYPE_CHECKING:
    from ...geometry.outcome import Settings
    from ...geometry.plan.walls import BlockOut

#: The hand that must fit: what it passes over, all others do.
_LARGE_HAND = probes_of(find_stature("large", read_statures()))

#: Fields that count for a plan; those with a bar and wings have four.
_PLAN_FIELDS = {"RECTANGLE": ("length", "width"), "ROUND": ("across", "sides"), "CORNERS": ("corners",)}

#: Fields that count for a kind of roof, beside its pitch and overhang.
_ROOF_FIELDS = {
    "GAMBREL": ("lower_pitch", "lower_share"),
    "MANSARD": ("lower_pitch", "lower_share"),
    "HALF_HIP": ("lower_share",),
}


def draw_fields(layout: UILayout, fields: PropertyGroup, words: Callable[[UILayout, str], None] | None = None) -> None:
    """Draw those fields that count for the chosen plan and roof, and with ``words`` what the wall height does."""
    column = layout.column()
    # without words it is a dialog, which is wide enough
    column.use_property_split = words is None or not is_narrow(bpy.context)
    column.use_property_decorate = False
    draw_setting(column, fields, "plan")
    sizes = column.column(align=True)
    for name in _PLAN_FIELDS.get(fields.plan, ("length", "width", "bar", "wing")):
        draw_setting(sizes, fields, name)
    column.prop(fields, "strip")
    if words is not None and fields.strip > 0.0:
        words(column, f"{2.0 * as_typed(fields.strip):g} mm longer and wider than the squares")
    column.prop(fields, "height")
    if words is not None:
        words(column, passage_over(as_typed(fields.height), _LARGE_HAND).sentence)
    draw_setting(column, fields, "roof")
    if fields.roof not in {"NONE", "FLAT"}:
        draw_setting(column, fields, "pitch_as")
        column.prop(fields, "rise" if fields.pitch_as == "RISE" else "angle")
        for name in _ROOF_FIELDS.get(fields.roof, ()):
            draw_setting(column, fields, name)
    if fields.roof != "NONE":
        column.prop(fields, "overhang")
    _draw_wings(column, fields, words)


def _draw_wings(column: UILayout, fields: PropertyGroup, words: Callable[[UILayout, str], None] | None) -> None:
    """Draw whether wings have roofs of their own, and their sizes where they do."""
    count = count_wings(None if fields.plan == "CORNERS" else PlanKind[fields.plan])
    if not count:
        return
    draw_setting(column, fields, "wings")
    if fields.wings != "OWN":
        return
    _draw_wing(column, fields, "wing", words)
    if count > 1:
        column.prop(fields, "wings_differ")
        if fields.wings_differ:
            _draw_wing(column, fields, "second", words)


def _draw_wing(
    column: UILayout, fields: PropertyGroup, key: str, words: Callable[[UILayout, str], None] | None
) -> None:
    column.prop(fields, f"{key}_height")
    if words is not None and getattr(fields, f"{key}_height") <= 0.0:
        words(column, "At 0 mm the wing is as high as fits under the house")
    column.prop(fields, f"{key}_roof")
    if getattr(fields, f"{key}_roof") not in {"NONE", "FLAT"}:
        column.prop(fields, f"{key}_angle")


def _at_once() -> bool:
    """Return whether Blender runs without a window, where a script needs all done when the operator returns."""
    return bool(bpy.app.background)


def _lay_out(sizes: BuildingSizes, settings: Settings, *, at_once: bool) -> BlockOut:
    """Return a new building; at_once: with all its bends and breaks, which in a window are proposed a moment later."""
    from ...geometry.flow.added import add_building

    return add_building(sizes, settings) if at_once else lay_out_building(sizes, square=settings.square)


class STOWFOLD_OT_add_building(Framed, BuildingFields, Operator):
    """Add a building on the squares: walls whose corners flex, and a roof that unfolds"""

    bl_idname = "stowfold.add_building"
    bl_label = "Add Building"
    # with the host's own menu of presets in the panel of the last step
    bl_options = {"REGISTER", "UNDO", "PRESET"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        if context.mode == "OBJECT":
            return True
        cls.poll_message_set("Leave Edit Mode first")
        return False

    def execute(self, context: Context) -> set[str]:
        scene = context.scene
        try:
            settings = read_settings(scene)
            block = _lay_out(blocking.read_sizes(self), settings, at_once=_at_once())
        except GeometryError as error:
            # not an error report: the redo panel must stay, so that the size can be mended there
            self.report({"WARNING"}, str(error))
            return {"CANCELLED"}
        keep_scale(scene)
        mesh = bpy.data.meshes.new("House")
        target = bpy.data.objects.new("House", mesh)
        blocking.fill(target, block, block.roles, scene)
        step = settings.square / mm_per_unit(scene)
        x, y, z = scene.cursor.location
        target.location = (np.floor(x / step + 1e-4) * step, np.floor(y / step + 1e-4) * step, z)
        # seen from above, walls without their edges would not be seen at all
        target.show_wire = True
        ours = target.stowfold
        ours.is_block_out = True
        for name in FIELDS:
            setattr(ours.building, name, getattr(self, name))
        ours.building.was_added = True
        ours.building.unproposed = not _at_once()
        context.collection.objects.link(target)
        select_alone(context, target)
        proposing.ask()
        self.report({"INFO"}, f"House added on the squares: {scale_words(scene)}")
        return {"FINISHED"}

    def draw(self, _context: Context) -> None:
        draw_fields(self.layout, self)


class STOWFOLD_OT_rebuild_building(Operator):
    """Make the building from its sizes again. Your marks stay where their line stays, changes by hand are lost"""

    bl_idname = "stowfold.rebuild_building"
    bl_label = "Block Out Again"
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
        if blocking.is_as_made(context.object):
            return self.execute(context)
        # openings cut by hand would go; nobody should lose an evening's work to one click
        return context.window_manager.invoke_confirm(
            self,
            event,
            title="Block out again and lose changes by hand?",
            message="The mesh of this building was changed since it was added. Marks stay where their line stays.",
            confirm_text="Block Out Again",
        )

    def execute(self, context: Context) -> set[str]:
        target, scene = context.object, context.scene
        try:
            rebuilt = proposing.read_task(target, scene).work(SILENT)
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        blocking.fill(target, rebuilt.block, rebuilt.made, scene)
        target.stowfold.building.unproposed = False
        target.stowfold.building.trouble = ""
        results.suspect_all()
        lost = f", {rebuilt.lost} gone with their edges" if rebuilt.lost else ""
        self.report({"INFO"}, f"Blocked out: {rebuilt.kept} mark{'' if rebuilt.kept == 1 else 's'} of yours kept{lost}")
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building)
