"""The coupon: its files are written, its readings filled in, and what they come to is put into the file."""

from __future__ import annotations

import datetime

import bpy
from bpy.props import BoolProperty, EnumProperty, IntProperty, StringProperty
from bpy.types import Operator

from ...geometry.board.readings import Calibrated
from ...geometry.errors import BadSettingError
from ...host import reading, stock_library
from ...host.measuring import begin_readings, plan_of, stock_in, work_out, write_calibration
from ...jobs import results
from ...jobs.reporting import report_errors, warn
from ...window.asking import AsksForFolder
from ...window.earlier import refuse_earlier
from ...window.words import dialog_paragraph
from ..fields import READING_KINDS

#: Letters in a line of the dialog.
_LETTERS = 64


def _begin(context: bpy.types.Context, name: str, *, repeats: int) -> None:
    """Open the form for a coupon that is drawn with the board's present values."""
    coupon = context.scene.stowfold.coupon
    if coupon.quick:
        coupon.readings.clear()
    coupon.quick, coupon.repeats = False, repeats
    begin_readings(coupon, stock_in(context.scene, stock_library.entries()[name]))


class STOWFOLD_OT_cut_coupon(AsksForFolder, Operator):
    """Write cut files of test pieces for this board, and a page on which to fill in what they measure"""

    bl_idname = "stowfold.cut_coupon"
    bl_label = "Cut Coupon"
    bl_options = {"UNDO"}

    stock: StringProperty(name="Stock", options={"SKIP_SAVE", "HIDDEN"})
    repeats: IntProperty(
        name="Of Each Hinge", description="Three or more let a strength be trusted", default=1, min=1, max=9
    )
    overwrite: BoolProperty(
        name="Replace Earlier Files", description="Replace a coupon that already lies in the folder", default=False
    )

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        return self.browse(context)

    @report_errors()
    def execute(self, context: bpy.types.Context) -> set[str]:
        from ...geometry.paper.coupon_sheet import coupon_files, deliver_coupon
        from ...geometry.sheet.coupon import lay_out_coupon

        entry = stock_library.entries().get(self.stock)
        if entry is None or not self.directory:
            raise BadSettingError("Choose a known board and a folder for the files of its coupon")
        folder = self.folder()
        stock, laser = stock_in(context.scene, entry), reading.read_settings(context.scene).laser
        made = lay_out_coupon(stock, laser, repeats=self.repeats)
        refuse_earlier(folder, coupon_files(made, stock), most=0 if self.overwrite else None, between=" and ")
        written = deliver_coupon(made, stock, folder, date=datetime.date.today().isoformat())
        _begin(context, self.stock, repeats=self.repeats)
        self.report({"INFO"}, f"{len(written)} files written to '{folder.name}'; print the page and fill it in")
        return {"FINISHED"}

    def draw(self, _context: bpy.types.Context) -> None:
        column = self.layout.column()
        column.label(text="Writes sheets and a page to fill in.")
        column.prop(self, "repeats")
        column.prop(self, "overwrite")


class STOWFOLD_OT_enter_readings(Operator):
    """Open the form for readings of a coupon that was cut from this board"""

    bl_idname = "stowfold.enter_readings"
    bl_label = "Enter Readings"
    bl_options = {"REGISTER", "UNDO"}

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        entry = stock_library.entries().get(self.stock)
        if entry is None:
            return warn(self, "Choose a known board")
        coupon = context.scene.stowfold.coupon
        # corners of the board were cut with a building: the readings are of them until the maker says otherwise
        if coupon.quick and any(corner.board == self.stock for corner in coupon.corners):
            begin_readings(coupon, stock_in(context.scene, entry))
        else:
            _begin(context, self.stock, repeats=coupon.repeats)
        return {"FINISHED"}


class STOWFOLD_OT_add_reading(Operator):
    """Add a line for one more reading"""

    bl_idname = "stowfold.add_reading"
    bl_label = "Add Reading"
    bl_options = {"REGISTER", "UNDO"}

    kind: EnumProperty(name="Kind", description="What was measured", items=READING_KINDS)

    def execute(self, context: bpy.types.Context) -> set[str]:
        coupon = context.scene.stowfold.coupon
        readings, entry = coupon.readings, stock_library.entries().get(coupon.stock)
        alike = [reading for reading in readings if reading.kind == self.kind]
        added = readings.add()
        added.kind = self.kind
        if entry is not None:
            added.slats = plan_of(coupon, entry.base).slats
        if alike:
            # the next reading is usually of the same piece
            last = alike[-1]
            added.size, added.slats, added.arm = last.size, last.slats, last.arm
            added.failed = last.failed
            if last.hinge:  # empty where the board was edited and has no such piece any more
                added.hinge = last.hinge
        return {"FINISHED"}


class STOWFOLD_OT_remove_reading(Operator):
    """Remove this reading"""

    bl_idname = "stowfold.remove_reading"
    bl_label = "Remove Reading"
    bl_options = {"REGISTER", "UNDO"}

    index: IntProperty(name="Line", description="Which line, counted from 0", min=0, options={"SKIP_SAVE", "HIDDEN"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        readings = context.scene.stowfold.coupon.readings
        if self.index >= len(readings):
            return warn(self, "There is no such line")
        readings.remove(self.index)
        return {"FINISHED"}


class STOWFOLD_OT_apply_readings(Operator):
    """Work out the board's values from the readings and use them in this file"""

    bl_idname = "stowfold.apply_readings"
    bl_label = "Apply Readings"
    bl_options = {"REGISTER", "UNDO"}

    @report_errors()
    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        made = _work_out(context)
        self._lines = [*(change.words for change in made.changes), *(finding.message for finding in made.findings)]
        return context.window_manager.invoke_props_dialog(self, width=440)

    def draw(self, _context: bpy.types.Context) -> None:
        column = self.layout.column(align=True)
        for line in getattr(self, "_lines", ()):
            dialog_paragraph(column, line, letters=_LETTERS, icon="DOT")

    @report_errors()
    def execute(self, context: bpy.types.Context) -> set[str]:
        made = _work_out(context)
        scene = context.scene
        name = scene.stowfold.coupon.stock
        own = scene.stowfold.measured.get(name)
        if own is None:
            own = scene.stowfold.measured.add()
            own.name = name
        write_calibration(own, made.stock, made.calibration)
        scene.stowfold.coupon.start_anew = False
        results.suspect_all()
        self.report({"INFO"}, f"{made.stock.label}: {'; '.join(change.words for change in made.changes)}")
        return {"FINISHED"}


def _work_out(context: bpy.types.Context) -> Calibrated:
    """Return what the readings of the scene come to. Raises GeometryError where they come to nothing."""
    return work_out(context.scene, date=datetime.date.today().isoformat())


CLASSES = (
    STOWFOLD_OT_cut_coupon,
    STOWFOLD_OT_enter_readings,
    STOWFOLD_OT_add_reading,
    STOWFOLD_OT_remove_reading,
    STOWFOLD_OT_apply_readings,
)
