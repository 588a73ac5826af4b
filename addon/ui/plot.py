"""The first step: squares, walls, roof and openings."""

from __future__ import annotations

import bpy
from bpy.types import Panel

from ..operators.building import STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building, draw_fields
from ..operators.scene import STOWFOLD_OT_set_up_scene
from .step import Step
from .words import paragraph


class STOWFOLD_PT_plot(Step, Panel):
    bl_idname = "STOWFOLD_PT_plot"
    bl_label = "Plot"

    def draw(self, context: bpy.types.Context) -> None:
        target = context.object
        self.layout.operator(STOWFOLD_OT_set_up_scene.bl_idname, icon="GRID")
        if not any(each.type == "MESH" and each.stowfold.is_block_out for each in context.scene.objects):
            row = self.layout.row()
            row.scale_y = 1.4
            row.operator(STOWFOLD_OT_add_building.bl_idname, icon="HOME")
        if target is None or target.type != "MESH":
            paragraph(
                self.layout,
                context,
                "Model the walls as a mesh, one face per wall, or add a building; then select it here.",
                icon="INFO",
            )
        else:
            self.layout.prop(
                target.stowfold, "is_block_out", text=f"{target.name} Is the Building", toggle=True, icon="HOME"
            )
            if target.stowfold.building.was_added:
                box = self.layout.box()
                draw_fields(box, target.stowfold.building)
                box.operator(STOWFOLD_OT_rebuild_building.bl_idname, icon="FILE_REFRESH")
        column = self.settings_layout()
        ours = context.scene.stowfold
        column.prop(ours, "square")
        column.row().prop(ours, "face", expand=True)
        column.separator()
        column.prop(ours, "play_mat")
        floor = column.column()
        floor.active = not ours.play_mat
        floor.prop(ours, "rim")
        floor.prop(ours, "engrave_grid")


CLASSES = (STOWFOLD_PT_plot,)
