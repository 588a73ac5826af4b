"""The last step: the cut files; the sheets that go into them are told of below."""

from __future__ import annotations

import importlib.util
from functools import cache

import bpy
from bpy.types import Panel, UILayout

from ..jobs import results
from ..window import words
from ..window.step import ChosenStep, Step
from ..window.words import draw_setting, paragraph, still_paragraph
from . import delivery
from .operators.export import STOWFOLD_OT_export, STOWFOLD_OT_open_folder, STOWFOLD_OT_open_guide
from .operators.floor import STOWFOLD_OT_cut_floor_again
from .operators.look_at import STOWFOLD_OT_frame_building, STOWFOLD_OT_frame_sheets

#: The longest of the sentences about the last check takes so many lines in the sidebar as the host opens it.
_STATE_LINES = 2


class STOWFOLD_PT_cut(ChosenStep, Panel):
    """The export, and the way to what it wrote."""

    bl_idname = "STOWFOLD_PT_cut"
    bl_label = "Cut"
    step = "CUT"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        row = layout.row(align=True)
        if not words.is_narrow(context):
            row.label(text="Look At")
        row.operator(STOWFOLD_OT_frame_sheets.bl_idname, text="Sheets", icon="MESH_GRID")
        row.operator(STOWFOLD_OT_frame_building.bl_idname, text="Building", icon="HOME")
        view = context.window_manager.stowfold
        row.prop(view, "show_sheets", text="", icon="HIDE_OFF" if view.show_sheets else "HIDE_ON")
        row = words.beside(layout, context)
        # the button of what comes next exports the sheets that hold, and opens the guide afterwards
        if not _is_ready(context):
            export = row.row(align=True)
            export.enabled = not _errors(context)
            export.operator(STOWFOLD_OT_export.bl_idname, text="Export", icon="EXPORT")
        elif delivery.last() is not None:
            row.operator(STOWFOLD_OT_export.bl_idname, text="Export Again", icon="EXPORT")
        if not _is_ready(context) or delivery.last() is None:
            row.operator(STOWFOLD_OT_open_guide.bl_idname, text="Guide", icon="HELP")
        row.operator(STOWFOLD_OT_open_folder.bl_idname, text="Folder", icon="FILE_FOLDER")
        _draw_state(layout, context)
        paragraph(
            layout,
            context,
            "Never leave a running laser alone; extraction on; cut only boards that you can name. "
            "Your machine's manual comes first.",
            icon="ERROR",
        )


class STOWFOLD_PT_wishes(Step, Panel):
    """What else is cut or written, and the floor alone again."""

    bl_idname = "STOWFOLD_PT_wishes"
    bl_label = "Case, Paper, Floor Again"
    bl_parent_id = "STOWFOLD_PT_cut"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout, ours = self.layout, context.scene.stowfold
        column = self.settings_layout()
        column.prop(ours, "carrying_case")
        draw_setting(column, ours, "paper")
        longer = column.row()
        longer.active = _can_look_longer()
        longer.prop(ours, "look_longer")
        floor = layout.row()
        floor.enabled = not ours.play_mat
        floor.operator(STOWFOLD_OT_cut_floor_again.bl_idname, icon="ARROW_LEFTRIGHT")


def _errors(context: bpy.types.Context) -> int:
    """Return how many errors of a check that still holds keep the sheets back."""
    report = results.shown(context)
    return 0 if report is None or report.stale else len(results.errors_in(report))


def _draw_state(layout: UILayout, context: bpy.types.Context) -> None:
    """Draw whether sheets will be written; always of the same height."""
    report = results.shown(context)
    errors = results.errors_in(report) if report is not None else ()
    if report is None:
        text, icon = "Not checked yet; the export checks first.", "INFO"
    elif report.outcome is None:
        text, icon = "Nothing can be cut; Proof says why.", "CANCEL"
    elif errors:
        number = f"{len(errors)} error{'' if len(errors) == 1 else 's'}"
        text, icon = f"{number} at the last check: no sheets are written.", "CANCEL"
    elif report.stale:
        text, icon = "Changed since the last check; the export checks again.", "TIME"
    else:
        sheets = len(report.outcome.layout.sheets)
        text, icon = f"Last check: {sheets} sheet{'' if sheets == 1 else 's'}, no errors.", "CHECKMARK"
    box = layout.column(align=True)
    box.alert = icon == "CANCEL"
    still_paragraph(box, context, text, lines=_STATE_LINES, icon=icon)


def _is_ready(context: bpy.types.Context) -> bool:
    """Return whether sheets of the model as it is now can be written."""
    report, laid = results.shown(context), results.laid_out(context)
    if report is None or laid is None or results.state(context) is not results.State.CURRENT:
        return False
    return bool(laid[0].layout.sheets) and not results.errors_in(report)


@cache
def _can_look_longer() -> bool:
    """Return whether the packer is there that looks longer: the extension brings it, a bare copy of us may not."""
    return importlib.util.find_spec("spyrrow") is not None


CLASSES = (STOWFOLD_PT_cut, STOWFOLD_PT_wishes)
