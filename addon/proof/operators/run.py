"""Checking: the whole flow on the block-out, its outcome kept for the sidebar and the export."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import bpy
from bpy.types import Operator

from ...geometry.errors import BadSettingError, CancelledError, GeometryError
from ...geometry.findings import Severity
from ...geometry.progress import Progress
from ...host import reading
from ...host.people import STATURES
from ...host.table import read_seated
from ...host.views import redraw_views
from ...jobs import results
from ...jobs.background import Job
from ...jobs.operator import BackgroundOperator, nothing_runs
from ...jobs.reporting import missing_package, needs, report_errors, warn
from ...plot import proposing
from ..summary import parts_word

if TYPE_CHECKING:
    from ...geometry.outcome import Outcome, Settings
    from ...geometry.play.table_top import AtTable
    from ...geometry.solid.solid import Solid

_NOTHING = "Nothing could be made"

#: Share of a check that the flow takes where somebody sits at the table.
_FLOW = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """Everything that a run needs, read from the scene at once.

    objects: session ids of the block-out's objects. at_table: who is at the table, or why that cannot be read.
    failure: the sentence that says why the building cannot be read.
    """

    objects: tuple[int, ...]
    title: str
    solid: Solid | None = None
    settings: Settings | None = None
    at_table: AtTable | GeometryError | None = None
    failure: str | None = None


def read_task(context: bpy.types.Context) -> Task:
    """Read the scene's block-out, its settings and who sits at the table."""
    scene = context.scene
    objects: tuple[bpy.types.Object, ...] = ()
    solid = settings = at_table = failure = None
    try:
        objects = reading.find_block_out(scene)
        solid = reading.read_solid(objects, scene)
        settings = reading.read_settings(scene)
        at_table = read_seated(scene)
    except GeometryError as error:
        failure = str(error)
    except ModuleNotFoundError as error:
        failure = missing_package(error)
    title = reading.title_of(objects)
    if not objects and context.object is not None:
        objects = (context.object,)
    # 0 is no object's id: what failed before any object was found is still the latest report
    uids = tuple(target.session_uid for target in objects) or (0,)
    return Task(uids, title, solid, settings, at_table, failure)


def work_out(task: Task, progress: Progress) -> results.Report:
    """Run the flow on what was read, and judge it from the table; plain values only, for any thread.

    The failure's sentence is in the report where the building could not be made or even be read. Raises
    CancelledError where the work was given up.
    """
    outcome, failure = None, task.failure
    if task.solid is not None and task.settings is not None and failure is None:
        try:
            # the packages of the flow are imported only here, so that the add-on can say what is missing
            from ...geometry.flow.judge import judge
            from ...geometry.flow.run import run

            flowed = 1.0 if task.at_table is None else _FLOW
            outcome = run(task.solid, task.settings, title=task.title, progress=progress.part(0.0, flowed))
            outcome = judge(outcome, task.at_table, STATURES, progress=progress.part(flowed, 1.0))
        except CancelledError:
            raise
        except GeometryError as error:
            failure = str(error)
        except ModuleNotFoundError as error:
            failure = missing_package(error)
    return results.Report(task.objects, task.solid, task.settings, outcome, failure)


def keep_current(report: results.Report, scene: bpy.types.Scene) -> results.Report:
    """Keep a report and return it, stale where the model was changed while it was made."""
    results.keep(report)
    if report.outcome is not None:
        results.refresh_staleness(scene)
    redraw_views()
    return results.latest() or report


def sum_up(report: results.Report) -> tuple[str, str]:
    """Return the report type of the host and one sentence about a finished run."""
    if report.outcome is None:
        return "ERROR", report.failure or _NOTHING
    outcome = report.outcome
    counts = {level: sum(finding.severity is level for finding in outcome.findings) for level in Severity}
    said = [f"{count} {level.value}{'s' if count != 1 else ''}" for level, count in counts.items() if count]
    sheets = len(outcome.layout.sheets)
    made = f"{parts_word(outcome)} on {sheets} sheet{'s' if sheets != 1 else ''}; "
    made += "the proof holds" if outcome.proof.holds else "the proof fails"
    if not outcome.parts:
        made = "no part could be made"
    since = "; the model was changed meanwhile, check again" if report.stale else ""
    trouble = counts[Severity.ERROR] or not outcome.proof.holds or outcome.hold.loose
    # what stops the sheets comes before what could be made all the same
    return "WARNING" if trouble or since else "INFO", f"{', '.join(said) if said else 'No findings'}; {made}{since}"


def something_to_cut(operator: type[Operator], context: bpy.types.Context) -> bool:
    """Return whether the scene holds a mesh and no work goes on; let the operator say what to do otherwise."""
    meshes = any(target.type == "MESH" for target in context.scene.objects)
    return needs(operator, meshes, "Model the building's walls as a mesh first") and nothing_runs(operator)


def check_job(context: bpy.types.Context) -> Job:
    """Read the scene and return the job that checks its building; the job's value is a Report."""
    proposing.finish()
    task = read_task(context)
    return Job("Checking", lambda job: work_out(task, job))


class NeedsOutcome(BackgroundOperator):
    """A mixin for operators that go on with an outcome of the model as it is: the last check's, or a new one's."""

    given_up = "The check was given up; nothing was written"

    def with_outcome(self, context: bpy.types.Context, *, modal: bool) -> set[str]:
        """Have ``go_on`` called, after a check where none is up to date; return what the host expects.

        modal: whether that check may run in the background.
        """
        results.refresh_staleness(context.scene)
        report = results.shown(context)
        if report is not None and report.outcome is not None and not report.stale and report.laid:
            return self.go_on(context, report.outcome)
        return self.go(context, check_job(context), modal=modal)

    @report_errors()
    def finish(self, context: bpy.types.Context, made: results.Report) -> set[str]:
        """Keep the new report and go on with its outcome."""
        report = keep_current(made, context.scene)
        if report.outcome is None:
            raise BadSettingError(report.failure or _NOTHING)
        if report.stale:
            return warn(self, "The model was changed while it was checked; start again once it rests")
        return self.go_on(context, report.outcome)

    def go_on(self, context: bpy.types.Context, outcome: Outcome) -> set[str]:
        """Do what the operator does with an outcome and return its result. May raise GeometryError."""
        raise NotImplementedError


class STOWFOLD_OT_check(BackgroundOperator, Operator):
    """Turn the block-out into parts, fold them back by arithmetic, and list what is worth knowing"""

    bl_idname = "stowfold.check"
    bl_label = "Check Building"

    given_up = "The check was given up; what was known before stays"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return something_to_cut(cls, context)

    def invoke(self, context: bpy.types.Context, _event: bpy.types.Event) -> set[str]:
        return self.go(context, check_job(context), modal=True)

    def execute(self, context: bpy.types.Context) -> set[str]:
        return self.go(context, check_job(context), modal=False)

    def finish(self, context: bpy.types.Context, made: results.Report) -> set[str]:
        level, sentence = sum_up(keep_current(made, context.scene))
        self.report({level}, sentence)
        return {"CANCELLED"} if level == "ERROR" else {"FINISHED"}


CLASSES = (STOWFOLD_OT_check,)
