"""Offcuts: on the shelf by hand, off it, and what a cut takes from it and brings."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import TYPE_CHECKING

from bpy.props import BoolProperty, BoolVectorProperty, EnumProperty, IntProperty, StringProperty
from bpy.types import Context, Event, Operator

from ...geometry.errors import BadSettingError
from ...geometry.sheet.offcut_list import KeptPiece, OffcutList
from ...host import stock_library
from ...host.lengths import as_typed, millimetres
from ...host.views import redraw_sidebars
from ...host.workshop import OFFCUTS, label_of
from ...jobs import results
from ...jobs.operator import NeedsSheets
from ...jobs.reporting import report_errors
from ...window.asking import AsksFirst
from ...window.words import dialog_paragraph

if TYPE_CHECKING:
    from ...geometry.sheet.shelf import Change

#: So many new pieces can be chosen among; the host's rows of ticks end there.
_MOST = 32

#: Letters in a line of the dialog.
_LETTERS = 60


class STOWFOLD_OT_add_offcut(Operator):
    """Put an offcut of a board on your list; this cannot be undone"""

    bl_idname = "stowfold.add_offcut"
    bl_label = "Add Offcut"

    stock: EnumProperty(
        name="Board",
        description="What the piece is of",
        items=stock_library.stock_items,
        default=stock_library.DEFAULT,
    )
    length: millimetres("Length", "Along the length of the board's sheets, as the grain tells", 200.0, 1.0)
    width: millimetres("Width", "Along the width of the board's sheets", 150.0, 1.0)
    count: IntProperty(name="Pieces", description="How many pieces of this size", default=1, min=1, max=99)
    note: StringProperty(name="Note", description="What you want to remember of it, such as where it lies")

    def invoke(self, context: Context, _event: Event) -> set[str]:
        self.stock = context.scene.stowfold.stocks.walls
        return context.window_manager.invoke_props_dialog(self, width=360)

    def draw(self, _context: Context) -> None:
        column = self.layout.column()
        column.use_property_split = True
        for name in ("stock", "length", "width", "count", "note"):
            column.prop(self, name)

    @report_errors()
    def execute(self, _context: Context) -> set[str]:
        piece = KeptPiece(
            self.stock,
            as_typed(self.length),
            as_typed(self.width),
            self.count,
            self.note.strip(),
            datetime.date.today().isoformat(),
        )
        _change_list(lambda shelf: shelf.with_piece(piece))
        self.report({"INFO"}, f"{_size(piece.length, piece.width)} of {label_of(piece.stock)} is on your list")
        return {"FINISHED"}


class STOWFOLD_OT_remove_offcut(AsksFirst, Operator):
    """Take one piece of this size from your list; this cannot be undone"""

    bl_idname = "stowfold.remove_offcut"
    bl_label = "Remove Offcut"

    asked_title, asked_button, asked_icon = "Remove Offcut?", "Remove", "NONE"

    key: StringProperty(name="Piece", options={"HIDDEN", "SKIP_SAVE"})

    def question(self, _context: Context) -> str | None:
        piece = next((known for known in OFFCUTS.value.pieces if known.key == self.key), None)
        if piece is None:
            return None
        what = f"One piece of {_size(piece.length, piece.width)}, {label_of(piece.stock)}"
        return f"{what}, leaves your list. This cannot be undone."

    @report_errors()
    def execute(self, _context: Context) -> set[str]:
        _change_list(lambda shelf: shelf.without(self.key))
        return {"FINISHED"}


class STOWFOLD_OT_keep_offcuts(NeedsSheets, Operator):
    """Enter a cut in your list: pieces that it used leave, those that its sheets left come; this cannot be undone"""

    bl_idname = "stowfold.keep_offcuts"
    bl_label = "Keep Offcuts"

    keep: BoolVectorProperty(
        name="Keep",
        description="Put this piece on the list",
        size=_MOST,
        default=(True,) * _MOST,
        options={"SKIP_SAVE"},
    )
    again: BoolProperty(
        name="Cut Once More",
        description="These parts were cut a second time, so that more pieces were used and left",
        options={"SKIP_SAVE"},
    )
    note: StringProperty(name="Note", description="What you want to remember of the new pieces")

    @report_errors()
    def invoke(self, context: Context, _event: Event) -> set[str]:
        self._change, self._stale = self._look(context)
        self.note = self._change.cut.title
        return context.window_manager.invoke_props_dialog(self, width=420)

    def draw(self, _context: Context) -> None:
        change = getattr(self, "_change", None)
        if change is None:
            return
        layout = self.layout
        if self._stale:
            dialog_paragraph(
                layout,
                "The model has changed since the last check. Go on only if this is what you cut.",
                letters=_LETTERS,
                icon="ERROR",
            )
        column = layout.column(align=True)
        column.label(text="Leave your list" if change.taken else "Nothing leaves your list")
        for piece in change.taken:
            column.label(text=f"{_size(piece.length, piece.width)}, {label_of(piece.stock)}", icon="REMOVE")
        for stock, size in change.lost:
            column.label(text=f"{_size(*size)}, {label_of(stock)}: not on your list any more", icon="QUESTION")
        column = layout.column(align=True)
        column.label(text="Come to your list" if change.new else "No sheet leaves a piece worth keeping")
        for number, piece in enumerate(change.new[:_MOST]):
            column.prop(
                self,
                "keep",
                index=number,
                text=f"{_size(piece.length, piece.width)}, {label_of(piece.stock)}, from sheet {piece.sheet + 1} "
                f"at ({piece.corner[0]:.0f}, {piece.corner[1]:.0f})",
            )
        if len(change.new) > _MOST:
            column.label(text=f"{len(change.new) - _MOST} more are not offered", icon="INFO")
        if change.new:
            dialog_paragraph(
                layout, "Places are from the lower left corner of the sheet, in mm.", letters=_LETTERS, icon="INFO"
            )
            layout.prop(self, "note")
        if change.before is not None:
            dialog_paragraph(
                layout,
                f"These parts were entered on {change.before.date or 'an earlier day'} already.",
                letters=_LETTERS,
                icon="ERROR",
            )
            layout.prop(self, "again")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        change, _ = self._look(context)
        if change.before is not None and not self.again:
            raise BadSettingError(
                f"This cut was entered on {change.before.date or 'an earlier day'} already; "
                "tick Cut Once More only if you cut its parts a second time"
            )
        keep = [number for number in range(min(len(change.new), _MOST)) if self.keep[number]]
        date, note = datetime.date.today().isoformat(), self.note.strip()
        _change_list(lambda shelf: change.apply(shelf, keep, date=date, note=note))
        self.report({"INFO"}, f"{len(change.taken)} pieces left your list, {len(keep)} came to it")
        return {"FINISHED"}

    def _look(self, context: Context) -> tuple[Change, bool]:
        """Return what the cut that is shown changes on the list, and whether the model has changed since."""
        # needs the packages of the flow
        from ...geometry.sheet.shelf import change_by

        if OFFCUTS.trouble is not None:
            raise BadSettingError(OFFCUTS.trouble)
        outcome, stale = self.last_check(context)
        parts = {part.id: part for part in outcome.pieces}
        return change_by(OFFCUTS.value, outcome.layout, parts, title=outcome.title), stale


def _change_list(edit: Callable[[OffcutList], OffcutList]) -> None:
    """Change the maker's list of pieces, and have layouts compared with it. Raises as ``OwnList.change`` does."""
    OFFCUTS.change(edit)
    results.suspect_all()
    redraw_sidebars()


def _size(length: float, width: float) -> str:
    return f"{length:g} x {width:g} mm"


CLASSES = (STOWFOLD_OT_add_offcut, STOWFOLD_OT_remove_offcut, STOWFOLD_OT_keep_offcuts)
