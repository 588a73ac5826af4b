"""Export: sheets, report and guide into a folder that the maker chooses."""

from __future__ import annotations

import datetime
from pathlib import Path

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import Operator

from .. import results
from ..geometry.errors import GeometryError
from .run import make, something_to_cut, sum_up


class STOWFOLD_OT_export(Operator):
    """Write the cut files of the building into a folder: sheets as SVG, report and guide"""

    bl_idname = "stowfold.export"
    bl_label = "Export Cut Files"

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
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def execute(self, context: bpy.types.Context) -> set[str]:
        folder = Path(bpy.path.abspath(self.directory))
        if not self.directory:
            self.report({"ERROR"}, "No folder was chosen; choose one for the cut files")
            return {"CANCELLED"}
        earlier = [name for name in ("report.json", "guide.html", "overview.pdf") if (folder / name).exists()]
        earlier += sorted(path.name for path in folder.glob("sheet-*.svg"))[:3] if folder.is_dir() else []
        if earlier and not self.overwrite:
            self.report(
                {"ERROR"},
                f"'{folder.name}' already holds {', '.join(earlier)}; "
                "tick Replace Earlier Files or choose another folder",
            )
            return {"CANCELLED"}
        report = make(context)
        level, sentence = sum_up(report)
        if report.outcome is None:
            self.report({level}, sentence)
            return {"CANCELLED"}
        from ..geometry.chain import deliver

        try:
            written = deliver(report.outcome, folder, anyway=self.anyway, date=datetime.date.today().isoformat())
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        context.window_manager.stowfold.cut_folder = str(folder)
        sheets = sum(path.suffix == ".svg" for path in written)
        if not sheets:
            self.report({"WARNING"}, f"Only report and guide were written, no sheets: {sentence}")
        else:
            self.report({level}, f"{len(written)} files written to '{folder.name}': {sentence}")
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
