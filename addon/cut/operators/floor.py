"""The floor cut again: the maker puts the walls up, measures them, and gets slots where they do stand."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

import bpy
from bpy.types import Context, Event, Operator

from ...geometry.errors import BadSettingError
from ...host.lengths import millimetres
from ...host.reading import as_typed
from ...jobs.reporting import report_errors
from ...proof.operators.run import NeedsOutcome, something_to_cut
from ...window.asking import AsksForFolder

if TYPE_CHECKING:
    from ...geometry.outcome import Outcome


class STOWFOLD_OT_cut_floor_again(AsksForFolder, NeedsOutcome, Operator):
    """Write the floor again, and what changes on it, for walls as they measure over all once put up"""

    bl_idname = "stowfold.cut_floor_again"
    bl_label = "Cut Floor Again"

    given_up = "The floor was given up; no file was written"

    #: Whether folder and sizes are known.
    _chosen = False

    length: millimetres("Length", "Over the outer faces of the walls, the longer way, beside the joiners", 0.0)
    width: millimetres("Width", "Over the outer faces of the walls, the shorter way, beside the joiners", 0.0)

    @classmethod
    def poll(cls, context: Context) -> bool:
        return something_to_cut(cls, context)

    @report_errors()
    def invoke(self, context: Context, _event: Event) -> set[str]:
        return self.with_outcome(context, modal=True)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        self.folder()
        self._chosen = True
        return self.with_outcome(context, modal=False)

    def go_on(self, context: Context, outcome: Outcome) -> set[str]:
        """Ask for folder and sizes, or write where they are known."""
        return self._write(outcome) if self._chosen else self._ask(context, outcome)

    def _ask(self, context: Context, outcome: Outcome) -> set[str]:
        from ...geometry.flow.recut_floor import drawn_size

        self.length, self.width = drawn_size(outcome)
        if self.waited:
            # an operator that waited for a thread cannot open the file browser as well: another one does
            bpy.ops.stowfold.cut_floor_again("INVOKE_DEFAULT", directory=self.directory)
            return {"FINISHED"}
        return self.browse(context)

    def _write(self, outcome: Outcome) -> set[str]:
        from ...geometry.flow.recut import deliver_again
        from ...geometry.flow.recut_floor import again_words, floor_again

        folder = self.folder()
        again = floor_again(outcome, (as_typed(self.length), as_typed(self.width)))
        written = deliver_again(again, folder, date=datetime.date.today().isoformat())
        if not written:
            raise BadSettingError(again.findings[0].message)
        sheets = f"{len(written)} sheet{'s' if len(written) != 1 else ''}"
        self.report({"INFO"}, f"Wrote {sheets} to {folder.name}: {again_words(outcome, again)}")
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_cut_floor_again,)
