"""The step of the table."""

from __future__ import annotations

import bpy
from bpy.types import Panel

from ..operators.table import (
    STOWFOLD_OT_add_furniture,
    STOWFOLD_OT_add_miniature,
    STOWFOLD_OT_add_seat,
    STOWFOLD_OT_add_table,
    STOWFOLD_OT_propose_seats,
    STOWFOLD_OT_settle,
)
from .step import Step

#: What of an object's place is shown, by what it counts as.
FIELDS = {
    "TABLE": ("length", "depth", "table_height"),
    "SEAT": ("stature", "chair", "slump", "lean"),
    "MINIATURE": ("squares", "base", "height"),
    "FURNITURE": ("length", "depth", "height"),
}


class STOWFOLD_PT_table(Step, Panel):
    bl_idname = "STOWFOLD_PT_table"
    bl_label = "Table"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        grid = layout.column(align=True)
        row = grid.row(align=True)
        row.operator(STOWFOLD_OT_add_table.bl_idname, text="Table", icon="MESH_PLANE")
        row.operator(STOWFOLD_OT_propose_seats.bl_idname, text="Seats Round It", icon="COMMUNITY")
        row = grid.row(align=True)
        row.operator(STOWFOLD_OT_add_seat.bl_idname, text="Seat", icon="USER")
        row.operator(STOWFOLD_OT_add_miniature.bl_idname, text="Miniature", icon="MESH_CYLINDER")
        row.operator(STOWFOLD_OT_add_furniture.bl_idname, text="Furniture", icon="MESH_CUBE")
        target = context.object
        if target is not None and not target.stowfold.is_block_out and not target.stowfold.opening.is_opening:
            box = layout.box()
            column = box.column()
            column.use_property_split = True
            column.use_property_decorate = False
            place = target.stowfold.place
            column.label(text=target.name)
            column.prop(place, "kind")
            for name in FIELDS.get(place.kind, ()):
                column.prop(place, name)
            if place.kind in {"SEAT", "MINIATURE", "FURNITURE"}:
                column.operator(STOWFOLD_OT_settle.bl_idname, icon="SNAP_ON")


class STOWFOLD_PT_players(Step, Panel):
    bl_idname = "STOWFOLD_PT_players"
    bl_label = "Players"
    bl_parent_id = "STOWFOLD_PT_table"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        for name in ("sees", "reaches", "fits"):
            column.prop(context.scene.stowfold.table, name)


CLASSES = (STOWFOLD_PT_table, STOWFOLD_PT_players)
