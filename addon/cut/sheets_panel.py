"""Sheets: what each takes, why there are not fewer, and the part that was clicked."""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
from bpy.types import Panel, UILayout

from ..geometry.durations import about, minutes
from ..host import laser_library
from ..host.pins import lasers_of_parts
from ..jobs import results
from ..proof.operators.run import STOWFOLD_OT_check
from ..stock.operators.lasers import STOWFOLD_OT_cut_part_on
from ..window import words
from ..window.kept import Kept
from ..window.running import draw_starter
from ..window.step import Step
from ..window.words import paragraph, still_paragraph
from . import sheets
from .operators.again import STOWFOLD_OT_choose_again
from .operators.move_part import STOWFOLD_OT_move_part
from .operators.pins import STOWFOLD_OT_pin_part, STOWFOLD_OT_unpin_all, STOWFOLD_OT_unpin_part
from .sheets import Showing, sheet_facts

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

#: More sheets than this are counted, not listed.
_LISTED = 20

#: Letters that a box takes off a line, and how many a line must have for facts in columns.
_BOXED, _IN_COLUMNS = 2, 24


_dressed: Kept[Outcome, str] = Kept()


class STOWFOLD_PT_sheets(Step, Panel):
    """What each sheet takes, and the part that was clicked."""

    bl_idname = "STOWFOLD_PT_sheets"
    bl_label = "Sheets"
    bl_parent_id = "STOWFOLD_PT_cut"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        shown = sheets.showing(context)
        if shown is None:
            report = results.shown(context)
            checked = report is not None and report.outcome is not None
            text = "No sheet could be laid out." if checked else "Check the building first; its sheets are shown here."
            paragraph(layout, context, text, icon="INFO")
            return
        again = layout.column(align=True)
        holds = "Laid out as the model is now."
        state = holds if shown.current else "Out of date: what is dimmed will be placed again."
        still_paragraph(again, context, state, lines=2, icon="CHECKMARK" if shown.current else "TIME")
        draw_starter(
            again, STOWFOLD_OT_check.bl_idname, text="Lay Out Again", icon="FILE_REFRESH", enabled=not shown.current
        )
        layout.operator(STOWFOLD_OT_move_part.bl_idname, icon="VIEW_PAN")
        pins = len(context.scene.stowfold.pins)
        row = layout.row(align=True)
        row.label(text=f"{pins or 'No'} part{'s' if pins != 1 else ''} pinned", icon="PINNED")
        row.operator(STOWFOLD_OT_unpin_all.bl_idname)
        layout.operator(STOWFOLD_OT_choose_again.bl_idname, text="Cut Parts Again...", icon="RECOVER_LAST")
        body = layout.column()
        body.active = shown.current
        _draw_list(body, context, shown)
        _draw_chosen(layout, context, shown)


def _draw_list(layout: UILayout, context: bpy.types.Context, shown: Showing) -> None:
    outcome = shown.outcome
    box = layout.box().column(align=True)
    count = len(outcome.layout.sheets)
    listed = [sheet_facts(outcome, index) for index in range(min(count, _LISTED))]
    columns = max(len(facts) for _, facts in listed)
    for index, (what, facts) in enumerate(listed):
        paragraph(box, context, f"{index + 1}: {what}", icon="FILE", beside=_BOXED)
        if words.letters_per_line(context) < _IN_COLUMNS:
            paragraph(box, context, ", ".join(facts[1:]), icon="BLANK1", beside=_BOXED)
            continue
        row = box.row(align=True)
        row.label(text="", icon="BLANK1")
        for k in range(1, columns):
            row.label(text=facts[k] if k < len(facts) else "")
    if count > _LISTED:
        box.label(text=f"{count - _LISTED} more: see the guide", icon="BLANK1")
    from ..geometry.sheet.layout import layout_cost

    total = outcome.seconds.get("total", 0.0)
    box.separator()
    in_all = f"{count} sheet{'s' if count != 1 else ''}, {about(total)} of laser time"
    paragraph(box, context, in_all, icon="TIME", beside=_BOXED)
    dressed = _dressed.get(outcome, lambda: dressed_words(outcome))
    if dressed:
        paragraph(box, context, dressed, icon="BLANK1", beside=_BOXED)
    cost, lacking = layout_cost(outcome.layout)
    if cost is not None:
        said = f", {' and '.join(lacking)} not counted" if lacking else ""
        paragraph(box, context, f"Board: {cost:.2f}{said}", icon="TAG", beside=_BOXED)
    if count > len({sheet.stock.name for sheet in outcome.layout.sheets}):
        # that one sheet of a board cannot be none needs no reason; the whole reason takes half a screen
        fewest = outcome.layout.bound[0]
        said = "No fewer sheets will do" if fewest >= count else f"At least {fewest} sheets are needed"
        paragraph(layout, context, f"{said}; the guide says why.", icon="INFO")


def dressed_words(outcome: Outcome) -> str:
    """Return how long finishes and trim take of the laser, and what stays without them; empty where there are none."""
    from ..geometry.sheet.times import dress_seconds

    seconds = dress_seconds(outcome.layout, outcome.parts)
    if not seconds:
        return ""
    told = ", ".join(f"{name} {minutes(spent)}" for name, spent in sorted(seconds.items(), key=lambda item: -item[1]))
    bare = max(outcome.seconds.get("total", 0.0) - sum(seconds.values()), 0.0)
    return f"Of it {told}; {about(bare)} without"


def _draw_chosen(layout: UILayout, context: bpy.types.Context, shown: Showing) -> None:
    name = context.window_manager.stowfold.sheet_part
    placement = shown.placement(name)
    if placement is None:
        paragraph(layout, context, "Click a part on its sheet to see what it is; drag it to pin it elsewhere.")
        return
    part, pinned = shown.parts[name], name in shown.pinned
    column = layout.box().column(align=True)
    paragraph(column, context, f"{part.id}: {part.label}", icon="PINNED" if pinned else "RESTRICT_SELECT_OFF")
    wide, high = part.size
    turned = round(placement.turn / 1.5707963) % 4 * 90
    how = f", turned {turned}°" if turned else ""
    for line in (
        f"{wide:.1f} × {high:.1f} mm",
        shown.outcome.layout.sheets[placement.sheet].stock.label,
        f"Sheet {placement.sheet + 1}{how}",
    ):
        paragraph(column, context, line, icon="BLANK1")
    row = column.row(align=True)
    if pinned:
        row.operator(STOWFOLD_OT_unpin_part.bl_idname, text="Unpin", icon="UNPINNED").part = name
    else:
        row.operator(STOWFOLD_OT_pin_part.bl_idname, text="Pin Here", icon="PINNED").part = name
    row.operator(STOWFOLD_OT_choose_again.bl_idname, text="Cut Again...", icon="RECOVER_LAST").part = name
    if len(context.scene.stowfold.other_lasers):
        _draw_lasers(column, context, name)


def _draw_lasers(column: UILayout, context: bpy.types.Context, part: str) -> None:
    """Draw which laser is wished for a part, among those of the scene."""
    ours, known = context.scene.stowfold, laser_library.known_lasers()
    chosen = lasers_of_parts(context.scene).get(part, "")
    column.label(text="Cut On")
    names = ("", ours.laser.profile, *(laser.name for laser in ours.other_lasers))
    for name in names:
        label = known[name].label if name in known else name or "First That Takes It"
        button = column.operator(STOWFOLD_OT_cut_part_on.bl_idname, text=label, depress=name == chosen)
        button.part, button.laser = part, name


CLASSES = (STOWFOLD_PT_sheets,)
