"""Results: the last outcome per block-out, kept for drawing and dropped whenever it may be wrong.

An outcome is derived from marks, mesh and settings and can always be made again, so it is never
saved. Loading drops it. Undo and redo call it out of date, an edit makes it suspect; a moment later
the model is read again and compared with what the outcome was made from. Where the check is renewed
after every edit (``proof.renewal``), that comparison is its beginning.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from ..geometry.errors import GeometryError
from ..geometry.findings import Severity
from ..host.edits import Shapes
from ..host.handlers import Handlers
from ..host.views import redraw_views

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome, Settings
    from ..geometry.solid.solid import Solid

__all__ = [
    "HANDLERS",
    "Report",
    "State",
    "drop_all",
    "errors_in",
    "for_object",
    "keep",
    "laid_out",
    "latest",
    "listen",
    "listen_kept",
    "renewed_by",
    "set_checking",
    "shown",
    "state",
    "suspect_all",
]

#: How long the model must rest before it is compared, s.
_REST = 0.4


@dataclass(frozen=True, slots=True, eq=False)
class Report:
    """What a run came to: an outcome, or the sentence that says why there is none.

    objects: session ids of the block-out's objects. solid, settings: what it was made from, None
    where the model could not even be read. stale: whether the model has changed since.
    laid: whether its sheets are laid out; where they are not yet, the outcome bears those of ``earlier``, the one
    before it.
    """

    objects: tuple[int, ...]
    solid: Solid | None
    settings: Settings | None
    outcome: Outcome | None
    failure: str | None
    stale: bool = False
    laid: bool = True
    earlier: Outcome | None = None


class State(StrEnum):
    """How the last report stands to the model, as the one word that windows show."""

    NONE = "not checked"
    CHECKING = "checking"
    CURRENT = "as of now"
    STALE = "out of date"


@dataclass(slots=True)
class _Renewal:
    """Whether a check runs that an edit started, and the function that starts one after an edit."""

    checking: bool = False
    begin: Callable[[], bool] | None = None
    kept: list[Callable[[], None]] = field(default_factory=list)


_renewal = _Renewal()

_reports: dict[int, Report] = {}
_shapes = Shapes()

#: Called whenever the model or a setting may have changed.
_listeners: list[Callable[[], None]] = []


def keep(report: Report) -> None:
    """Remember a report for each of its objects."""
    for uid in report.objects:
        _reports.pop(uid, None)
        _reports[uid] = report
    for listener in _renewal.kept:
        listener()


def for_object(target: bpy.types.Object | None) -> Report | None:
    """Return the last report on a block-out that the object belongs to."""
    return _reports.get(target.session_uid) if target is not None else None


def latest() -> Report | None:
    """Return the report that was kept last, whatever is active."""
    return next(reversed(_reports.values()), None)


def shown(context: bpy.types.Context) -> Report | None:
    """Return the report that windows show: the active object's, else the last one."""
    return for_object(context.object) or latest()


def laid_out(context: bpy.types.Context) -> tuple[Outcome, bool] | None:
    """Return the outcome that windows show and whether the model has changed since; None where it has no sheets."""
    report = shown(context)
    if report is None:
        return None
    outcome = report.outcome if report.laid else report.earlier
    if outcome is None or not outcome.layout.sheets:
        return None
    return outcome, report.stale or not report.laid


def state(context: bpy.types.Context) -> State:
    """Return how the report that windows show stands to the model."""
    report = shown(context)
    if _renewal.checking:
        return State.CHECKING
    if report is None:
        return State.NONE
    return State.STALE if report.stale else State.CURRENT


def set_checking(checking: bool) -> None:
    """Say whether a check runs that an edit started; windows show it where that changes."""
    if checking != _renewal.checking:
        _renewal.checking = checking
        redraw_views()


def listen_kept(listener: Callable[[], None]) -> None:
    """Have a function called whenever a report was kept, on the host's thread."""
    if listener not in _renewal.kept:
        _renewal.kept.append(listener)


def renewed_by(begin: Callable[[], bool] | None) -> None:
    """Have a function called after every edit that renews the check, and returns whether it will."""
    _renewal.begin = begin


def errors_in(report: Report) -> tuple[int, ...]:
    """Return which findings are errors, by their place in the list: with any, no sheets are written."""
    findings = report.outcome.findings if report.outcome is not None else ()
    return tuple(index for index, finding in enumerate(findings) if finding.severity is Severity.ERROR)


def drop_all() -> None:
    """Forget everything."""
    _reports.clear()


def listen(listener: Callable[[], None]) -> None:
    """Have a function called whenever the model or a setting may have changed."""
    if listener not in _listeners:
        _listeners.append(listener)


def suspect_all() -> None:
    """Have the reports compared with the model as soon as it rests, and tell those who listen."""
    for listener in _listeners:
        listener()
    if bpy.app.background or (_renewal.begin is not None and _renewal.begin()) or not _reports:
        return
    if bpy.app.timers.is_registered(_compare):
        bpy.app.timers.unregister(_compare)
    bpy.app.timers.register(_compare, first_interval=_REST)


def refresh_staleness(scene: bpy.types.Scene) -> bool:
    """Compare every report with the model as it is now; return whether any changed its state."""
    from ..host import reading

    changed = False
    by_uid = {target.session_uid: target for target in scene.objects}
    for uid, report in list(_reports.items()):
        objects = [by_uid[candidate] for candidate in report.objects if candidate in by_uid]
        try:
            same = len(objects) == len(report.objects) and _same(
                report, reading.read_solid(objects, scene), reading.read_settings(scene)
            )
        except GeometryError:
            same = report.solid is None
        if same == report.stale:
            _reports[uid] = replace(report, stale=not same)
            changed = True
    return changed


def _same(report: Report, solid: Solid, settings: Settings) -> bool:
    return report.solid is not None and report.settings == settings and report.solid.is_same(solid)


def _compare() -> None:
    if refresh_staleness(bpy.context.scene):
        redraw_views()


@persistent
def _on_reset(*_ignored: object) -> None:
    drop_all()


@persistent
def _on_undo(*_ignored: object) -> None:
    """Undone may be what the outcome was made from, or what came after: until that is known it is out of date."""
    for uid, report in list(_reports.items()):
        _reports[uid] = replace(report, stale=True)
    suspect_all()


@persistent
def _on_update(_scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    if _shapes.changed(depsgraph):
        suspect_all()


HANDLERS = Handlers(
    (
        ("undo_post", _on_undo),
        ("redo_post", _on_undo),
        ("load_post", _on_reset),
        ("depsgraph_update_post", _on_update),
    ),
    timers=(_compare,),
    forget=drop_all,
)
