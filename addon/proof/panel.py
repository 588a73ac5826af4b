"""The step of the proof: does it fold back, and what should the maker know."""

from __future__ import annotations

from collections.abc import Sequence

import bpy
from bpy.types import Panel, UILayout

from ..geometry.finding_groups import Group
from ..geometry.findings import Severity
from ..jobs import results
from ..window import stood_in, words
from ..window.step import ChosenStep, Step
from ..window.words import paragraph, still_paragraph
from .as_saved import saved
from .lines import Line, is_accepted, lines_by_group, lines_of
from .operators.find import STOWFOLD_OT_show_finding
from .operators.mend import STOWFOLD_OT_accept_finding, STOWFOLD_OT_list_accepted
from .operators.run import STOWFOLD_OT_check

_SEVERITY_ICONS = {Severity.ERROR: "CANCEL", Severity.WARNING: "ERROR", Severity.NOTE: "INFO"}

#: What is said of whether the report still fits the model, and its icon.
_STATES = {
    results.State.NONE: ("Not checked.", "INFO"),
    results.State.CHECKING: ("Checking.", "SORTTIME"),
    results.State.CURRENT: ("Checked as of now.", "CHECKMARK"),
    results.State.STALE: ("Out of date; check again.", "TIME"),
}

_WEIGHT = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}

#: Headings of groups that hold nothing but notes.
_NOTES = {Group.CUT: "Good to know: cutting", Group.FIT: "Good to know: fit", Group.PLAY: "Good to know: play"}

#: More findings than this are counted, not listed.
_LISTED = 40

#: Letters that icon and margin take of a line, and that a box takes.
_ICONS, _BOXED = 2, 4

#: Letters that a button beside a sentence takes.
_BESIDE = 4


class STOWFOLD_PT_proof(ChosenStep, Panel):
    """The check, whether the parts fold back, and the findings."""

    bl_idname = "STOWFOLD_PT_proof"
    bl_label = "Proof"
    step = "PROOF"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        report = results.shown(context)
        if report is None:
            layout.operator(STOWFOLD_OT_check.bl_idname, icon="VIEWZOOM")
            _draw_saved(layout, context)
            return
        text, icon = _STATES[results.state(context)]
        row = layout.row(align=True)
        still_paragraph(row, context, text, lines=2, icon=icon, beside=_BESIDE)
        row.operator(STOWFOLD_OT_check.bl_idname, text="", icon="FILE_REFRESH")
        if report.outcome is None:
            box = layout.box()
            box.alert = True
            paragraph(box, context, report.failure or "Nothing could be made.", icon="CANCEL")
            return
        body = layout.column()
        body.active = not report.stale
        toggles = words.beside(body, context)
        lines = toggles.row(align=True)
        lines.active = not stood_in.are_shown()
        lines.prop(context.window_manager.stowfold, "show_parts", toggle=True)
        toggles.prop(context.window_manager.stowfold, "show_findings", toggle=True)
        text, icon = _headline(report)
        paragraph(body, context, text, icon=icon)
        _draw_findings(body, context, report)


def _draw_saved(layout: UILayout, context: bpy.types.Context) -> None:
    """Draw what the file says of its last check, findings and all, where no check was made since it was opened."""
    told = saved(context.scene)
    if told is None:
        text = "Not checked yet. The parts are folded back by arithmetic and laid against the model."
        paragraph(layout, context, text, icon="INFO")
        return
    since = " The model was changed since; check it again." if told.changed else ""
    paragraph(layout, context, f"As saved on {told.words}.{since}", icon="ERROR" if since else "TIME")
    column = layout.column()
    column.active = False
    for severity, line in told.findings[:_LISTED]:
        paragraph(column, context, line, icon=_SEVERITY_ICONS[severity])


def _headline(report: results.Report) -> tuple[str, str]:
    """Return what the check comes to, and its icon: errors weigh more than a proof that holds."""
    outcome, errors = report.outcome, len(results.errors_in(report))
    if outcome is None or not outcome.parts:
        return "No part could be made from the model.", "CANCEL"
    if not outcome.proof.holds:
        return "The flat parts do not fold back into the model.", "CANCEL"
    if errors:
        number = f"{errors} error{'' if errors == 1 else 's'}"
        return f"The flat parts fold back, but {number} must be mended.", "CANCEL"
    return "The flat parts fold back into the model.", "CHECKMARK"


