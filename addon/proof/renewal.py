"""Renewal: the check is made again after every edit, in a thread and without a click.

An edit only asks for it. As soon as the model rests for a moment it is read and compared with what the last report
was made from; where it differs, parts and proof are made first and kept, then sheets and what players see. Another
edit gives all of that up and begins again. What is read and kept is so on the host's own thread, between two draws.
Nothing is written to the file, so that nothing of it is undone and no edit follows from it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import TYPE_CHECKING, Any

import bpy
import numpy as np
from bpy.app.handlers import persistent

from ..geometry.errors import CancelledError, GeometryError
from ..geometry.findings import in_order
from ..geometry.progress import Progress
from ..host.handlers import Handlers
from ..host.own_preferences import own_preferences
from ..host.people import STATURES
from ..host.views import redraw_views
from ..jobs import background, results
from ..jobs.background import Job
from ..jobs.reporting import missing_package
from ..jobs.resting import is_busy
from .operators.run import Task, read_task

if TYPE_CHECKING:
    from ..geometry.findings import Finding
    from ..geometry.flow.run import Made
    from ..geometry.outcome import Outcome
    from ..geometry.play.table_top import AtTable

__all__ = ["HANDLERS", "begin", "forget", "is_wanted"]

#: From the last edit to reading the model, s: an edit that is dragged comes every 0.02 to 0.04 s.
_SOON = 0.05

#: How often the window looks whether the thread has ended, s.
_LOOK = 0.01

#: How often it looks whether the model may be read again while it plays, renders or is moved by hand, s.
_WAIT = 0.1


@dataclass(slots=True)
class _State:
    """What goes on. asked: an edit came for which nothing was read yet.

    job: in its thread, perhaps given up. task: what it was read from. table: what the last report was judged from.
    early: what was said of the parts and the proof kept last; the rest was said of sheets, players and real boards.
    """

    asked: bool = False
    job: Job | None = None
    task: Task | None = None
    early: frozenset[Finding] | None = None
    table: AtTable | GeometryError | None = None


_state = _State()


def _has_window() -> bool:
    """Return whether somebody looks; without a window the host calls no timers."""
    return not bpy.app.background


def is_wanted() -> bool:
    """Return whether the maker wants the check renewed, and whether there is anything to check."""
    chosen = own_preferences()
    if not _has_window() or (chosen is not None and not chosen.renew):
        return False
    scene = bpy.context.scene
    return results.latest() is not None or any(target.stowfold.is_block_out for target in scene.objects)


def begin() -> bool:
    """Renew the check once the model rests, and return whether that is wanted; what is under way is given up."""
    if not is_wanted():
        _give_up()
        results.set_checking(False)
        return False
    _state.asked = True
    _give_up()
    _call_in(_SOON)
    return True


def forget() -> None:
    """Give up what is under way."""
    _give_up()
    job, _state.job = _state.job, None
    if job is not None:
        background.leave_beside(job)
    _state.asked, _state.task, _state.early, _state.table = False, None, None, None
    results.set_checking(False)


def _give_up() -> None:
    if _state.job is not None:
        _state.job.cancel()


def _call_in(seconds: float) -> None:
    if bpy.app.timers.is_registered(_go_on):
        bpy.app.timers.unregister(_go_on)
    bpy.app.timers.register(_go_on, first_interval=seconds)


def _go_on() -> float | None:
    """Do what comes next, and return when to look again."""
    job = _state.job
    if job is not None:
        if not job.done:
            return _LOOK
        _take(job)
    elif _state.asked:
        if is_busy():
            return _WAIT
        _state.asked = False
        _begin_parts()
        results.set_checking(_state.job is not None)
    return _LOOK if _state.job is not None or _state.asked else None


def _take(job: Job) -> None:
    """Keep what a thread came to, where no edit came meanwhile."""
    background.leave_beside(job)
    _state.job = None
    if not _state.asked:
        _keep(job)
        # the proof is known; sheets and what players see follow
        results.set_checking(False)


def _begin_parts() -> None:
    """Read the model, and where it is another one than the last report's, begin to make its parts."""
    # after undo the host has not yet worked out where things stand
    bpy.context.view_layer.update()
    last = results.latest()
    if last is not None and not _is_left(last):
        results.drop_all()
        redraw_views()
        if not is_wanted():
            return
        last = None
    task = read_task(bpy.context)
    if last is not None and _is_read_alike(last, task):
        _call_current(last)
        if not last.laid:
            _start(task, lambda progress: _make(task, progress))
        elif last.outcome is not None and not _alike(_state.table, _of_table(task)):
            _judge_again(last.outcome, task)
        return
    if task.solid is None or task.settings is None or task.failure is not None:
        _keep_report(results.Report(task.objects, task.solid, task.settings, None, task.failure), task)
        return
    _start(task, lambda progress: _make(task, progress))


