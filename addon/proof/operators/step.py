"""Going to a step: what a button does that leads to another part of the sidebar."""

from __future__ import annotations

from bpy.props import EnumProperty
from bpy.types import Context, Operator

from ...window.step import STEPS


class STOWFOLD_OT_go_to_step(Operator):
    """Show this step in the sidebar, and in the view what belongs to it"""

    bl_idname = "stowfold.go_to_step"
    bl_label = "Go to Step"
    bl_options = {"INTERNAL"}

    step: EnumProperty(name="Step", items=STEPS)

    def execute(self, context: Context) -> set[str]:
        context.window_manager.stowfold.step = self.step
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_go_to_step,)
