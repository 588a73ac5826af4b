"""Parts cut again: the maker ticks what was scorched, broken or lost, and gets sheets with these parts alone."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

import bpy
from bpy.props import BoolProperty, CollectionProperty, StringProperty
from bpy.types import Context, Event, Operator, PropertyGroup

from ...geometry.durations import about
from ...geometry.errors import BadSettingError
from ...jobs.reporting import report_errors
from ...proof.operators.run import NeedsOutcome, something_to_cut
from ...window.asking import AsksForFolder
from ...window.earlier import refuse_earlier

if TYPE_CHECKING:
    from ...geometry.outcome import Outcome

#: Of the files that would be replaced so many are named.
_NAMED = 3

#: More parts than this are listed in three columns, and more than a third of it in two.
_TALL = 60


class StowfoldTick(PropertyGroup):
    """A part that may be ticked. name: its id."""

    label: StringProperty(name="Label")
    taken: BoolProperty(name="Cut Again", description="Cut this part again")


class STOWFOLD_OT_choose_again(NeedsOutcome, Operator):
    """Choose parts to cut again alone, on new sheets; the sheets of the building stay as they are"""

    bl_idname = "stowfold.choose_again"
    bl_label = "Cut Parts Again"

    part: StringProperty(name="Part", description="Part that is ticked from the start", options={"SKIP_SAVE"})
    ticks: CollectionProperty(type=StowfoldTick, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: Context) -> bool:
        return something_to_cut(cls, context)

    @report_errors()
    def invoke(self, context: Context, _event: Event) -> set[str]:
        return self.with_outcome(context, modal=True)

    def go_on(self, context: Context, outcome: Outcome) -> set[str]:
        if self.waited:
            # an operator that waited for a thread cannot open a dialog as well: another one does
            bpy.ops.stowfold.choose_again("INVOKE_DEFAULT", part=self.part)
            return {"FINISHED"}
        self.ticks.clear()
        for part in sorted(outcome.pieces, key=lambda part: part.id):
            tick = self.ticks.add()
            tick.name, tick.label, tick.taken = part.id, part.label, part.id == self.part
        columns = _columns(len(self.ticks))
        return context.window_manager.invoke_props_dialog(
            self, width=280 * columns, title="Cut Parts Again", confirm_text="Choose Folder"
        )

    def draw(self, _context: Context) -> None:
        column = self.layout.column()
        column.label(text="Only these are cut, on new sheets;")
        column.label(text="the sheets of the building stay.")
        grid = column.grid_flow(columns=_columns(len(self.ticks)), align=True)
        for tick in self.ticks:
            grid.prop(tick, "taken", text=f"{tick.name}  {tick.label}")

    @report_errors()
    def execute(self, _context: Context) -> set[str]:
        only = [tick.name for tick in self.ticks if tick.taken]
        if not only:
            raise BadSettingError("No part is ticked; tick at least one")
        bpy.ops.stowfold.cut_again("INVOKE_DEFAULT", only=",".join(only))
        return {"FINISHED"}


def _columns(count: int) -> int:
    return 1 if count <= _TALL // 3 else 2 if count <= _TALL else 3


class STOWFOLD_OT_cut_again(AsksForFolder, NeedsOutcome, Operator):
    """Write sheets with the chosen parts alone into a folder"""

    bl_idname = "stowfold.cut_again"
    bl_label = "Cut Again"

    only: StringProperty(name="Parts", description="Ids of the parts, with commas between", options={"SKIP_SAVE"})
    overwrite: BoolProperty(
        name="Replace Earlier Files",
        description="Replace sheets of parts cut again that already lie in the folder",
        default=False,
    )

    @classmethod
    def poll(cls, context: Context) -> bool:
        return something_to_cut(cls, context)

    def invoke(self, context: Context, _event: Event) -> set[str]:
        return self.browse(context)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        from ...geometry.flow.recut_parts import PREFIX

        # the disk may not even take the folder's name, whatever is to be replaced
        refuse_earlier(self.folder(), pattern=f"{PREFIX}-*.svg", most=0 if self.overwrite else _NAMED)
        return self.with_outcome(context, modal=False)

    def go_on(self, context: Context, outcome: Outcome) -> set[str]:
        from ...geometry.flow.recut import deliver_again
        from ...geometry.flow.recut_parts import cut_again

        folder = self.folder()
        again = cut_again(outcome, [name.strip() for name in self.only.split(",") if name.strip()])
        written = deliver_again(again, folder, date=datetime.date.today().isoformat())
        if not written:
            raise BadSettingError(again.findings[0].message)
        context.window_manager.stowfold.cut_folder = str(folder)
        sheets = f"{len(written)} sheet{'s' if len(written) != 1 else ''}"
        took = about(again.seconds["total"])
        names = ", ".join(part.id for part in again.parts)
        self.report({"INFO"}, f"Wrote {sheets} with {names} to {folder.name}, {took} of laser time")
        return {"FINISHED"}

    def draw(self, _context: Context) -> None:
        column = self.layout.column()
        column.label(text=f"Writes again-….svg with {self.only.replace(',', ', ')}.")
        column.prop(self, "overwrite")


CLASSES = (StowfoldTick, STOWFOLD_OT_choose_again, STOWFOLD_OT_cut_again)
