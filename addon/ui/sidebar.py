"""The sidebar: one tab with the steps in working order. Panels only show; nothing here computes."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UILayout

from .. import results
from ..geometry.findings import Severity
from ..operators.building import STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building, draw_fields
from ..operators.export import STOWFOLD_OT_export
from ..operators.find import STOWFOLD_OT_show_finding
from ..operators.roles import ROLES, STOWFOLD_OT_mark_edges, STOWFOLD_OT_select_role
from ..operators.run import STOWFOLD_OT_check
from ..operators.scene import STOWFOLD_OT_set_up_scene
from ..operators.stocks import STOWFOLD_OT_forget_measured, STOWFOLD_OT_measure_stock
from ..properties import STOCKS
from .words import paragraph

_ROLE_ICONS = {"FLEX": "MOD_SIMPLEDEFORM", "BREAK": "UNLINKED", "CLOSURE": "SNAP_EDGE", "PLAIN": "X"}
_SEVERITY_ICONS = {Severity.ERROR: "CANCEL", Severity.WARNING: "ERROR", Severity.NOTE: "INFO"}
_KINDS = (("walls", "Walls"), ("roof", "Roof"), ("floor", "Floor"), ("joiners", "Joiners"))

#: More findings than this are counted, not listed.
_LISTED = 40


class _Step:
    """What all panels of the tab share."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Stowfold"

    layout: UILayout

    def settings_layout(self) -> UILayout:
        layout = self.layout
        layout.use_property_split = True
        layout.use_property_decorate = False
        return layout.column()


class STOWFOLD_PT_plot(_Step, Panel):
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


class STOWFOLD_PT_bends(_Step, Panel):
    bl_idname = "STOWFOLD_PT_bends"
    bl_label = "Bends"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        if context.mode != "EDIT_MESH":
            paragraph(layout, context, "Enter Edit Mode and select edges to say what they become.", icon="EDITMODE_HLT")
        grid = layout.column(align=True)
        for name, label, _, _ in ROLES:
            row = grid.row(align=True)
            row.operator(STOWFOLD_OT_mark_edges.bl_idname, text=label, icon=_ROLE_ICONS[name]).role = name
            if name != "PLAIN":
                row.operator(STOWFOLD_OT_select_role.bl_idname, text="", icon="RESTRICT_SELECT_OFF").role = name
        layout.prop(context.window_manager.stowfold, "show_roles")
        column = self.settings_layout()
        ours = context.scene.stowfold
        column.prop(ours, "propose")
        column.prop(ours, "inside_radius")


class STOWFOLD_PT_joiners(_Step, Panel):
    bl_idname = "STOWFOLD_PT_joiners"
    bl_label = "Joiners"
    bl_parent_id = "STOWFOLD_PT_bends"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        joiner = context.scene.stowfold.joiner
        for name in ("core_width", "cheek_width", "gap", "margin", "slide", "paint", "painted_faces"):
            column.prop(joiner, name)


class STOWFOLD_PT_stock(_Step, Panel):
    bl_idname = "STOWFOLD_PT_stock"
    bl_label = "Stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        ours = context.scene.stowfold
        column = self.settings_layout()
        for kind, label in _KINDS:
            column.prop(ours.stocks, kind, text=label)
        for name in dict.fromkeys(getattr(ours.stocks, kind) for kind, _ in _KINDS):
            _draw_stock(self.layout, context, name)


def _draw_stock(layout: UILayout, context: bpy.types.Context, name: str) -> None:
    box = layout.box()
    measured = context.scene.stowfold.measured
    stock = STOCKS.get(name)
    if stock is None:
        paragraph(box, context, "This board is no longer known; choose another one.", icon="CANCEL")
        return
    row = box.row()
    row.label(text=stock.label)
    index = measured.find(name)
    if index < 0:
        row.operator(STOWFOLD_OT_measure_stock.bl_idname, text="", icon="GREASEPENCIL").stock = name
        box.label(text=f"{stock.thickness:g} mm, kerf {stock.kerf:g} mm: catalogue values")
        return
    row.operator(STOWFOLD_OT_forget_measured.bl_idname, text="", icon="LOOP_BACK").stock = name
    column = box.column()
    column.use_property_split = True
    column.use_property_decorate = False
    column.prop(measured[index], "thickness")
    column.prop(measured[index], "kerf")


class STOWFOLD_PT_laser(_Step, Panel):
    bl_idname = "STOWFOLD_PT_laser"
    bl_label = "Laser"
    bl_parent_id = "STOWFOLD_PT_stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        for name in ("bed_width", "bed_depth", "margin", "spacing"):
            column.prop(context.scene.stowfold.laser, name)


