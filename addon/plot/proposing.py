"""Proposing: bends and breaks for a building whose sizes have changed, in a thread, as soon as they rest.

That a building waits for it is kept on the object, so that undo comes back to it. What is proposed is put on the mesh
without a step of its own: it belongs to the size that was changed. Another change gives it up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import bpy
from bpy.app.handlers import persistent

from ..geometry.errors import CancelledError, GeometryError
from ..geometry.progress import SILENT, Progress
from ..host.handlers import Handlers
from ..host.reading import read_settings
from ..host.views import redraw_views
from ..jobs import background, results
from ..jobs.background import Job
from ..jobs.reporting import missing_package
from ..jobs.resting import is_busy
from . import blocking

if TYPE_CHECKING:
    from bpy.types import Object, Scene

    from ..geometry.flow.added import Rebuilt
    from ..geometry.plan.reshape import Before
    from ..geometry.plan.sizes import BuildingSizes

__all__ = ["HANDLERS", "are_waiting", "ask", "finish", "read_task"]

#: How long sizes must stay unchanged before bends are proposed, s: longer than a slow drag stays at one value.
_REST = 0.4

#: How often the window looks whether the thread has ended, s.
_LOOK = 0.05

#: How often it looks whether a building that waits may be read again, s.
_WAIT = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """What is proposed for: session id of the object, its sizes and its mesh before."""

    uid: int
    sizes: BuildingSizes
    before: Before
    work: Callable[[Progress], Rebuilt]


@dataclass(slots=True)
class _State:
    job: Job | None = None
    task: _Task | None = None


_state = _State()


def ask() -> None:
    """Propose for all buildings that wait, once their sizes rest; what is under way is given up."""
    if _state.job is not None:
        _state.job.cancel()
    if bpy.app.background:
        return
    if bpy.app.timers.is_registered(_go_on):
        bpy.app.timers.unregister(_go_on)
    bpy.app.timers.register(_go_on, first_interval=_REST)


def read_task(target: Object, scene: Scene) -> _Task:
    """Read what is needed to propose for a building. Raises GeometryError for what cannot be read."""
    from ..geometry.flow.added import rebuild_building

    before, openings = blocking.read_before(target, scene), blocking.openings_of(target, scene)
    beside = blocking.porches_of(target, scene)
    sizes, settings = blocking.read_sizes(target.stowfold.building), read_settings(scene)
    earlier = blocking.as_earlier(before)
    return _Task(
        target.session_uid,
        sizes,
        before,
        lambda progress: rebuild_building(sizes, settings, earlier, openings, beside=beside, progress=progress),
    )


def _go_on() -> float | None:
    job = _state.job
    if job is not None:
        if not job.done:
            return _LOOK
        background.leave_beside(job)
        _state.job = None
        _put(job)
        return _LOOK
    waiting = _waiting()
    if waiting is None:
        return None
    # the proof of what is seen comes first
    if is_busy() or results.state(bpy.context) is results.State.CHECKING or not _is_free(waiting):
        return _WAIT
    _begin(waiting)
    return _LOOK


def finish() -> None:
    """Propose at once for all buildings that wait, before what a click asked for goes on with them."""
    _forget()
    for target in bpy.context.scene.objects:
        if not target.stowfold.building.unproposed or not _is_free(target):
            continue
        try:
            task = read_task(target, bpy.context.scene)
            _put_on(target, task, task.work(SILENT))
        except (GeometryError, ModuleNotFoundError) as error:
            _leave(target, error)


def are_waiting(targets: Iterable[Any]) -> bool:
    """Return whether the sizes of one of these buildings have changed and its bends are still to be proposed."""
    return any(target.stowfold.building.unproposed and _is_free(target) for target in targets)


def _waiting() -> Any:
    """Return a building that waits to be proposed for; None where none does."""
    waiting = [target for target in bpy.context.scene.objects if target.stowfold.building.unproposed]
    return next((target for target in waiting if _is_free(target)), waiting[0] if waiting else None)


def _is_free(target: Any) -> bool:
    """Return whether the mesh of a building may be written now."""
    return bool(target.is_editable and target.data.is_editable and target.mode == "OBJECT")


def _begin(target: Any) -> None:
    try:
        task = read_task(target, bpy.context.scene)
    except (GeometryError, ModuleNotFoundError) as error:
        _leave(target, error)
        return
    _state.task = task
    _state.job = Job("Proposing", task.work)
    background.begin_beside(_state.job)


def _put(job: Job) -> None:
    """Put on the mesh what was proposed, where it is still the one that it was proposed for."""
    task, scene = _state.task, bpy.context.scene
    target: Any = next((other for other in scene.objects if task is not None and other.session_uid == task.uid), None)
    if task is None or target is None or job.cancelled():
        return
    try:
        rebuilt = job.value()
    except CancelledError:
        return
    except (GeometryError, ModuleNotFoundError) as error:
        _leave(target, error)
        return
    _put_on(target, task, rebuilt)


def _put_on(target: Any, task: _Task, rebuilt: Rebuilt) -> None:
    """Put what was proposed on a mesh; where the maker changed size, mark or mode meanwhile it goes on waiting."""
    ours, scene = target.stowfold.building, bpy.context.scene
    if not blocking.is_as_made(target):
        # the maker models the mesh by hand now, and decides where it bends
        ours.unproposed = False
        return
    if not _is_free(target) or not blocking.is_same_mesh(blocking.read_before(target, scene), task.before):
        return
    try:
        if blocking.read_sizes(ours) != task.sizes:
            return
    except GeometryError:
        # that no building has such sizes is told on the object already
        ours.unproposed = False
        return
    ours.unproposed, ours.trouble = False, ""
    if not blocking.is_proposed(rebuilt, task.before):
        blocking.fill(target, rebuilt.block, rebuilt.made, scene)
        results.suspect_all()
    redraw_views()


def _leave(target: Any, error: Exception) -> None:
    """Leave a building with the marks that it has, and say why nothing could be proposed."""
    ours = target.stowfold.building
    ours.unproposed = False
    ours.trouble = missing_package(error) if isinstance(error, ModuleNotFoundError) else str(error)
    redraw_views()


def _forget() -> None:
    job, _state.job, _state.task = _state.job, None, None
    if job is not None:
        background.leave_beside(job)


@persistent
def _on_change_of_file(*_ignored: object) -> None:
    """The file that is open now may hold buildings that wait for proposals."""
    ask()


HANDLERS = Handlers(
    (("undo_post", _on_change_of_file), ("redo_post", _on_change_of_file), ("load_post", _on_change_of_file)),
    timers=(_go_on,),
    forget=_forget,
)
