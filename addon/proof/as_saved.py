"""As saved: what the last check came to is written into the file, with its date and its findings.

The outcome itself is derived and not saved. After opening the check is renewed; until it has ended, and where the
maker has switched that off, these words stand for it. A few letters that stand for the model tell whether it is still
the one that was checked.
"""

from __future__ import annotations

import datetime
import hashlib
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from ..geometry.errors import GeometryError
from ..geometry.findings import Severity
from ..host import reading
from ..host.handlers import Handlers
from ..host.views import redraw_views
from ..jobs import results
from .lines import lines_of

if TYPE_CHECKING:
    from ..geometry.outcome import Settings
    from ..geometry.solid.solid import Solid

__all__ = ["HANDLERS", "Saved", "compare", "saved", "words_of"]

#: How long the model must rest before it is compared with what was saved, s.
_REST = 0.4

_SINCE = ", changed since"


@dataclass(frozen=True, slots=True)
class Saved:
    """What a file says of its last check. findings: with their severity; changed: the model is another one now."""

    words: str
    findings: tuple[tuple[Severity, str], ...]
    changed: bool


@dataclass(slots=True)
class _State:
    """changed: whether the model was another one than the saved check's when they were compared last."""

    changed: bool = False


_state = _State()


def words_of(report: results.Report) -> str:
    """Return what a check comes to, in a few words: sheets and errors."""
    if report.outcome is None:
        return "nothing could be made"
    errors = len(results.errors_in(report))
    sheets = len(report.outcome.layout.sheets)
    return f"{_count(sheets, 'sheet')}, {_count(errors, 'error') if errors else 'no errors'}"


def saved(scene: bpy.types.Scene) -> Saved | None:
    """Return what the file says of its last check, None where none was saved."""
    ours = scene.stowfold
    if not ours.last_check:
        return None
    try:
        findings = tuple((Severity(severity), str(line)) for severity, line in json.loads(ours.last_findings or "[]"))
    except (TypeError, ValueError):
        findings = ()  # what another program wrote there is no list of ours
    return Saved(ours.last_check.removesuffix(_SINCE), findings, _state.changed or ours.last_check.endswith(_SINCE))


def compare() -> None:
    """Find out whether the model is still the one whose check was saved."""
    scene = bpy.context.scene
    known = scene.stowfold.last_model
    if results.latest() is not None or not known:
        return
    try:
        now = _letters(reading.read_solid(reading.find_block_out(scene), scene), reading.read_settings(scene))
    except GeometryError:
        now = ""
    if _state.changed != (now != known):
        _state.changed = now != known
        redraw_views()


def _letters(solid: Solid | None, settings: Settings | None) -> str:
    """Return a few letters that stand for a model and its settings."""
    if solid is None:
        return ""
    shape = (solid.faces, solid.edges, solid.edge_roles, solid.openings, solid.finishes, settings)
    return hashlib.sha256(solid.points.tobytes() + repr(shape).encode()).hexdigest()[:16]


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


@persistent
def _before_saving(*_ignored: object) -> None:
    report, scene = results.latest(), bpy.context.scene
    if scene is None:
        return
    ours = scene.stowfold
    if report is None:
        if ours.last_check and _state.changed and not ours.last_check.endswith(_SINCE):
            ours.last_check += _SINCE
        return
    if not report.laid:
        return
    since = _SINCE if report.stale else ""
    ours.last_check = f"{datetime.date.today().isoformat()}: {words_of(report)}{since}"
    ours.last_findings = json.dumps([(line.severity.value, line.short) for line in lines_of(report)])
    ours.last_model = _letters(report.solid, report.settings)


def _ask() -> None:
    if results.latest() is None and not bpy.app.background and not bpy.app.timers.is_registered(compare):
        bpy.app.timers.register(compare, first_interval=_REST)


@persistent
def _on_load(*_ignored: object) -> None:
    _state.changed = False
    _ask()


results.listen(_ask)

HANDLERS = Handlers((("save_pre", _before_saving), ("load_post", _on_load)), timers=(compare,))
