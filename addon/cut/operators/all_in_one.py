"""From model to sheets in one click: what is unmarked is proposed and marked, then all is checked and laid out."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import bpy
from bpy.types import Context, Event, Operator

from ...bends.operators.propose import put_on_meshes
from ...geometry.errors import GeometryError
from ...geometry.outcome import Proposal
from ...geometry.progress import Progress
from ...geometry.propose.proposed import Proposed
from ...host import reading, shown
from ...jobs import results
from ...jobs.background import Job
from ...jobs.operator import BackgroundOperator
from ...plot import proposing
from ...proof.operators.run import check_job, keep_current, something_to_cut, sum_up


class STOWFOLD_OT_model_to_sheets(BackgroundOperator, Operator):
    """Mark bends and breaks where you marked none, fold the parts back by arithmetic, lay them on sheets, show them"""

    bl_idname = "stowfold.model_to_sheets"
    bl_label = "From Model to Sheets"
    bl_options = {"REGISTER", "UNDO"}

    given_up = "Given up; what was known before stays"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return something_to_cut(cls, context)

    def invoke(self, context: Context, _event: Event) -> set[str]:
        return self.go(context, _first_job(context), modal=True)

    def execute(self, context: Context) -> set[str]:
        return self.go(context, _first_job(context), modal=False)

    def following(self, context: Context, made: Any) -> Job | None:
        """Write the proposal on the mesh and return the job that checks it."""
        if not isinstance(made, Proposed):
            return None
        if made.marks or made.cuts:
            put_on_meshes(context, made)
        return check_job(context)

    def finish(self, context: Context, made: results.Report) -> set[str]:
        report = keep_current(made, context.scene)
        level, sentence = sum_up(report)
        view = context.window_manager.stowfold
        if report.outcome is None or results.errors_in(report) or not report.outcome.layout.sheets:
            view.step = "PROOF"
        else:
            view.step, view.show_sheets = "CUT", True
            if not bpy.app.background:
                bpy.ops.stowfold.frame_sheets()
        # of an error the host would open a window over the list that tells the same
        self.report({"WARNING"} if level == "ERROR" else {level}, sentence)
        return {"FINISHED"}


def _first_job(context: Context) -> Job:
    """Return the job that proposes what is unmarked; where the mesh cannot take it, the check with it in memory."""
    proposing.finish()
    scene = context.scene
    try:
        targets = reading.find_block_out(scene)
        solid = reading.read_solid(targets, scene)
        settings = replace(reading.read_settings(scene), propose=Proposal.ALL)
    except GeometryError:
        return check_job(context)  # it says why the model cannot be read
    try:
        for target in targets:
            shown.check_own_points(target)
            shown.check_own_edges(target)
    except GeometryError:
        # modifiers stand between the mesh and what is cut
        scene.stowfold.propose = Proposal.ALL.name
        return check_job(context)

    def work(progress: Progress) -> Proposed:
        from ...geometry.flow.unfolding import propose

        try:
            return propose(solid, settings)
        except GeometryError:
            # the check says what is wrong with the model
            return Proposed()

    return Job("Proposing", work)


CLASSES = (STOWFOLD_OT_model_to_sheets,)
