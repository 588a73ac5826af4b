"""The floor cut again: the maker puts the walls up, measures them, and gets slots where they do stand."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import Context, Event, Operator

from ...geometry.errors import GeometryError
from ...host.lengths import millimetres
from ...host.reading import as_typed
from ...jobs import results
from ...jobs.background import Job
from ...jobs.operator import BackgroundOperator
from ...proof.operators.run import keep_current, read_task, something_to_cut, work_out

if TYPE_CHECKING:
    from ...geometry.outcome import Outcome


class STOWFOLD_OT_cut_floor_again(BackgroundOperator, Operator):
    """Write the floor alone again, for walls as they measure over all once put up"""

    bl_idname = "stowfold.cut_floor_again"
    bl_label = "Cut Floor Again"

    given_up = "The floor was given up; no file was written"

    #: Whether folder and sizes are known.
    _chosen = False

    directory: StringProperty(name="Folder", description="Folder that takes the floor's sheets", subtype="DIR_PATH")
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})
    length: millimetres("Length", "Over the outer faces of the walls, the longer way, beside the joiners", 0.0)
    width: millimetres("Width", "Over the outer faces of the walls, the shorter way, beside the joiners", 0.0)

    @classmethod
    def poll(cls, context: Context) -> bool:
        return something_to_cut(cls, context)

    def invoke(self, context: Context, _event: Event) -> set[str]:
        results.refresh_staleness(context.scene)
        return self._measure_up(context, modal=True)

    def execute(self, context: Context) -> set[str]:
        if not self.directory:
            self.report({"ERROR"}, "No folder was chosen; choose one for the floor's sheets")
            return {"CANCELLED"}
        self._chosen = True
        return self._measure_up(context, modal=False)

    def _measure_up(self, context: Context, *, modal: bool) -> set[str]:
        """Go on with what the last check made, or with a new one where there is none that still holds."""
        report = results.shown(context)
        if report is not None and report.outcome is not None and not report.stale:
            return self._go_on(context, report)
        task = read_task(context)
        return self.go(context, Job("Checking", lambda job: work_out(task, job)), modal=modal)

    def finish(self, context: Context, made: results.Report) -> set[str]:
        return self._go_on(context, keep_current(made, context.scene))

    def _go_on(self, context: Context, report: results.Report) -> set[str]:
        """Ask for folder and sizes, or write where they are known."""
        if report.outcome is None:
            self.report({"ERROR"}, report.failure or "Nothing could be made")
            return {"CANCELLED"}
        if self._chosen:
            return self._write(report.outcome)
        if report.stale:
            self.report({"WARNING"}, "The model was changed while it was checked; start again once it rests")
            return {"CANCELLED"}
        return self._ask(context, report.outcome)

    def _ask(self, context: Context, outcome: Outcome) -> set[str]:
        from ...geometry.flow.recut_floor import drawn_size

        try:
            self.length, self.width = drawn_size(outcome)
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        if self.waited:
            # an operator that waited for a thread cannot open the file browser as well: another one does
            bpy.ops.stowfold.cut_floor_again("INVOKE_DEFAULT", directory=self.directory)
            return {"FINISHED"}
        if not self.directory:
            self.directory = context.window_manager.stowfold.cut_folder or bpy.path.abspath("//")
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def _write(self, outcome: Outcome) -> set[str]:
        from ...geometry.flow.recut_floor import deliver_floor, floor_again

        folder = Path(bpy.path.abspath(self.directory))
        try:
            again = floor_again(outcome, (as_typed(self.length), as_typed(self.width)))
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
