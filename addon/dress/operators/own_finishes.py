"""Own finishes: kept beside the maker's boards and lasers, put on in any project, and forgotten again."""

from __future__ import annotations

import bpy
from bpy.props import StringProperty
from bpy.types import Context, Menu, Operator, UILayout

from ...host import finish_library
from ...host.finishes import is_finish
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn
from ...window.asking import AsksFirst


def _active(context: Context) -> bpy.types.Material | None:
    return context.object.active_material if context.object is not None else None


class STOWFOLD_OT_keep_finish(Operator):
    """Keep the active finish beside your boards and lasers, under the name of its material, for other projects"""

    bl_idname = "stowfold.keep_finish"
    bl_label = "Keep As My Finish"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, is_finish(_active(context)), "Choose a material with a pattern first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        finish = finish_library.saved_from(_active(context))
        finish_library.keep(finish)
        self.report({"INFO"}, f"'{finish.name}' is kept; other projects find it under My Finishes")
        return {"FINISHED"}


class STOWFOLD_OT_add_own_finish(Operator):
    """Give the selected object one of your own finishes as a material, on all faces where it had none"""

    bl_idname = "stowfold.add_own_finish"
    bl_label = "My Finishes"
    bl_options = {"REGISTER", "UNDO"}

    finish: StringProperty(name="Finish", options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: Context) -> bool:
        target = context.object
        if not needs(cls, target is not None and target.type == "MESH", "Select the building first"):
            return False
        return needs(cls, bool(finish_library.own_finishes()), "No finish is kept yet; keep one with the button beside")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        finish = finish_library.own_finishes().get(self.finish)
        if finish is None:
            return warn(self, "That finish is not kept any more; choose another one")
        target = context.object
        material = bpy.data.materials.new(finish.name)
        finish_library.put_into(material, finish)
        target.data.materials.append(material)
        target.active_material_index = len(target.data.materials) - 1
        results.suspect_all()
        self.report({"INFO"}, f"{material.name} added; put it on faces in Edit Mode")
        return {"FINISHED"}


class STOWFOLD_OT_forget_finish(AsksFirst, Operator):
    """Take a finish out of your list; materials that were made of it stay"""

    bl_idname = "stowfold.forget_finish"
    bl_label = "Forget My Finish"
    asked_title = "Forget this finish?"
    asked_button = "Forget"

    name: StringProperty(name="Finish", options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: Context) -> bool:
        active = _active(context)
        kept = active is not None and active.name in finish_library.own_finishes()
        return needs(cls, kept, "The active material is none of your kept finishes")

    def question(self, context: Context) -> str:
        """Return what is lost."""
        return f"'{self._chosen(context)}' leaves your list; no undo brings it back."

    def _chosen(self, context: Context) -> str:
        active = _active(context)
        return self.name or ("" if active is None else active.name)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        name = self._chosen(context)
        finish_library.remove(name)
        self.report({"INFO"}, f"'{name}' is forgotten")
        return {"FINISHED"}


def draw_own_finishes(layout: UILayout) -> None:
    """Draw a button for every finish that is kept; a grey one without any."""
    for name in finish_library.own_finishes() or ("",):
        button = layout.operator(STOWFOLD_OT_add_own_finish.bl_idname, text=name or "My Finishes: None Kept")
        button.finish = name


class STOWFOLD_MT_own_finishes(Menu):
    """Finishes that you keep beside your boards and lasers"""

    bl_idname = "STOWFOLD_MT_own_finishes"
    bl_label = "My Finishes"

    def draw(self, _context: Context) -> None:
        draw_own_finishes(self.layout)


CLASSES = (STOWFOLD_MT_own_finishes, STOWFOLD_OT_keep_finish, STOWFOLD_OT_add_own_finish, STOWFOLD_OT_forget_finish)
