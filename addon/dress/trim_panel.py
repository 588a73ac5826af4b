"""Trim and signboards in the sidebar: which the building gets, of which board, and what they come to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
from bpy.types import Panel

from ..geometry.durations import about
from ..geometry.part import PartKind
from ..jobs import results
from ..window.kept import Kept
from ..window.step import Step
from ..window.words import beside, draw_setting, paragraph, still_paragraph
from .operators.signboards import STOWFOLD_OT_add_signboard
from .trim_fields import SWITCHES

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

_words: Kept[Outcome, str] = Kept()


class STOWFOLD_PT_trim(Step, Panel):
    """What is cut from a thinner board and glued onto the walls."""

    bl_idname = "STOWFOLD_PT_trim"
    bl_label = "Trim"
    bl_parent_id = "STOWFOLD_PT_dress"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        ours, column = context.scene.stowfold, self.settings_layout()
        for name in SWITCHES:
            draw_setting(column, ours.trim, name)
        second = column.column()
        second.active = ours.trim.shingles
        draw_setting(second, ours.trim, "second")
        chosen = second.column()
        chosen.active = ours.trim.second != "NONE"
        chosen.prop(ours.trim, "second_courses")
        draw_setting(chosen, ours.stocks, "second_shingles")
        column.prop(ours.trim, "width")
        draw_setting(column, ours.stocks, "trim", text="Board")
        still_paragraph(self.layout, context, _told(context), lines=2, icon="INFO")


class STOWFOLD_PT_signboard(Step, Panel):
    """Signboards, flat on a wall or square to it."""

    bl_idname = "STOWFOLD_PT_signboard"
    bl_label = "Signboards"
    bl_parent_id = "STOWFOLD_PT_dress"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        row = beside(self.layout, context)
        row.operator(STOWFOLD_OT_add_signboard.bl_idname, text="Add Flat", icon="ADD").hangs = False
        row.operator(STOWFOLD_OT_add_signboard.bl_idname, text="Add Hanging", icon="ADD").hangs = True
        target = context.object
        if target is None or target.type != "MESH" or not target.stowfold.sign.is_sign:
            still_paragraph(self.layout, context, "A selected sign shows its letters here.", lines=2, icon="INFO")
            return
        column = self.settings_layout()
        for name in ("text", "width", "height", "border", "hangs"):
            draw_setting(column, target.stowfold.sign, name)
        for words in signs_left_out(context, target.name):
            paragraph(self.layout, context, words, icon="INFO")


def signs_left_out(context: bpy.types.Context, name: str) -> tuple[str, ...]:
    """Return why the last check left a signboard out, by its name; nothing where it is cut."""
    report = results.shown(context)
    if report is None or report.outcome is None or report.stale:
        return ()
    found = (finding for finding in report.outcome.findings if finding.code == "trim-without-room")
    return tuple(finding.message for finding in found if finding.where.source == name)


def _told(context: bpy.types.Context) -> str:
    """Return how many pieces of trim the last check made, and their time at the laser."""
    known = results.laid_out(context)
    if known is None:
        return "A door or window may say otherwise where its sizes are."
    outcome = known[0]
    return _words.get(outcome, lambda: _words_of(outcome))


def _words_of(outcome: Outcome) -> str:
    from ..geometry.sheet.times import trim_seconds
    from ..geometry.sheet.waste import find_in_waste

    trim = [part for part in outcome.parts if part.kind is PartKind.TRIM]
    pieces = len(trim)
    if outcome.settings.trim.shingles and not outcome.strips.strips:
        return "No strips: only slopes with the finish Shingles or Slates get them; choose one under Roof."
    if not pieces and outcome.strips.strips:
        return f"{len(outcome.strips.strips)} shingle strips, and no other trim."
    if not pieces:
        return "The last check made no trim; a door or window may say otherwise where its sizes are."
    seconds = trim_seconds(outcome.layout, outcome.parts)
    saved = find_in_waste(outcome.layout, outcome.parts).of(trim).words
    told = f"{pieces} pieces of trim; {about(seconds)} at the laser."
    return f"{told} {saved}." if saved else told


CLASSES = (STOWFOLD_PT_trim, STOWFOLD_PT_signboard)
