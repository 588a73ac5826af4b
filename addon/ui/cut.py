"""The last step: the cut files; the sheets that go into them are told of below."""

from __future__ import annotations

import importlib.util
from functools import cache

import bpy
from bpy.types import Panel

from ..operators.export import STOWFOLD_OT_export
from ..operators.floor import STOWFOLD_OT_cut_floor_again
from .running import draw_running
from .step import Step
from .words import paragraph


class STOWFOLD_PT_cut(Step, Panel):
    bl_idname = "STOWFOLD_PT_cut"
    bl_label = "Cut"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.prop(context.scene.stowfold, "carrying_case")
        longer = layout.row()
        longer.active = _can_look_longer()
        longer.prop(context.scene.stowfold, "look_longer")
        if not draw_running(layout):
            row = layout.row()
            row.scale_y = 1.4
            row.operator(STOWFOLD_OT_export.bl_idname, icon="EXPORT")
        if not context.scene.stowfold.play_mat:
            layout.operator(STOWFOLD_OT_cut_floor_again.bl_idname, icon="ARROW_LEFTRIGHT")
        paragraph(
            layout,
            context,
            "Never leave a running laser alone; extraction on; cut only boards that you can name. "
            "Your machine's manual comes first.",
            icon="ERROR",
        )


@cache
def _can_look_longer() -> bool:
    """Return whether the packer is there that looks longer: the extension brings it, a bare copy of us may not."""
    return importlib.util.find_spec("spyrrow") is not None


CLASSES = (STOWFOLD_PT_cut,)
