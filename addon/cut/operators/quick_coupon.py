"""The quick coupon: a test-fit of this building is written, and the form for its readings opened."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

from bpy.props import BoolProperty
from bpy.types import Context, Event, Operator

from ...geometry.durations import about
from ...host.measuring import begin_quick_readings
from ...jobs.reporting import report_errors
from ...proof.operators.run import NeedsOutcome, something_to_cut
from ...window.asking import AsksForFolder
from ...window.earlier import refuse_earlier

if TYPE_CHECKING:
    from ...geometry.outcome import Outcome


class STOWFOLD_OT_cut_quick_coupon(AsksForFolder, NeedsOutcome, Operator):
    """Write a test-fit of this building: ten minutes of laser for its corners, joiner, tab and slot, and a page"""

    bl_idname = "stowfold.cut_quick_coupon"
    bl_label = "Quick Coupon of This Building..."
    bl_options = {"UNDO"}

    given_up = "The quick coupon was given up; no file was written"

    overwrite: BoolProperty(
        name="Replace Earlier Files",
        description="Replace a quick coupon that already lies in the folder",
        default=False,
    )

    @classmethod
    def poll(cls, context: Context) -> bool:
        return something_to_cut(cls, context)

    @report_errors()
    def invoke(self, context: Context, _event: Event) -> set[str]:
        return self.browse(context)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        self.folder()
        return self.with_outcome(context, modal=False)

    def go_on(self, context: Context, outcome: Outcome) -> set[str]:
        """Write the scraps and the page, and open the form."""
        from ...geometry.paper.quick_page import deliver_quick_coupon, make_quick_coupon

        folder = self.folder()
        coupon = make_quick_coupon(outcome)
        if not self.overwrite:
            refuse_earlier(folder, pattern="quick-coupon*", between=" and ")
        written = deliver_quick_coupon(coupon, outcome, folder, date=datetime.date.today().isoformat())
        begin_quick_readings(context.scene.stowfold.coupon, coupon.plans, outcome.settings.as_cut.walls)
        said = f"; without {', '.join(coupon.left_out)}" if coupon.left_out else ""
        self.report({"INFO"}, f"{len(written)} files in '{folder.name}', {about(coupon.seconds)} of laser{said}")
        return {"FINISHED"}

    def draw(self, _context: Context) -> None:
        column = self.layout.column()
        column.label(text="Writes a scrap to cut and a page to fill in.")
        column.prop(self, "overwrite")


CLASSES = (STOWFOLD_OT_cut_quick_coupon,)
