"""Times: what a sheet took is noted, and notes become speeds of the laser."""

from __future__ import annotations

import datetime

from bpy.props import IntProperty, StringProperty
from bpy.types import Context, Event, Operator, UILayout

from ...geometry.beam.time_log import Learned, TimeNote, sentences
from ...geometry.durations import about, minutes
from ...geometry.errors import BadSettingError
from ...host.laser_library import laser_in
from ...host.views import redraw_sidebars
from ...host.workshop import TIMES, compare, label_of, put_into_scene, work_out
from ...jobs import results
from ...jobs.operator import NeedsSheets
from ...jobs.reporting import report_errors
from ...window.asking import AsksFirst
from ...window.words import dialog_paragraph

#: A time that is so many times the estimate, or that part of it, is asked about. Common practice, no source.
_ODD = 3.0

#: Letters in a line of the dialogs.
_LETTERS = 64


class STOWFOLD_OT_note_time(NeedsSheets, Operator):
    """Note how long the laser took for this sheet, from start to end; this cannot be undone"""

    bl_idname = "stowfold.note_time"
    bl_label = "Note Time"

    sheet: IntProperty(name="Sheet", description="Number of the sheet", default=1, min=1, options={"SKIP_SAVE"})
    minutes: IntProperty(name="Minutes", description="Whole minutes", default=0, min=0, max=6000)
    seconds: IntProperty(name="Seconds", description="Seconds beside the minutes", default=0, min=0, max=59)

    def invoke(self, context: Context, _event: Event) -> set[str]:
        self.minutes = self.seconds = 0
        return context.window_manager.invoke_props_dialog(self, width=360)

    def draw(self, context: Context) -> None:
        layout = self.layout
        outcome, stale = self.last_check(context)
        if self.sheet > len(outcome.layout.sheets):
            return
        if stale:
            stale_words = "The model has changed since the last check. Go on only if this is the sheet you cut."
            dialog_paragraph(layout, stale_words, letters=_LETTERS, icon="ERROR")
        sheet = outcome.layout.sheets[self.sheet - 1]
        layout.label(text=f"{sheet.file} on the {sheet.laser.label}", icon="FILE")
        layout.label(text=f"Estimated {_clock(outcome.sheet_seconds[self.sheet - 1]['total'])}", icon="TIME")
        row = layout.row(align=True)
        row.prop(self, "minutes")
        row.prop(self, "seconds")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        # needs the packages of the flow
        from ...geometry.sheet.times import note_sheet

        outcome, _ = self.last_check(context)
        index = self.sheet - 1
        count = len(outcome.layout.sheets)
        if index >= count:
            raise BadSettingError(f"There is no sheet {self.sheet}; the last check has {count}")
        parts = {part.id: part for part in outcome.pieces}
        took, date = 60.0 * self.minutes + self.seconds, datetime.date.today().isoformat()
        note = note_sheet(outcome.layout, index, parts, took, date=date, title=outcome.title)
        TIMES.change(lambda notes: (*notes, note))
        redraw_sidebars()
        expected = outcome.sheet_seconds[index]["total"]
        if not 1.0 / _ODD < took / expected < _ODD:
            said = f"{_clock(took)} is noted, but {_clock(expected)} was expected; delete the note if it is a slip"
            self.report({"WARNING"}, said)
        else:
            self.report({"INFO"}, f"{_clock(took)} is noted for {note.sheet}; {_clock(expected)} was expected")
        return {"FINISHED"}


class STOWFOLD_OT_delete_time(AsksFirst, Operator):
    """Delete this note of a time; this cannot be undone"""

    bl_idname = "stowfold.delete_time"
    bl_label = "Delete Time"

    asked_title, asked_button = "Delete Time?", "Delete"

    key: StringProperty(name="Note", options={"HIDDEN", "SKIP_SAVE"})

    def question(self, _context: Context) -> str | None:
        note = next((known for known in TIMES.value if known.key == self.key), None)
        if note is None:
            return None
        return f"{_clock(note.seconds)} for {note.sheet} on {note.date} is deleted. This cannot be undone."

    @report_errors()
    def execute(self, _context: Context) -> set[str]:
        if all(note.key != self.key for note in TIMES.value):
            raise BadSettingError(TIMES.trouble or "This note is not in the log any more; look at the list again")
        TIMES.change(self._without)
        redraw_sidebars()
        return {"FINISHED"}

    def _without(self, notes: tuple[TimeNote, ...]) -> tuple[TimeNote, ...]:
        """Return the notes without the first of this key: a sheet may have taken the same time twice."""
        index = next((k for k, note in enumerate(notes) if note.key == self.key), len(notes))
        return (*notes[:index], *notes[index + 1 :])


class STOWFOLD_OT_use_times(Operator):
    """Work out the laser's speeds from the noted times of this board, and use them in this file"""

    bl_idname = "stowfold.use_times"
    bl_label = "Use Times"
    bl_options = {"REGISTER", "UNDO"}

    stock: StringProperty(name="Board", options={"HIDDEN", "SKIP_SAVE"})

    @report_errors()
    def invoke(self, context: Context, _event: Event) -> set[str]:
        learned = self._work_out(context)
        self._rows = compare(context.scene, learned)
        self._said = (*_totals(context, learned, self.stock), *sentences(learned))
        return context.window_manager.invoke_props_dialog(self, width=440)

    def draw(self, _context: Context) -> None:
        rows = getattr(self, "_rows", None)
        if rows is None:
            return
        layout = self.layout
        layout.label(text=label_of(self.stock))
        grid = layout.box().column(align=True)
        _row(grid, "", "Now", "After", "Give or Take")
        for row in rows:
            digits = 3 if row.unit == "s" else 2
            after = f"{row.after:.{digits}f} {row.unit}"
            _row(grid, row.label, f"{row.now:.{digits}f} {row.unit}", after, f"{row.spread:.{digits}f}")
        for sentence in self._said:
            dialog_paragraph(layout, sentence, letters=_LETTERS, icon="INFO")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        learned = self._work_out(context)
        put_into_scene(context.scene, learned, self.stock)
        results.suspect_all()
        count = len(learned.notes)
        self.report({"INFO"}, f"Speeds of {count} note{'s' if count > 1 else ''} of {label_of(self.stock)} are in use")
        return {"FINISHED"}

    def _work_out(self, context: Context) -> Learned:
        if TIMES.trouble is not None:
            raise BadSettingError(TIMES.trouble)
        return work_out(context.scene, self.stock)


def _totals(context: Context, learned: Learned, stock: str) -> tuple[str, ...]:
    """Return what the notes change for the sheets that are shown, where some are of this board and laser."""
    # needs the packages of the flow
    from ...geometry.sheet.times import expected_sheets

    known = results.laid_out(context)
    if known is None:
        return ()
    outcome, _ = known
    parts = {part.id: part for part in outcome.pieces}
    now, after = (
        expected_sheets(outcome.layout, parts, laser, stock) for laser in (laser_in(context.scene), learned.laser)
    )
    if not after:
        return ()
    return (f"Sheets of the last check: {about(now)} with the speeds of now, {minutes(after)} after.",)


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60} min {int(seconds) % 60} s"


def _row(column: UILayout, *texts: str) -> None:
    row = column.row(align=True)
    for text in texts:
        row.label(text=text)


CLASSES = (STOWFOLD_OT_note_time, STOWFOLD_OT_delete_time, STOWFOLD_OT_use_times)
