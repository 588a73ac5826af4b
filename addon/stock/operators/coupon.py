"""The coupon: its files are written, its readings filled in, and what they come to is put into the file."""

from __future__ import annotations

import datetime
import textwrap
from pathlib import Path

import bpy
from bpy.props import BoolProperty, EnumProperty, IntProperty, StringProperty
from bpy.types import Operator

from ...geometry.board.readings import Calibrated
from ...geometry.errors import GeometryError
from ...host import reading, stock_library
from ...host.measuring import stock_in, work_out, write_calibration
from ...jobs import results
from ...window.earlier import refuse_earlier
from ..fields import READING_KINDS


def _begin(context: bpy.types.Context, name: str, *, repeats: int) -> None:
    """Open the form for a coupon that is drawn with the board's present values."""
    coupon = context.scene.stowfold.coupon
    stock = stock_in(context.scene, stock_library.entries()[name])
    if coupon.stock != name:
        coupon.readings.clear()
        coupon.batch, coupon.start_anew = "", False
    coupon.stock = name
    coupon.drawn_thickness, coupon.drawn_kerf, coupon.repeats = stock.thickness, stock.kerf, repeats


class STOWFOLD_OT_cut_coupon(Operator):
    """Write cut files of test pieces for this board, and a page on which to fill in what they measure"""

    bl_idname = "stowfold.cut_coupon"
    bl_label = "Cut Coupon"
    bl_options = {"UNDO"}

    stock: StringProperty(name="Stock", options={"SKIP_SAVE", "HIDDEN"})
    directory: StringProperty(name="Folder", description="Folder that takes the files", subtype="DIR_PATH")
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})
    repeats: IntProperty(
        name="Of Each Hinge", description="Three or more let a strength be trusted", default=1, min=1, max=9
    )
    overwrite: BoolProperty(
        name="Replace Earlier Files", description="Replace a coupon that already lies in the folder", default=False
    )

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        if not self.directory:
            self.directory = context.window_manager.stowfold.cut_folder or bpy.path.abspath("//")
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> set[str]:
        entry = stock_library.entries().get(self.stock)
        if entry is None or not self.directory:
            self.report({"ERROR"}, "Choose a known board and a folder for the files of its coupon")
            return {"CANCELLED"}
        folder = Path(bpy.path.abspath(self.directory))
        try:
            from ...geometry.paper.coupon_sheet import coupon_files, deliver_coupon
            from ...geometry.sheet.coupon import lay_out_coupon

            stock, laser = stock_in(context.scene, entry), reading.read_settings(context.scene).laser
            made = lay_out_coupon(stock, laser, repeats=self.repeats)
            refuse_earlier(folder, coupon_files(made, stock), most=0 if self.overwrite else None, between=" and ")
            written = deliver_coupon(made, stock, folder, date=datetime.date.today().isoformat())
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        except ModuleNotFoundError as error:
            self.report({"ERROR"}, f"The Python package {error.name} is missing; install Stowfold from its zip")
            return {"CANCELLED"}
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
        if self.stock not in stock_library.entries():
            self.report({"WARNING"}, "Choose a known board")
            return {"CANCELLED"}
        _begin(context, self.stock, repeats=context.scene.stowfold.coupon.repeats)
        return {"FINISHED"}


class STOWFOLD_OT_add_reading(Operator):
    """Add a line for one more reading"""

    bl_idname = "stowfold.add_reading"
    bl_label = "Add Reading"
    bl_options = {"REGISTER", "UNDO"}

    kind: EnumProperty(name="Kind", description="What was measured", items=READING_KINDS)

    def execute(self, context: bpy.types.Context) -> set[str]:
        readings = context.scene.stowfold.coupon.readings
        alike = [each for each in readings if each.kind == self.kind]
        added = readings.add()
        added.kind = self.kind
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
            self.report({"WARNING"}, "There is no such line")
            return {"CANCELLED"}
        readings.remove(self.index)
        return {"FINISHED"}


class STOWFOLD_OT_apply_readings(Operator):
    """Work out the board's values from the readings and use them in this file"""

    bl_idname = "stowfold.apply_readings"
    bl_label = "Apply Readings"
    bl_options = {"REGISTER", "UNDO"}

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        made = self._work_out(context)
        if made is None:
            return {"CANCELLED"}
        self._lines = [*(change.words for change in made.changes), *(each.message for each in made.findings)]
        return context.window_manager.invoke_props_dialog(self, width=440)

    def draw(self, _context: bpy.types.Context) -> None:
        column = self.layout.column(align=True)
        for line in getattr(self, "_lines", ()):
            for number, piece in enumerate(textwrap.wrap(line, 64)):
                column.label(text=piece, icon="DOT" if number == 0 else "BLANK1")

    def execute(self, context: bpy.types.Context) -> set[str]:
        made = self._work_out(context)
        if made is None:
            return {"CANCELLED"}
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

    def _work_out(self, context: bpy.types.Context) -> Calibrated | None:
        try:
            return work_out(context.scene, date=datetime.date.today().isoformat())
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return None


CLASSES = (
    STOWFOLD_OT_cut_coupon,
    STOWFOLD_OT_enter_readings,
    STOWFOLD_OT_add_reading,
    STOWFOLD_OT_remove_reading,
    STOWFOLD_OT_apply_readings,
)
