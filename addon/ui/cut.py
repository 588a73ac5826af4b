"""The last step: sheets, laser time, and the cut files."""

from __future__ import annotations

import bpy
from bpy.types import Panel

from .. import results
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
        report = results.shown(context)
        outcome = report.outcome if report is not None else None
        if outcome is not None:
            column = layout.column(align=True)
            column.active = not (report is not None and report.stale)
            several = len({sheet.laser.name for sheet in outcome.layout.sheets}) > 1
            for number, sheet in enumerate(outcome.layout.sheets, start=1):
                on = f", {sheet.laser.label}" if several else ""
                column.label(text=f"{number}: {sheet.stock.label}, {sheet.used_share:.0%}{on}", icon="FILE")
            if not outcome.layout.sheets:
                column.label(text="No sheet could be laid out", icon="CANCEL")
            from ..geometry.sheet.cost import layout_cost

            cost, lacking = layout_cost(outcome.layout)
            if cost is not None:
                said = f", {' and '.join(lacking)} not counted" if lacking else ""
                column.label(text=f"Board: {cost:.2f}{said}", icon="TAG")
            column.label(text=f"About {outcome.seconds.get('total', 0.0) / 60:.0f} min of laser time", icon="TIME")
        layout.prop(context.scene.stowfold, "carrying_case")
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


CLASSES = (STOWFOLD_PT_cut,)
