"""The first step: squares, walls, roof and openings."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UILayout

from ..bridge import stands_beside
from ..opening_fields import KINDS
from ..operators.building import STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building, draw_fields
from ..operators.openings import STOWFOLD_OT_add_opening, STOWFOLD_OT_move_opening, STOWFOLD_OT_snap_openings
from ..scale import scale_advice, scale_words
from .step import Step
from .words import paragraph


class STOWFOLD_PT_plot(Step, Panel):
    bl_idname = "STOWFOLD_PT_plot"
    bl_label = "Plot"

    def draw(self, context: bpy.types.Context) -> None:
        row = self.layout.row()
        row.scale_y = 1.4
        row.operator(STOWFOLD_OT_add_building.bl_idname, icon="HOME")
        _draw_openings(self.layout)
        ours = context.scene.stowfold
        column = self.layout.column()
        column.use_property_split = True
        column.use_property_decorate = False
        column.prop(ours, "square")
        _draw_scale(column, context)
        column.row().prop(ours, "face", expand=True)
        column.separator()
        column.prop(ours, "play_mat")
        floor = column.column()
        floor.active = not ours.play_mat
        floor.prop(ours, "rim")
        floor.prop(ours, "engrave_grid")
        # what follows the selection stands last, so that a click in the view moves nothing else
        _draw_selected(self.layout, context)


def _draw_selected(layout: UILayout, context: bpy.types.Context) -> None:
    """Draw what the selected object is to the building."""
    target = context.object
    if target is None or target.type != "MESH":
        text = "Model the walls as a mesh, one face per wall, or add a building; then select it here."
        paragraph(layout, context, text, icon="INFO")
        return
    if not stands_beside(target):
        layout.prop(target.stowfold, "is_block_out", text=f"{target.name} Is the Building", toggle=True, icon="HOME")
    if target.stowfold.building.was_added:
        box = layout.box()
        # above its fields, some of which come and go
        box.operator(STOWFOLD_OT_rebuild_building.bl_idname, icon="FILE_REFRESH")
        draw_fields(box, target.stowfold.building, lambda column, text: paragraph(column, context, text, beside=4))
    if target.stowfold.opening.is_opening:
        _draw_opening(layout.box(), target)


def _draw_scale(layout: UILayout, context: bpy.types.Context) -> None:
    row = layout.row()
    row.active = False
    row.label(text=scale_words(context.scene))
    advice = scale_advice(context.scene)
    if advice:
        paragraph(layout, context, advice, icon="INFO")


def _draw_openings(layout: UILayout) -> None:
    column = layout.column(align=True)
    column.label(text="Add to a Wall")
    grid = column.grid_flow(row_major=True, columns=2, even_columns=True, align=True)
    for name, label, _, icon, _ in KINDS:
        grid.operator(STOWFOLD_OT_add_opening.bl_idname, text=label, icon=icon).kind = name


def _draw_opening(layout: UILayout, target: bpy.types.Object) -> None:
    fields = target.stowfold.opening
    column = layout.column()
    column.use_property_split = True
    column.use_property_decorate = False
    column.prop(fields, "kind")
    sizes = column.column(align=True)
    for name in ("width", "height") if fields.kind in {"DOOR", "ARCH"} else ("width", "height", "sill"):
        sizes.prop(fields, name)
    if fields.kind != "ARCH":
        column.prop(fields, "leaf")
        if fields.leaf != "NONE":
            column.prop(fields, "swing")
            column.prop(fields, "inward")
    row = layout.row(align=True)
    row.operator(STOWFOLD_OT_move_opening.bl_idname, text="Move", icon="EMPTY_ARROWS")
    row.operator(STOWFOLD_OT_snap_openings.bl_idname, text="Snap", icon="SNAP_ON")


CLASSES = (STOWFOLD_PT_plot,)
