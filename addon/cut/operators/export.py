"""Export: sheets, report and guide into a folder of the building's own, and the way to them afterwards."""

from __future__ import annotations

import datetime
import os
from dataclasses import dataclass
from pathlib import Path

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import Operator

from ...geometry.errors import BadSettingError, CancelledError, GeometryError, UnreadableError
from ...geometry.progress import Progress
from ...host import reading
from ...jobs import results
from ...jobs.background import Job
from ...jobs.operator import BackgroundOperator
from ...jobs.reporting import needs, report_errors
from ...plot import proposing
from ...proof.operators.run import Task, keep_current, read_task, something_to_cut, sum_up, work_out
from ...window.earlier import refuse_files
from ...window.words import dialog_paragraph
from .. import delivery

#: Share of an export that is over when its files are drawn.
_WORKED_OUT = 0.7

#: Of the files that would be replaced so many are named.
_NAMED = 6

#: Letters in a line beside the file browser, as wide as the host opens it.
_LETTERS = 34

_NOT_SAVED = "This file is not saved yet. Save it first to have its cut files beside it, or choose any place."


@dataclass(frozen=True, slots=True, eq=False)
class _Delivery:
    """What an export came to: the report, the files written, or the sentence that says why there are none."""

    report: results.Report
    folder: Path
    written: tuple[Path, ...] = ()
    failure: str | None = None


def _deliver(progress: Progress, task: Task, folder: Path, *, anyway: bool, coupon: bool) -> _Delivery:
    """Work out what was read and write its files; plain values only, for any thread."""
    report = work_out(task, progress.part(0.0, _WORKED_OUT))
    if report.outcome is None:
        return _Delivery(report, folder)
    from ...geometry.flow.deliver import deliver

    try:
        written = deliver(
            report.outcome,
            folder,
            anyway=anyway,
            coupon=coupon,
            date=datetime.date.today().isoformat(),
            progress=progress.part(_WORKED_OUT, 1.0),
        )
    except CancelledError:
        raise
    except GeometryError as error:
        return _Delivery(report, folder, failure=str(error))
    return _Delivery(report, folder, written)


