"""Finishes in the sidebar: the materials of the building, and what the laser draws for the chosen one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
from bpy.types import Panel

from ..geometry.finish.check import CHAR
from ..geometry.finish.finish import burnt_share
from ..host import finish_library
from ..host.drawings import DRAWN
from ..host.finishes import finish_from, is_finish
from ..host.measuring import known_stocks
from ..jobs import results
from ..window.kept import Kept
from ..window.step import Step
from ..window.words import paragraph, still_paragraph
from .operators.drawings import STOWFOLD_OT_import_drawing, STOWFOLD_OT_lay_on_wall
from .operators.finishes import STOWFOLD_OT_add_finish
from .operators.own_finishes import STOWFOLD_MT_own_finishes, STOWFOLD_OT_forget_finish, STOWFOLD_OT_keep_finish

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

#: Rows of the list of materials, always as many.
_ROWS = 3

_times: Kept[Outcome, dict[str, float]] = Kept()

#: Seconds in a minute.
_MINUTE = 60.0


#: Colours of a finish beside its main one, and of boards: the switch, and the colour.
_COLOURS = (("use_units", "units_colour"), ("use_around", "around_colour"), ("use_lines", "lines_colour"))
_BOARDS = (("use_bare", "bare"), ("use_trim", "trim"), ("use_leaf", "leaf"))
_TILES = (("use_tile", "tile"), ("use_dark_tile", "dark_tile"))


def draw_choice(layout: bpy.types.UILayout, fields: bpy.types.PropertyGroup, used: str, colour: str) -> None:
    """Draw a colour with the switch that says whether it is used."""
    row = layout.row(align=True, heading=fields.bl_rna.properties[colour].name)
    row.prop(fields, used, text="")
    value = row.row()
    value.active = getattr(fields, used)
    value.prop(fields, colour, text="")


class STOWFOLD_PT_colours(Step, Panel):
    """Colours of boards that bear no finish, and what is done between two colours."""

    bl_idname = "STOWFOLD_PT_colours"
    bl_label = "Colours of Boards"
    bl_parent_id = "STOWFOLD_PT_bends"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        fields, column = context.scene.stowfold.paint, self.settings_layout()
        for used, colour in _BOARDS:
            draw_choice(column, fields, used, colour)
        if context.scene.stowfold.floor_tiles:
            for used, colour in _TILES:
                draw_choice(column, fields, used, colour)
        column.prop(fields, "score")


class STOWFOLD_PT_finish(Step, Panel):
    """What is drawn on faces: the building's materials with their patterns."""

    bl_idname = "STOWFOLD_PT_finish"
    bl_label = "Finish"
    bl_parent_id = "STOWFOLD_PT_bends"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout, target = self.layout, context.object
        layout.operator_menu_enum(STOWFOLD_OT_add_finish.bl_idname, "pattern", icon="ADD")
        own = layout.row(align=True)
        own.menu(STOWFOLD_MT_own_finishes.bl_idname)
        own.operator(STOWFOLD_OT_keep_finish.bl_idname, text="", icon="FILE_TICK")
        own.operator(STOWFOLD_OT_forget_finish.bl_idname, text="", icon="TRASH")
        row = layout.row(align=True)
        row.operator(STOWFOLD_OT_lay_on_wall.bl_idname, icon="SNAP_FACE")
        row.operator(STOWFOLD_OT_import_drawing.bl_idname, icon="CURVE_DATA")
        trouble = finish_library.trouble()
        if trouble is not None:
            paragraph(layout, context, trouble, icon="ERROR")
        if target is not None and target.type in DRAWN:
            column = self.settings_layout()
            column.prop(target.stowfold, "engraved")
            column.prop(target.stowfold, "engraved_way")
            spacing = column.row()
            spacing.active = target.stowfold.engraved_way == "FILL"
            spacing.prop(target.stowfold, "engraved_hatch")
        if target is None or target.type != "MESH":
            return
        layout.template_list(
            "MATERIAL_UL_matslots",
            "stowfold",
            target,
            "material_slots",
            target,
            "active_material_index",
            rows=_ROWS,
            maxrows=_ROWS,
        )
        row = layout.row(align=True)
        row.enabled = context.mode == "EDIT_MESH" and len(target.material_slots) > 0
        row.operator("object.material_slot_assign", text="Put on Selected Faces")
        row.operator("object.material_slot_select", text="", icon="RESTRICT_SELECT_OFF")
        ours = context.scene.stowfold
        layout.prop(ours, "inside_finish")
        layout.prop(ours, "floor_finish")
        floor = self.settings_layout()
        floor.active = ours.floor_finish is not None
        floor.prop(ours, "floor_tiles")
        boards = floor.column()
        boards.active = ours.floor_tiles
        boards.prop(ours.stocks, "light_tiles")
        boards.prop(ours.stocks, "dark_tiles")
        shown = layout.column(align=True)
        shown.prop(context.window_manager.stowfold, "show_finishes")
        shown.prop(ours.paint, "show")
        material = target.active_material
        if material is not None:
            _draw_fields(self, context, material)


def _draw_fields(panel: Step, context: bpy.types.Context, material: bpy.types.Material) -> None:
    """Draw the settings of a material, and what they come to."""
    column, fields = panel.settings_layout(), material.stowfold
    column.enabled = material.is_editable
    column.prop(fields, "pattern")
    drawn = column.column()
    drawn.enabled = is_finish(material)
    for name in ("scale", "size", "fine", "seed", "way", "hatch", "frames", "edge", "over_bends"):
        row = drawn.row()
        row.active = name != "hatch" or fields.way == "FILL"
        row.prop(fields, name)
    colours = column.column()
    colours.prop(fields, "colour")
    if is_finish(material):
        for used, colour in _COLOURS:
            draw_choice(colours, fields, used, colour)
    still_paragraph(panel.layout, context, _told(context, material), lines=2, icon="INFO")


def _told(context: bpy.types.Context, material: bpy.types.Material) -> str:
    """Return what a finish comes to: its units, how dark it is, and its time at the laser as of the last check."""
    if not is_finish(material):
        return "Paint alone: choose a pattern to have it engraved."
    board = known_stocks(context.scene).get(context.scene.stowfold.stocks.walls)
    kerf = 0.0 if board is None else board.kerf
    finish = finish_from(material, kerf=kerf)
    dark = burnt_share(finish, kerf + CHAR)
    told = f"Units of {finish.length:.1f} x {finish.height:.1f} mm; lines burn {dark:.0%} of the face"
    seconds = _seconds(context).get(material.name)
    return f"{told}." if seconds is None else f"{told}; {max(seconds / _MINUTE, 1.0):.0f} min at the laser."


def _seconds(context: bpy.types.Context) -> dict[str, float]:
    """Return the laser time of the finishes of the last check, s, by name."""
    from ..geometry.sheet.times import finish_seconds

    known = results.laid_out(context)
    if known is None:
        return {}
    outcome = known[0]
    return _times.get(outcome, lambda: finish_seconds(outcome.layout, outcome.parts))


CLASSES = (STOWFOLD_PT_finish, STOWFOLD_PT_colours)
