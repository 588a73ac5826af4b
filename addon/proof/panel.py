"""The step of the proof: does it fold back, and what should the maker know."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UILayout

from ..geometry.findings import Severity
from ..jobs import results
from ..window.running import draw_starter
from ..window.step import ChosenStep, Step
from ..window.words import paragraph, still_paragraph
from .operators.find import STOWFOLD_OT_show_finding
from .operators.run import STOWFOLD_OT_check

_SEVERITY_ICONS = {Severity.ERROR: "CANCEL", Severity.WARNING: "ERROR", Severity.NOTE: "INFO"}

#: What is said of how the report stands to the model, and its icon.
_STATES = {
    results.State.NONE: ("Not checked.", "INFO"),
    results.State.CHECKING: ("Checking.", "SORTTIME"),
    results.State.CURRENT: ("Checked as of now.", "CHECKMARK"),
    results.State.STALE: ("Out of date: the model or the settings have changed; check again.", "TIME"),
}

#: More findings than this are counted, not listed.
_LISTED = 40


class STOWFOLD_PT_proof(ChosenStep, Panel):
    """The check, whether the parts fold back, and the findings."""

    bl_idname = "STOWFOLD_PT_proof"
    bl_label = "Proof"
    step = "PROOF"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        report = results.shown(context)
        again = "FILE_REFRESH" if report is not None else "VIEWZOOM"
        draw_starter(layout, STOWFOLD_OT_check.bl_idname, icon=again)
        if report is None:
            paragraph(
                layout,
                context,
                "Not checked yet. The parts are folded back by arithmetic and laid against the model.",
                icon="INFO",
            )
            return
        text, icon = _STATES[results.state(context)]
        still_paragraph(layout, context, text, lines=2, icon=icon)
        if report.outcome is None:
            box = layout.box()
            box.alert = True
            paragraph(box, context, report.failure or "Nothing could be made.", icon="CANCEL")
            return
        body = layout.column()
        body.active = not report.stale
        toggles = body.row(align=True)
        toggles.prop(context.window_manager.stowfold, "show_parts", toggle=True)
        toggles.prop(context.window_manager.stowfold, "show_findings", toggle=True)
        text, icon = _headline(report)
        paragraph(body, context, text, icon=icon)
        _draw_findings(body, context, report.outcome.findings)


def _headline(report: results.Report) -> tuple[str, str]:
    """Return what the check comes to, and its icon: errors weigh more than a proof that holds."""
    outcome, errors = report.outcome, len(results.errors_in(report))
    if outcome is None or not outcome.parts:
        return "No part could be made from the model.", "CANCEL"
    if not outcome.proof.holds:
        return "The flat parts do not fold back into the model.", "CANCEL"
    if errors:
        number = f"{errors} error{'' if errors == 1 else 's'}"
        return f"{number} to mend before sheets are cut, although the flat parts fold back into the model.", "CANCEL"
    return "The flat parts fold back into the model.", "CHECKMARK"


def _draw_findings(layout: UILayout, context: bpy.types.Context, findings: tuple) -> None:
    if not findings:
        layout.label(text="No findings", icon="CHECKMARK")
        return
    counts = [
        f"{number} {level.value}{'s' if number != 1 else ''}"
        for level in Severity
        if (number := sum(found.severity is level for found in findings))
    ]
    layout.label(text=", ".join(counts))
    for index, finding in enumerate(findings[:_LISTED]):
        box = layout.box()
        row = box.row(align=False)
        text = row.column()
        text.alert = finding.severity is Severity.ERROR
        paragraph(text, context, f"{index + 1}. {finding.message}", icon=_SEVERITY_ICONS[finding.severity], beside=6)
        where = finding.where
        if where.faces or where.edges or where.part or where.point:
            row.operator(STOWFOLD_OT_show_finding.bl_idname, text="", icon="VIEWZOOM", emboss=False).index = index
    if len(findings) > _LISTED:
        layout.label(text=f"{len(findings) - _LISTED} more: see the guide")


class STOWFOLD_PT_numbers(Step, Panel):
    """How far the folded parts lie off the model, mm, and the stack."""

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


CLASSES = (STOWFOLD_PT_proof, STOWFOLD_PT_numbers)
