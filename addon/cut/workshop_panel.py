"""The maker's workshop under the last step: offcuts on the shelf, and times that sheets took."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UILayout

from ..geometry.beam.time_log import TimeNote
from ..geometry.durations import about
from ..geometry.sheet.offcut_list import KeptPiece
from ..host.laser_library import laser_in
from ..host.workshop import OFFCUTS, TIMES, label_of, noted_stocks, told_by
from ..jobs import results
from ..window.step import Step
from ..window.words import paragraph
from .operators.offcuts import STOWFOLD_OT_add_offcut, STOWFOLD_OT_keep_offcuts, STOWFOLD_OT_remove_offcut
from .operators.times import STOWFOLD_OT_delete_time, STOWFOLD_OT_note_time, STOWFOLD_OT_use_times

#: How many notes are listed; the file holds all of them.
_LISTED = 12


class STOWFOLD_PT_offcuts(Step, Panel):
    """The offcuts that the maker keeps."""

    bl_idname = "STOWFOLD_PT_offcuts"
    bl_label = "Offcuts"
    bl_parent_id = "STOWFOLD_PT_cut"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        ours = context.scene.stowfold
        layout.prop(ours, "use_offcuts")
        layout.operator(STOWFOLD_OT_add_offcut.bl_idname, text="Add Offcut...", icon="ADD")
        layout.operator(STOWFOLD_OT_keep_offcuts.bl_idname, text="Keep Offcuts...", icon="IMPORT")
        if OFFCUTS.trouble is not None:
            paragraph(layout, context, OFFCUTS.trouble, icon="ERROR")
        used = [getattr(ours.stocks, kind) for kind in ("walls", "roof", "floor", "joiners")]
        by_stock: dict[str, list[KeptPiece]] = {}
        for piece in OFFCUTS.value.pieces:
            by_stock.setdefault(piece.stock, []).append(piece)
        for stock in sorted(by_stock, key=lambda name: (name not in used, label_of(name))):
            _draw_pieces(layout, label_of(stock), by_stock[stock], used=stock in used)
        if not by_stock and OFFCUTS.trouble is None:
            paragraph(layout, context, "No piece is kept yet. Keep what a cut leaves, or add one by hand.", icon="INFO")


def _draw_pieces(layout: UILayout, label: str, pieces: list[KeptPiece], *, used: bool) -> None:
    column = layout.box().column(align=True)
    column.label(text=label if used else f"{label}, not in use here")
    for piece in sorted(pieces, key=lambda piece: -piece.length * piece.width):
        row = column.row(align=True)
        count = f"{piece.count} of " if piece.count > 1 else ""
        note = f", {piece.note}" if piece.note else ""
        row.label(text=f"{count}{piece.length:g} x {piece.width:g} mm{note}")
        row.operator(STOWFOLD_OT_remove_offcut.bl_idname, text="", icon="X").key = piece.key


class STOWFOLD_PT_times(Step, Panel):
    """Noted times of sheets, and speeds that follow from them."""

    bl_idname = "STOWFOLD_PT_times"
    bl_label = "Times"
    bl_parent_id = "STOWFOLD_PT_cut"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        if TIMES.trouble is not None:
            paragraph(layout, context, TIMES.trouble, icon="ERROR")
        _draw_sheets(layout, context)
        laser = laser_in(context.scene)
        counts = noted_stocks(laser)
        for stock, count in counts.items():
            text = f"Use Times of {label_of(stock)} ({count})..."
            layout.operator(STOWFOLD_OT_use_times.bl_idname, text=text, icon="CHECKMARK").stock = stock
        mine = [note for note in TIMES.value if note.laser == laser.name]
        _draw_notes(layout, mine)
        idle = len(mine) - sum(counts.values())
        if idle:
            layout.label(text=f"{idle} with other passes do not count", icon="INFO")
        others = len(TIMES.value) - len(mine)
        if others:
            layout.label(text=f"{others} more of other lasers", icon="INFO")


def _draw_sheets(layout: UILayout, context: bpy.types.Context) -> None:
    report = results.shown(context)
    outcome = report.outcome if report is not None else None
    if report is None or outcome is None or not outcome.layout.sheets:
        paragraph(
            layout, context, "Check the building, cut its sheets, then note here how long each took.", icon="INFO"
        )
        return
    column = layout.column(align=True)
    for number, seconds in enumerate(outcome.sheet_seconds, start=1):
        row = column.row(align=True)
        row.label(text=f"{number}: {about(seconds['total'])}")
        row.operator(STOWFOLD_OT_note_time.bl_idname, text="Note Time...").sheet = number
    told = ", before the last change" if report.stale else told_by(context.scene, outcome.layout.sheets)
    layout.label(text=f"In all {about(outcome.seconds['total'])}{told}", icon="TIME")


def _draw_notes(layout: UILayout, notes: list[TimeNote]) -> None:
    """Draw the newest notes, each with the way to delete it."""
    if not notes:
        return
    column = layout.box().column(align=True)
    for note in sorted(notes, key=lambda note: note.date)[: -_LISTED - 1 : -1]:
        row = column.row(align=True)
        took = f"{int(note.seconds) // 60}:{int(note.seconds) % 60:02d} min"
        row.label(text=f"{took}, {note.title or note.sheet}, {note.date}")
        row.operator(STOWFOLD_OT_delete_time.bl_idname, text="", icon="X").key = note.key
    if len(notes) > _LISTED:
        column.label(text=f"{len(notes) - _LISTED} older ones are in {TIMES.path.name}")


CLASSES = (STOWFOLD_PT_offcuts, STOWFOLD_PT_times)
