"""The panel of the building as it will stand: the fold slider and what goes with it."""

from __future__ import annotations

import bpy
from bpy.types import Panel

from ..jobs import results
from ..window.step import Step
from .operators.fold import PLACES, STOWFOLD_OT_animate_folding, STOWFOLD_OT_fold_to


class STOWFOLD_PT_stand(Step, Panel):
    """The building as it will stand, from the sheets up and down into the box."""

    bl_idname = "STOWFOLD_PT_stand"
    bl_label = "As It Will Stand"
    bl_parent_id = "STOWFOLD_PT_proof"
    bl_options = {"DEFAULT_CLOSED"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        report = results.shown(context)
        return report is not None and report.outcome is not None and bool(report.outcome.parts)

    def draw_header(self, context: bpy.types.Context) -> None:
        self.layout.prop(context.scene.stowfold.stand, "show", text="")

    def draw(self, context: bpy.types.Context) -> None:
        stand = context.scene.stowfold.stand
        body = self.layout.column()
        body.active = stand.show
        body.prop(stand, "fold", slider=True)
        row = body.row(align=True)
        for place, label, _, _ in PLACES:
            row.operator(STOWFOLD_OT_fold_to.bl_idname, text=label).place = place
        report = results.shown(context)
        if report is not None and report.outcome is not None and _has_leaves(report.outcome.parts):
            body.prop(stand, "opened", slider=True)
        body.operator(STOWFOLD_OT_animate_folding.bl_idname, icon="RENDER_ANIMATION")


def _has_leaves(parts: tuple) -> bool:
    return any(placed.swing for part in parts for placed in part.lattices)


CLASSES = (STOWFOLD_PT_stand,)
