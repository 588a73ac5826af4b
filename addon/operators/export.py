"""Export: sheets, report and guide into a folder that the maker chooses."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import Operator

from .. import results
from ..background import Job
from ..geometry.errors import CancelledError, GeometryError
from .beside import Beside
from .earlier import refuse_earlier
from .run import Task, keep_current, read_task, something_to_cut, sum_up, work_out

#: Share of an export that is over when its files are drawn.
_WORKED_OUT = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class _Delivery:
    """What an export came to: the report, the files written, or the sentence that says why there are none."""

    report: results.Report
    folder: Path
    written: tuple[Path, ...] = ()
    failure: str | None = None


def _deliver(job: Job, task: Task, folder: Path, *, anyway: bool) -> _Delivery:
    """Work out what was read and write its files; plain values only, for any thread."""
    report = work_out(task, job, share=_WORKED_OUT)
    if report.outcome is None:
        return _Delivery(report, folder)
    from ..geometry.chain import deliver

    try:
        written = deliver(
            report.outcome,
            folder,
            anyway=anyway,
            date=datetime.date.today().isoformat(),
            progress=lambda done: job.tell(_WORKED_OUT + (1.0 - _WORKED_OUT) * done),
            ready=job.settle,
        )
    except CancelledError:
        raise
    except GeometryError as error:
        return _Delivery(report, folder, failure=str(error))
    return _Delivery(report, folder, written)


class STOWFOLD_OT_export(Beside, Operator):
    """Write the cut files of the building into a folder: sheets as SVG, report and guide"""

    bl_idname = "stowfold.export"
    bl_label = "Export Cut Files"

    given_up = "The export was given up; no file was written"

    #: Whether the host's file browser asks, and not a script that waits for the files.
    _browsed = False

    directory: StringProperty(name="Folder", description="Folder that takes the cut files", subtype="DIR_PATH")
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})
    anyway: BoolProperty(
        name="Sheets in Spite of Errors",
        description="Write sheets although findings say that the building will not fit together",
        default=False,
    )
    overwrite: BoolProperty(
        name="Replace Earlier Files",
        description="Replace sheets, report and guide that already lie in the folder",
        default=False,
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return something_to_cut(cls, context)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        view = context.window_manager.stowfold
        if not self.directory:
            self.directory = view.cut_folder or bpy.path.abspath("//")
        self._browsed = True
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> set[str]:
        folder = Path(bpy.path.abspath(self.directory))
        if not self.directory:
            self.report({"ERROR"}, "No folder was chosen; choose one for the cut files")
            return {"CANCELLED"}
        try:
            # the disk may not even take the folder's name, whatever is to be replaced
            most = 0 if self.overwrite else 6
            refuse_earlier(folder, ("report.json", "guide.html", "overview.pdf"), pattern="sheet-*.svg", most=most)
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        task, anyway = read_task(context), self.anyway
        job = Job("Making cut files", lambda job: _deliver(job, task, folder, anyway=anyway))
        return self.go(context, job, beside=self._browsed)

    def finish(self, context: bpy.types.Context, made: _Delivery) -> set[str]:
        level, sentence = sum_up(keep_current(made.report, context.scene))
        if made.report.outcome is None or made.failure is not None:
            self.report({"ERROR"}, made.failure or sentence)
            return {"CANCELLED"}
        context.window_manager.stowfold.cut_folder = str(made.folder)
        sheets = sum(path.suffix == ".svg" for path in made.written)
        if not sheets:
            self.report({"WARNING"}, f"Only report and guide were written, no sheets: {sentence}")
        else:
            self.report({level}, f"{len(made.written)} files written to '{made.folder.name}': {sentence}")
        return {"FINISHED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.layout.column()
        column.label(text="Writes sheets, report.json and guide.html.")
        column.prop(self, "overwrite")
        column.prop(self, "anyway")
        report = results.for_object(context.object)
        if report is not None and report.outcome is not None:
            sheets = len(report.outcome.layout.sheets)
            column.label(text=f"Last check: {sheets} sheet{'' if sheets == 1 else 's'}")


CLASSES = (STOWFOLD_OT_export,)