class STOWFOLD_OT_export(BackgroundOperator, Operator):
    """Write the cut files of the building into a folder: sheets as SVG, report and guide"""

    bl_idname = "stowfold.export"
    bl_label = "Export Cut Files"

    given_up = "The export was given up; no file was written"

    #: Whether the host's file browser asks, and not a script that waits for the files.
    _browsed = False

    directory: StringProperty(
        name="Folder", description="Folder that takes the cut files", subtype="DIR_PATH", options={"SKIP_SAVE"}
    )
    filename: StringProperty(
        name="Folder Name",
        description="Folder in it that is made for the cut files; empty for none",
        subtype="FILE_NAME",
        options={"SKIP_SAVE"},
    )
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})
    anyway: BoolProperty(
        name="Sheets in Spite of Errors",
        description="Write sheets although findings say that the building will not fit together",
        default=False,
    )
    coupon: BoolProperty(
        name="With Quick Coupon",
        description="Write a test-fit of this building beside the sheets: ten minutes of laser, and a page to fill in",
        default=False,
    )
    overwrite: BoolProperty(
        name="Replace Earlier Files",
        description="Replace sheets, report and guide in the folder that are not of this building, or were edited",
        default=False,
        options={"SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return something_to_cut(cls, context)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        if not self.directory:
            folder = delivery.proposed_folder(_title(context.scene))
            self.directory, self.filename = f"{folder.parent}{os.sep}", folder.name
        self._browsed = True
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    @report_errors()
    def execute(self, context: bpy.types.Context) -> set[str]:
        if not self.directory:
            raise BadSettingError("No folder was chosen; choose one for the cut files")
        proposing.finish()
        folder, task, anyway, coupon = self._folder(), read_task(context), self.anyway, self.coupon
        # the disk may not even take the folder's name, whatever is to be replaced
        foreign = delivery.foreign_files(folder, task.title)
        refuse_files(folder, () if self.overwrite else foreign[:_NAMED])
        job = Job("Making cut files", lambda job: _deliver(job, task, folder, anyway=anyway, coupon=coupon))
        return self.go(context, job, modal=self._browsed)

    def _folder(self) -> Path:
        """Return the folder that was chosen; who went into the one that was named means that one."""
        place = Path(bpy.path.abspath(self.directory)).absolute()
        folder = place / self.filename
        return place if place.name == self.filename and not folder.exists() else folder

    @report_errors()
    def finish(self, context: bpy.types.Context, made: _Delivery) -> set[str]:
        level, sentence = sum_up(keep_current(made.report, context.scene))
        if made.report.outcome is None or made.failure is not None:
            raise BadSettingError(made.failure or sentence)
        context.window_manager.stowfold.cut_folder = str(made.folder)
        delivery.remember(made.report.outcome.title, made.folder)
        if not any(path.suffix == ".svg" for path in made.written):
            self.report({"WARNING"}, f"Only report and guide were written, no sheets: {sentence}")
        else:
            self.report({level}, f"{len(made.written)} files written to '{made.folder.name}': {sentence}")
        return {"FINISHED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.layout.column()
        dialog_paragraph(
            column, "Writes sheets, overview, report and guide into the folder that is named here.", letters=_LETTERS
        )
        if not bpy.data.filepath:
            dialog_paragraph(column, _NOT_SAVED, letters=_LETTERS, icon="INFO")
        report = results.shown(context)
        if report is not None and report.outcome is not None:
            errors, sheets = len(results.errors_in(report)), len(report.outcome.layout.sheets)
            if errors and not self.anyway:
                dialog_paragraph(
                    column,
                    f"{_count(errors, 'error')} at the last check: no sheets will be written.",
                    letters=_LETTERS,
                    icon="CANCEL",
                )
                dialog_paragraph(column, "They are listed under Proof.", letters=_LETTERS, icon="BLANK1")
            else:
                dialog_paragraph(column, f"Last check: {_count(sheets, 'sheet')}", letters=_LETTERS, icon="FILE")
            if errors:
                column.prop(self, "anyway")
        # below the words: Return, which accepts, ticks a box under the pointer, and that is where the button was
        column.prop(self, "coupon")
        column.prop(self, "overwrite")


def _title(scene: bpy.types.Scene) -> str:
    """Return what the building is called; nothing where there is none that could be read."""
    try:
        return reading.title_of(reading.find_block_out(scene))
    except GeometryError:
        return ""


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


class _Delivered(Operator):
    """What opens something of the last delivery."""

    @classmethod
    def target(cls, folder: Path) -> Path:
        """Return what is opened."""
        raise NotImplementedError

    @classmethod
    def poll(cls, _context: bpy.types.Context) -> bool:
        folder = delivery.last()
        if folder is None:
            return needs(cls, False, "Export the cut files first")
        target = cls.target(folder)
        return needs(cls, target.exists(), f"'{target}' is gone; export the cut files again")

    def open(self, path: Path) -> set[str]:
        """Have the system open it, as far as the host can tell."""
        raise NotImplementedError

    @report_errors()
    def execute(self, _context: bpy.types.Context) -> set[str]:
        folder = delivery.last()
        assert folder is not None  # poll looked
        path = self.target(folder)
        try:
            opened = self.open(path) == {"FINISHED"}
        except RuntimeError:
            opened = False
        if not opened:
            raise UnreadableError(f"The system did not open it; open '{path}' by hand")
        # the host does not tell whether there is a program for it
        self.report({"INFO"}, f"The system was asked to open '{path}'")
        return {"FINISHED"}


class STOWFOLD_OT_open_guide(_Delivered):
    """Open the building guide of the last export in the browser"""

    bl_idname = "stowfold.open_guide"
    bl_label = "Open Guide"

    @classmethod
    def target(cls, folder: Path) -> Path:
        return folder / delivery.GUIDE

    def open(self, path: Path) -> set[str]:
        return set(bpy.ops.wm.url_open(url=path.as_uri()))


class STOWFOLD_OT_open_folder(_Delivered):
    """Open the folder with the files of the last export"""

    bl_idname = "stowfold.open_folder"
    bl_label = "Open Folder"

    @classmethod
    def target(cls, folder: Path) -> Path:
        return folder

    def open(self, path: Path) -> set[str]:
        return set(bpy.ops.wm.path_open(filepath=str(path)))


CLASSES = (STOWFOLD_OT_export, STOWFOLD_OT_open_guide, STOWFOLD_OT_open_folder)
