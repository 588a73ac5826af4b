"""The first step: squares, walls, roof and openings."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UILayout

from ..host.reading import stands_beside
from ..host.scale import scale_advice, scale_words
from ..host.upstands import is_upstand
from ..window.step import Step
from ..window.words import paragraph
from .opening_fields import KINDS
from .operators.building import STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building, draw_fields
from .operators.openings import STOWFOLD_OT_add_opening, STOWFOLD_OT_move_opening, STOWFOLD_OT_snap_openings
from .operators.upstands import STOWFOLD_OT_add_upstand, STOWFOLD_OT_snap_upstands
from .upstand_fields import KINDS as UPSTANDS


class STOWFOLD_PT_plot(Step, Panel):
    """The building on the squares, and openings to add."""

    bl_idname = "STOWFOLD_PT_plot"
    bl_label = "Plot"

    def draw(self, context: bpy.types.Context) -> None:
        row = self.layout.row()
        row.scale_y = 1.4
        row.operator(STOWFOLD_OT_add_building.bl_idname, icon="HOME")
        _draw_openings(self.layout)
        _draw_upstands(self.layout)
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
        _draw_building(self.layout, context)
        if any(target.stowfold.opening.is_opening for target in context.scene.objects):
            _draw_opening(self.layout.box().column(), context.object)
        if any(is_upstand(target) for target in context.scene.objects):
            _draw_upstand(self.layout.box().column(), context.object)


def _draw_building(layout: UILayout, context: bpy.types.Context) -> None:
    """Draw the active building, else the first one: what is below must not move when something else is selected."""
    target = context.object
    if target is None or target.type != "MESH" or stands_beside(target):
        marked = (
            candidate
            for candidate in context.scene.objects
            if candidate.type == "MESH" and candidate.stowfold.is_block_out
        )
        target = next(marked, None)
    if target is None:
        text = "Model the walls as a mesh, one face per wall, or add a building; then select it here."
        paragraph(layout, context, text, icon="INFO")
        return
    layout.prop(target.stowfold, "is_block_out", text=f"{target.name} Is the Building", toggle=True, icon="HOME")
    if target.stowfold.building.was_added:
        box = layout.box()
        # above its fields, some of which come and go
        box.operator(STOWFOLD_OT_rebuild_building.bl_idname, icon="FILE_REFRESH")
        draw_fields(box, target.stowfold.building, lambda column, text: paragraph(column, context, text, beside=4))


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


def _draw_upstands(layout: UILayout) -> None:
    column = layout.column(align=True)
    column.label(text="Add to the Roof")
    row = column.row(align=True)
    for name, label, _, icon, _ in UPSTANDS:
        row.operator(STOWFOLD_OT_add_upstand.bl_idname, text=label, icon=icon).kind = name


def _draw_upstand(column: UILayout, target: bpy.types.Object | None) -> None:
    """Draw the fields of the active dormer or chimney; what does not count is grey, so that all are equally high."""
    if target is None or not is_upstand(target):
        column.label(text="Select a dormer or chimney", icon="INFO")
        for _ in _UPSTAND:
            column.label(text="")
        return
    fields = target.stowfold.upstand
    column.operator(STOWFOLD_OT_snap_upstands.bl_idname, icon="SNAP_ON")
    column.use_property_split = True
    column.use_property_decorate = False
    counts = {"depth": fields.kind == "CHIMNEY", "pitch": fields.kind == "DORMER"}
    for name in _UPSTAND:
        field = column.row()
        field.enabled = counts.get(name, True)
        field.prop(fields, name)


def _draw_opening(column: UILayout, target: bpy.types.Object | None) -> None:
    """Draw the fields of the active opening; what does not count is grey, so that all are equally high."""
    if target is None or not target.stowfold.opening.is_opening:
        column.label(text="Select an opening", icon="INFO")
        for _ in range(_OPENING_ROWS - 1):
            column.label(text="")
        return
    fields = target.stowfold.opening
    row = column.row(align=True)
    row.operator(STOWFOLD_OT_move_opening.bl_idname, text="Move", icon="EMPTY_ARROWS")
    row.operator(STOWFOLD_OT_snap_openings.bl_idname, text="Snap", icon="SNAP_ON")
    column.use_property_split = True
    column.use_property_decorate = False
    leaf = fields.kind != "ARCH"
    counts = {"sill": fields.kind not in {"DOOR", "ARCH"}, "leaf": leaf}
    counts |= dict.fromkeys(("swing", "inward"), leaf and fields.leaf != "NONE")
    for name in _OPENING:
        field = column.row()
        field.enabled = counts.get(name, True)
        field.prop(fields, name)


#: Fields of a dormer or chimney.
_UPSTAND = ("width", "height", "depth", "pitch")

#: Fields of an opening, and how many rows they and their buttons take.
_OPENING = ("kind", "width", "height", "sill", "leaf", "swing", "inward")
_OPENING_ROWS = 1 + len(_OPENING)


CLASSES = (STOWFOLD_PT_plot,)
