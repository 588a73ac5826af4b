"""The step of bends: what edges become, where walls part, and the joiners."""

from __future__ import annotations

import bpy
from bpy.types import Panel

from ..window.editing import draw_edit_button
from ..window.step import ChosenStep, Step
from ..window.words import beside, draw_setting, paragraph, still_paragraph
from .operators.propose import STOWFOLD_OT_mark_proposal
from .operators.roles import ROLES, STOWFOLD_OT_mark_edges, STOWFOLD_OT_select_role

ROLE_ICONS = {"FLEX": "MOD_SIMPLEDEFORM", "BREAK": "UNLINKED", "CLOSURE": "SNAP_EDGE", "PLAIN": "X"}

#: Letters that a button beside a sentence takes.
_BESIDE = 4

#: What a proposal mostly marks.
_SHOWN = {"NET": "FLEX", "BREAKS": "BREAK"}


class STOWFOLD_PT_bends(ChosenStep, Panel):
    """What edges become, and what is proposed for those left open."""

    bl_idname = "STOWFOLD_PT_bends"
    bl_label = "Bends"
    step = "BENDS"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        edited = context.mode == "EDIT_MESH"
        row = layout.row(align=True)
        text = "Select edges, then say what they become." if edited else "In Edit Mode you say what edges become."
        still_paragraph(row, context, text, lines=2, beside=_BESIDE)
        draw_edit_button(row, context)
        grid = layout.column(align=True)
        for name, label, _, _ in ROLES:
            row = grid.row(align=True)
            row.operator(STOWFOLD_OT_mark_edges.bl_idname, text=label, icon=ROLE_ICONS[name]).role = name
            if name != "PLAIN":
                row.operator(STOWFOLD_OT_select_role.bl_idname, text="", icon="RESTRICT_SELECT_OFF").role = name
        row = beside(layout, context)
        for what, label in (("NET", "Propose Bends"), ("BREAKS", "Propose Breaks")):
            row.operator(STOWFOLD_OT_mark_proposal.bl_idname, text=label, icon=ROLE_ICONS[_SHOWN[what]]).what = what
        layout.prop(context.window_manager.stowfold, "show_roles")
        column = self.settings_layout()
        ours = context.scene.stowfold
        column.prop(ours, "inside_radius")
        draw_setting(column, ours, "closure")
        if ours.closure == "MAGNETS":
            paragraph(layout, context, "Swallowed magnets can kill: keep them from children.", icon="ERROR")


class STOWFOLD_PT_unmarked(Step, Panel):
    """What is filled in where no edge is marked, grain, and what closes."""

    bl_idname = "STOWFOLD_PT_unmarked"
    bl_label = "Grain, Glue, Magnets"
    bl_parent_id = "STOWFOLD_PT_bends"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        ours = context.scene.stowfold
        draw_setting(column, ours, "propose")
        column.prop(ours, "along_grain")
        joiners = column.column()
        joiners.enabled = ours.along_grain
        joiners.prop(ours, "grain_joiners")
        column.prop(ours, "glue_strips")
        column.prop(ours, "caps")
        magnets = column.column()
        magnets.enabled = ours.closure == "MAGNETS"
        for name in ("magnet_diameter", "magnet_thickness", "magnet_cover", "magnet_field", "magnet_pull"):
            magnets.prop(ours, name)


class STOWFOLD_PT_joiners(Step, Panel):
    """Sizes of joiners."""

    bl_idname = "STOWFOLD_PT_joiners"
    bl_label = "Joiners"
    bl_parent_id = "STOWFOLD_PT_bends"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        joiner = context.scene.stowfold.joiner
        for name in ("core_width", "cheek_width", "gap", "margin", "slide", "paint", "painted_faces", "peg"):
            column.prop(joiner, name)


CLASSES = (STOWFOLD_PT_bends, STOWFOLD_PT_unmarked, STOWFOLD_PT_joiners)