def _draw_findings(layout: UILayout, context: bpy.types.Context, report: results.Report) -> None:
    """Draw the findings in their groups, a line each; below the one that was clicked, all of it."""
    listed = 0
    for group, lines in lines_by_group(report, context.scene).items():
        if not lines:
            continue
        worst = min((line.severity for line in lines), key=_WEIGHT.__getitem__)
        # without the ground of a box the lines are hard to read over a model
        box = layout.box()
        head = box.row()
        head.alert = worst is Severity.ERROR
        head.label(text=f"{group.value}: {len(lines)}" if worst is not Severity.NOTE else _NOTES[group])
        column = box.column(align=True)
        for same in _by_title(lines[: max(_LISTED - listed, 0)]):
            _draw_same(column, context, same)
        listed += len(lines)
    accepted = sum(is_accepted(line, context.scene) for line in lines_of(report))
    if not listed:
        layout.label(text="Nothing else to say", icon="CHECKMARK")
    if accepted:
        text = f"{accepted} accepted: list {'it' if accepted == 1 else 'them'} again"
        layout.operator(STOWFOLD_OT_list_accepted.bl_idname, text=text, icon="CHECKBOX_HLT")


def _by_title(lines: Sequence[Line]) -> list[list[Line]]:
    """Return lines that say the same of several places together, in the order of the first of them."""
    found: dict[tuple[Severity, str], list[Line]] = {}
    for line in lines:
        found.setdefault((line.severity, line.title), []).append(line)
    return list(found.values())


def _draw_same(column: UILayout, context: bpy.types.Context, same: Sequence[Line]) -> None:
    """Draw lines that say the same: what it is once, and below it the places alone."""
    if len(same) == 1 or not all(line.place for line in same):
        for line in same:
            _draw_line(column, context, line, line.short)
        return
    head = column.row()
    head.alert = same[0].severity is Severity.ERROR
    head.label(text=f"{same[0].title}:", icon=_SEVERITY_ICONS[same[0].severity])
    for line in same:
        _draw_line(column, context, line, line.place, icon="BLANK1")


def _draw_line(column: UILayout, context: bpy.types.Context, line: Line, said: str, *, icon: str | None = None) -> None:
    """Draw one finding: its line, which shows its place and opens it, and where it is open all of it."""
    opened = context.window_manager.stowfold.finding == line.index
    row = column.row(align=True)
    row.alert = line.severity is Severity.ERROR
    row.label(text="", icon=icon or _SEVERITY_ICONS[line.severity])
    left = row.row(align=True)
    left.alignment = "LEFT"
    number = f"{line.index + 1}. "
    room = words.letters_per_line(context) - _ICONS - len(number)
    text = f"{number}{_shortened(line, said, room)}"
    button = left.operator(STOWFOLD_OT_show_finding.bl_idname, text=text, emboss=opened)
    button.index = line.index
    if not opened:
        return
    box = column.box()
    if line.place:
        paragraph(box, context, f"{line.place[0].upper()}{line.place[1:]}", icon="VIEWZOOM", beside=_BOXED)
    paragraph(box, context, line.words, beside=_BOXED)
    if line.cure is not None:
        cure = box.operator(line.cure.operator, text=line.cure.label, icon=line.cure.icon)
        for name, value in line.cure.values:
            setattr(cure, name, value)
    if line.severity is not Severity.ERROR:
        box.operator(STOWFOLD_OT_accept_finding.bl_idname, text="Accept", icon="CHECKMARK").index = line.index


def _shortened(line: Line, said: str, room: int) -> str:
    """Return a line with its place where both find room, else its title, which says what, or its place, alone."""
    if said == line.short and len(said) > room:
        said = line.title
    # the host would leave out the middle and no longer begin at the left
    return said if len(said) <= room else f"{said[: room - 1].rstrip()}…"


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