class STOWFOLD_PT_proof(_Step, Panel):
    bl_idname = "STOWFOLD_PT_proof"
    bl_label = "Proof"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        report = results.shown(context)
        row = layout.row()
        row.scale_y = 1.4
        row.operator(STOWFOLD_OT_check.bl_idname, icon="FILE_REFRESH" if report is not None else "VIEWZOOM")
        if report is None:
            paragraph(
                layout,
                context,
                "Not checked yet. The parts are folded back by arithmetic and laid against the model.",
                icon="INFO",
            )
            return
        if report.stale:
            paragraph(layout, context, "The model or the settings have changed since; check again.", icon="TIME")
        if report.outcome is None:
            box = layout.box()
            box.alert = True
            paragraph(box, context, report.failure or "Nothing could be made.", icon="CANCEL")
            return
        body = layout.column()
        body.active = not report.stale
        body.prop(context.window_manager.stowfold, "show_parts")
        proof = report.outcome.proof
        paragraph(
            body,
            context,
            "The flat parts fold back into the model."
            if proof.holds
            else "The flat parts do not fold back into the model.",
            icon="CHECKMARK" if proof.holds else "CANCEL",
        )
        _draw_findings(body, context, report.outcome.findings)


def _draw_findings(layout: UILayout, context: bpy.types.Context, findings: tuple) -> None:
    if not findings:
        layout.label(text="No findings", icon="CHECKMARK")
        return
    counts = [
        f"{number} {level.value}{'s' if number != 1 else ''}"
        for level in Severity
        if (number := sum(each.severity is level for each in findings))
    ]
    layout.label(text=", ".join(counts))
    for index, finding in enumerate(findings[:_LISTED]):
        box = layout.box()
        row = box.row(align=False)
        text = row.column()
        text.alert = finding.severity is Severity.ERROR
        paragraph(text, context, finding.message, icon=_SEVERITY_ICONS[finding.severity], beside=6)
        where = finding.where
        if where.faces or where.edges or where.part or where.point:
            row.operator(STOWFOLD_OT_show_finding.bl_idname, text="", icon="VIEWZOOM", emboss=False).index = index
    if len(findings) > _LISTED:
        layout.label(text=f"{len(findings) - _LISTED} more: see the guide")


class STOWFOLD_PT_numbers(_Step, Panel):
    bl_idname = "STOWFOLD_PT_numbers"
    bl_label = "How Far Off"
    bl_parent_id = "STOWFOLD_PT_proof"
    bl_options = {"DEFAULT_CLOSED"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        report = results.shown(context)
        return report is not None and report.outcome is not None

    def draw(self, context: bpy.types.Context) -> None:
        report = results.shown(context)
        if report is None or report.outcome is None:
            return
        proof = report.outcome.proof
        lines = (
            ("Corners", proof.corner_distance),
            ("Wall rings", proof.loop_gap),
            ("Tabs", proof.tab_slot_distance),
            ("Joiners", proof.joiner_distance),
            ("Parted edges", proof.closure_distance),
            ("Boards crossing", proof.board_overlap),
            ("Reading noise", proof.reading_noise),
        )
        grid = self.layout.grid_flow(row_major=True, columns=2, even_columns=False, align=True)
        for label, value in lines:
            if value is not None:
                grid.label(text=label)
                grid.label(text=f"{value:.1e} mm")
        stow = report.outcome.stow
        grid.label(text="Stack")
        grid.label(text=f"{stow.stack_height:.0f} mm high")
        grid.label(text="Box")
        grid.label(text=" × ".join(f"{side:.0f}" for side in stow.box) + " mm")


class STOWFOLD_PT_cut(_Step, Panel):
    bl_idname = "STOWFOLD_PT_cut"
    bl_label = "Cut"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        report = results.shown(context)
        outcome = report.outcome if report is not None else None
        if outcome is not None:
            column = layout.column(align=True)
            column.active = not (report is not None and report.stale)
            for number, sheet in enumerate(outcome.layout.sheets, start=1):
                board = STOCKS[sheet.stock].label if sheet.stock in STOCKS else sheet.stock
                column.label(text=f"{number}: {board}, {sheet.used_share:.0%}", icon="FILE")
            if not outcome.layout.sheets:
                column.label(text="No sheet could be laid out", icon="CANCEL")
            column.label(text=f"About {outcome.seconds.get('total', 0.0) / 60:.0f} min of laser time", icon="TIME")
        row = layout.row()
        row.scale_y = 1.4
        row.operator(STOWFOLD_OT_export.bl_idname, icon="EXPORT")
        paragraph(
            layout,
            context,
            "Never leave a running laser alone; extraction on; cut only boards that you can name. "
            "Your machine's manual comes first.",
            icon="ERROR",
        )


CLASSES = (
    STOWFOLD_PT_plot,
    STOWFOLD_PT_bends,
    STOWFOLD_PT_joiners,
    STOWFOLD_PT_stock,
    STOWFOLD_PT_laser,
    STOWFOLD_PT_proof,
    STOWFOLD_PT_numbers,
    STOWFOLD_PT_cut,
)
