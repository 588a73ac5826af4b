"""The floor cut again: the maker puts the walls up, measures them, and gets slots where they do stand."""

from __future__ import annotations

import datetime
from pathlib import Path

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import Context, Event, Operator

from .. import results
from ..bridge import as_typed
from ..geometry.errors import GeometryError
from ..lengths import millimetres
from .run import make, something_to_cut


class STOWFOLD_OT_cut_floor_again(Operator):
    """Write the floor alone again, for walls as they measure over all once put up"""

    bl_idname = "stowfold.cut_floor_again"
    bl_label = "Cut Floor Again"

    directory: StringProperty(name="Folder", description="Folder that takes the floor's sheets", subtype="DIR_PATH")
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})
    length: millimetres("Length", "Over the outer faces of the walls, the longer way, beside the joiners", 0.0)
    width: millimetres("Width", "Over the outer faces of the walls, the shorter way, beside the joiners", 0.0)

    @classmethod
    def poll(cls, context: Context) -> bool:
        return something_to_cut(cls, context)

    def invoke(self, context: Context, _event: Event) -> set[str]:
        from ..geometry.floor_again import drawn_size

        report = make(context)
        if report.outcome is None:
            self.report({"ERROR"}, report.failure or "Nothing could be made")
            return {"CANCELLED"}
        try:
            self.length, self.width = drawn_size(report.outcome)
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        if not self.directory:
            self.directory = context.window_manager.stowfold.cut_folder or bpy.path.abspath("//")
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: Context) -> set[str]:
        from ..geometry.floor_again import deliver_floor, floor_again

        if not self.directory:
            self.report({"ERROR"}, "No folder was chosen; choose one for the floor's sheets")
            return {"CANCELLED"}
        folder = Path(bpy.path.abspath(self.directory))
        report = results.shown(context)
        if report is None or report.stale or report.outcome is None:
            report = make(context)
        if report.outcome is None:
            self.report({"ERROR"}, report.failure or "Nothing could be made")
            return {"CANCELLED"}
        try:
            again = floor_again(report.outcome, (as_typed(self.length), as_typed(self.width)))
            written = deliver_floor(again, folder, date=datetime.date.today().isoformat())
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        if not written:
            self.report({"ERROR"}, again.findings[0].message)
            return {"CANCELLED"}
        self.report({"INFO"}, f"Wrote {len(written)} sheet{'s' if len(written) != 1 else ''} to {folder.name}")
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_cut_floor_again,)
