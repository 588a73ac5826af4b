"""Mixins of operators: long work in the background, and the sheets of the last check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

import bpy
from bpy.types import Context, Event, Operator, Timer

from ..geometry.errors import BadSettingError
from ..host.views import redraw_sidebars, redraw_views
from . import background, results
from .background import Job
from .reporting import needs

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

__all__ = ["CLASSES", "BackgroundOperator", "NeedsSheets", "STOWFOLD_OT_give_up", "nothing_runs"]

#: Work that ends within so many seconds is waited for: nothing flickers.
_AT_ONCE = 0.2

#: How often the window looks how far the work is, s.
_LOOK = 0.1

#: Result returned when the user cancels: of an operator that returns CANCELLED the host shows error reports alone.
_GIVEN_UP = {"FINISHED"}

_NO_SHEETS = "No sheets are known; choose Check Building first"


class NeedsSheets:
    """A mixin for operators that use the sheets of the last check."""

    @classmethod
    def poll(cls, context: Context) -> bool:
        """Return whether sheets are known; tell the maker what to do where they are not."""
        return needs(cls, results.laid_out(context) is not None, _NO_SHEETS)

    @staticmethod
    def last_check(context: Context) -> tuple[Outcome, bool]:
        """Return the outcome that windows show and whether the model has changed since.

        Raises BadSettingError where it has no sheets.
        """
        known = results.laid_out(context)
        if known is None:
            raise BadSettingError(_NO_SHEETS)
        return known


class BackgroundOperator:
    """A mixin for operators whose work runs in the background: the window stays free, Escape gives the work up.

    ``go`` starts the work; when it has ended, ``finish`` gets its value. given_up: the sentence for the maker
    after Escape. All other events pass through, so that views turn and edits go on meanwhile.
    waited: whether the window went on before ``finish``.
    """

    given_up: ClassVar[str]
    waited = False

    _job: Job | None = None
    _timer: Timer | None = None
    _shown = ""

    if TYPE_CHECKING:

        def report(self, type: set[str], message: str) -> None: ...

    def finish(self, context: Context, made: Any) -> set[str]:
        """Keep the value of the job, report it and return the operator's result; called on the host's thread."""
        raise NotImplementedError

    def following(self, context: Context, made: Any) -> Job | None:
        """Take the value of a job and return the job that goes on from it; None where ``finish`` gets the value."""
        return None

    def go(self, context: Context, job: Job, *, modal: bool) -> set[str]:
        """Start a job and return what the host expects: RUNNING_MODAL, or what ``finish`` returns.

        modal: whether the job may run in the background. Without it, and without a window, the job is done
        before this returns, as a script expects. Raises what the job raised where it ended at once.
        """
        manager = context.window_manager
        if not modal or bpy.app.background or context.window is None:
            manager.progress_begin(0, 100)
            try:
                job.run_here(lambda share: manager.progress_update(int(share * 100)))
            finally:
                manager.progress_end()
            after = self.following(context, job.value())
            return self.finish(context, job.value()) if after is None else self.go(context, after, modal=modal)
        background.begin(job)
        if job.wait(_AT_ONCE):
            background.forget()
            after = self.following(context, job.value())
            return self.finish(context, job.value()) if after is None else self.go(context, after, modal=modal)
        self._watch(context, job)
        manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def _watch(self, context: Context, job: Job) -> None:
        """Look at a running job from time to time."""
        self._job, self.waited = job, True
        self._timer = context.window_manager.event_timer_add(_LOOK, window=context.window)
        self._show(job)

    def modal(self, context: Context, event: Event) -> set[str]:
        """Watch the job and return what the host expects; called by the host for every event."""
        job = self._job
        if job is None:  # it ended with an error, which the host has shown: whatever still comes is not for us
            return {"CANCELLED"}
        if event.type == "ESC" and event.value == "PRESS" and not job.cancel() and not job.done:
            return {"RUNNING_MODAL"}  # files are being written, which takes but a moment
        if background.running() is not job:
            self._leave(context)
            self.report({"WARNING"}, f"{job.title} was given up, because the model is another one now; start it again")
            return set(_GIVEN_UP)
        if job.cancelled():
            background.drop()
            self._leave(context)
            self.report({"INFO"}, self.given_up)
            return set(_GIVEN_UP)
        if job.done:
            background.forget()
            self._leave(context)
            after = self.following(context, job.value())
            if after is None:
                return self.finish(context, job.value())
            background.begin(after)
            self._watch(context, after)
            return {"RUNNING_MODAL"}
        if event.type == "TIMER":
            self._show(job)
        return {"PASS_THROUGH"}

    def cancel(self, context: Context) -> None:
        """Give up; called by the host where the window closes or another file is opened."""
        if self._job is not None:
            if background.running() is self._job:
                background.drop()
            self._leave(context)

    def _show(self, job: Job) -> None:
        """Say in every status bar how far the work is, and have the sidebars drawn again where that has changed."""
        text = f"{job.title}: {job.share:.0%}. Esc gives up."
        if text != self._shown:
            self._shown = text
            for workspace in bpy.data.workspaces:
                workspace.status_text_set(text)
            redraw_sidebars()

    def _leave(self, context: Context) -> None:
        """Take back what was put up for the time of the work."""
        self._job = None
        if self._timer is not None:
            context.window_manager.event_timer_remove(self._timer)
            self._timer = None
        for workspace in bpy.data.workspaces:
            workspace.status_text_set(None)
        redraw_views()


def nothing_runs(operator: type[Operator]) -> bool:
    """Return whether no work goes on; let the operator say what to do where some does."""
    idle = background.running() is None
    return needs(operator, idle, "Something is being worked out; wait for it, or give it up with Esc")


class STOWFOLD_OT_give_up(Operator):
    """Give up what is being worked out; what was known before stays"""

    bl_idname = "stowfold.give_up"
    bl_label = "Give Up"

    @classmethod
    def poll(cls, context: Context) -> bool:
        job = background.running()
        return needs(cls, job is not None and not job.settled, "Nothing goes on that could be given up")

    def execute(self, context: Context) -> set[str]:
        job = background.running()
        if job is None or not job.cancel():
            return {"CANCELLED"}
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_give_up,)