def _is_read_alike(report: results.Report, task: Task) -> bool:
    """Return whether a task was read from the same model as a report."""
    if report.solid is None or task.solid is None:
        return report.solid is task.solid and report.failure == task.failure
    same = report.objects == task.objects and report.settings == task.settings
    return same and report.solid.is_same(task.solid)


def _is_left(report: results.Report) -> bool:
    """Return whether anything of the building that a report is about is still in the scene."""
    return any(target.session_uid in report.objects for target in bpy.context.scene.objects)


def _call_current(report: results.Report) -> None:
    if report.stale:
        results.keep(replace(report, stale=False))
        redraw_views()


def _start(task: Task, work: Callable[[Progress], object]) -> None:
    _state.task = task
    _state.job = Job("Checking", work)
    background.begin_beside(_state.job)


def _make(task: Task, progress: Progress) -> Made:
    from ..geometry.flow.run import make_parts

    assert task.solid is not None and task.settings is not None
    return make_parts(task.solid, task.settings, title=task.title, progress=progress)


def _finish(made: Made, task: Task, progress: Progress) -> Outcome:
    from ..geometry.flow.judge import judge
    from ..geometry.flow.run import finish

    outcome = finish(made, progress=progress.part(0.0, 0.5))
    return judge(outcome, task.at_table, STATURES, progress=progress.part(0.5, 1.0))


def _judge_again(outcome: Outcome, task: Task) -> None:
    """Begin to judge a building again where only its table has changed."""
    from ..geometry.flow.judge import judge

    of_play = () if outcome.play is None else outcome.play.findings
    bare = replace(outcome, play=None, findings=tuple(said for said in outcome.findings if said not in of_play))
    _start(task, lambda progress: judge(bare, task.at_table, STATURES, progress=progress))


def _keep(job: Job) -> None:
    """Keep what a thread came to, and begin what follows from it."""
    from ..geometry.flow.run import Made

    task = _state.task
    assert task is not None
    try:
        value = job.value()
    except CancelledError:
        return
    except GeometryError as error:
        _keep_report(results.Report(task.objects, task.solid, task.settings, None, str(error)), task)
        return
    except ModuleNotFoundError as error:
        _keep_report(results.Report(task.objects, task.solid, task.settings, None, missing_package(error)), task)
        return
    if isinstance(value, Made):
        before = results.latest()
        earlier = None if before is None else before.outcome if before.laid else before.earlier
        outcome = value.outcome if earlier is None else _with_late(value.outcome, earlier)
        _state.early = frozenset(value.outcome.findings)
        report = results.Report(task.objects, task.solid, task.settings, outcome, None, laid=False, earlier=earlier)
        _keep_report(report, task)
        _start(task, lambda progress: _finish(value, task, progress))
        return
    _keep_report(results.Report(task.objects, task.solid, task.settings, value, None), task)


def _keep_report(report: results.Report, task: Task) -> None:
    _state.table = _of_table(task)
    results.keep(report)
    redraw_views()


def _with_late(outcome: Outcome, earlier: Outcome) -> Outcome:
    """Return an outcome with the sheets and what else was known late before, until that is known again."""
    late = () if _state.early is None else (said for said in earlier.findings if said not in _state.early)
    return replace(
        outcome,
        layout=earlier.layout,
        lines=earlier.lines,
        sheet_seconds=earlier.sheet_seconds,
        fit=earlier.fit,
        assembly=earlier.assembly,
        play=earlier.play,
        findings=in_order([*outcome.findings, *late]),
    )


def _of_table(task: Task) -> AtTable | GeometryError | None:
    """Return what a building is judged from; which of it is selected changes nothing."""
    table = task.at_table
    return table if table is None or isinstance(table, GeometryError) else replace(table, active=None)


def _alike(one: Any, other: Any) -> bool:
    """Return whether two plain values are equal, arrays in them element by element."""
    if type(one) is not type(other):
        return False
    if isinstance(one, np.ndarray):
        return np.array_equal(one, other)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(_alike, one, other))
    if isinstance(one, GeometryError):
        return str(one) == str(other)
    if is_dataclass(one):
        return all(_alike(getattr(one, part.name), getattr(other, part.name)) for part in fields(one))
    return bool(one == other)


@persistent
def _on_load(*_ignored: object) -> None:
    begin()


@persistent
def _before_load(*_ignored: object) -> None:
    forget()


@dataclass(frozen=True, slots=True)
class _Renewing:
    """What is attached: the handlers, and the function that edits call."""

    handlers: Handlers

    def attach(self) -> None:
        """Begin to renew the check after edits."""
        self.handlers.attach()
        results.renewed_by(begin)

    def detach(self) -> None:
        """Leave the check to clicks."""
        results.renewed_by(None)
        self.handlers.detach()


HANDLERS = _Renewing(Handlers((("load_pre", _before_load), ("load_post", _on_load)), timers=(_go_on,), forget=forget))
