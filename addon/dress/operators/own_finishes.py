"""Own finishes: kept beside the maker's boards and lasers, put on in any project, and forgotten again."""

from __future__ import annotations

import bpy
from bpy.props import EnumProperty, StringProperty
from bpy.types import Context, Operator, UILayout

from ...host import finish_library
from ...host.finishes import is_finish
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn
from ...window.asking import AsksFirst
from ..putting import FACES, KEPT, PLACES, dressed_object, put_on
from .finishes import can_dress


def _active(context: Context) -> bpy.types.Material | None:
    target = dressed_object(context)
    return target.active_material if target is not None else None


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
    """Put one of your own finishes on walls, roof, floor or room side, in Edit Mode on the selected faces"""

    bl_idname = "stowfold.add_own_finish"
    bl_label = "My Finishes"
    bl_options = {"REGISTER", "UNDO"}

    finish: StringProperty(name="Finish", options={"SKIP_SAVE"})
    on: EnumProperty(
        name="On", description="What gets it in Object Mode", items=(*FACES, *PLACES), options={"SKIP_SAVE"}
    )

    @classmethod
    def poll(cls, context: Context) -> bool:
        if not can_dress(cls, context):
            return False
        return needs(cls, bool(finish_library.own_finishes()), "No finish is kept yet; keep one with the button beside")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        finish = finish_library.own_finishes().get(self.finish)
        if finish is None:
            return warn(self, "That finish is not kept any more; choose another one")
        target, ours = dressed_object(context), context.scene.stowfold
        assert target is not None  # poll asked
        worn = [getattr(ours, KEPT[self.on])] if self.on in KEPT else target.data.materials
        known = finish_library.alike_among(worn, finish)
        material = known or bpy.data.materials.new(finish.name)
        if known is None:
            finish_library.put_into(material, finish)
        if self.on in KEPT:
            setattr(ours, KEPT[self.on], material)
        elif not put_on(target, material, self.on, finish.pattern):
            if known is None:
                bpy.data.materials.remove(material)
            return warn(self, "No face is selected; select the faces that get the finish first")
        results.suspect_all()
        self.report({"INFO"}, f"{material.name} put on")
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


def draw_own_finishes(layout: UILayout, on: str = "FITTING") -> None:
    """Draw a button for every finish that is kept; a grey one without any. on: which faces or which place get it."""
    for name in finish_library.own_finishes() or ("",):
        button = layout.operator(STOWFOLD_OT_add_own_finish.bl_idname, text=name or "My Finishes: None Kept")
        button.finish, button.on = name, on


CLASSES = (STOWFOLD_OT_keep_finish, STOWFOLD_OT_add_own_finish, STOWFOLD_OT_forget_finish)
