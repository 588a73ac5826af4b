"""As saved: what the last check came to is written into the file, with its date.

The outcome itself is derived and not saved. After opening the check is renewed; until it has ended, and where the
maker has switched that off, these words stand for it.
"""

from __future__ import annotations

import datetime

import bpy
from bpy.app.handlers import persistent

from ..host.handlers import Handlers
from ..jobs import results

__all__ = ["HANDLERS", "words_of"]


def words_of(report: results.Report) -> str:
    """Return what a check comes to, in a few words: sheets and errors."""
    if report.outcome is None:
        return "nothing could be made"
    errors = len(results.errors_in(report))
    sheets = len(report.outcome.layout.sheets)
    return f"{_count(sheets, 'sheet')}, {_count(errors, 'error') if errors else 'no errors'}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


@persistent
def _before_saving(*_ignored: object) -> None:
    report = results.latest()
    scene = bpy.context.scene
    if report is None or scene is None or not report.laid:
        return
    since = ", changed since" if report.stale else ""
    scene.stowfold.last_check = f"{datetime.date.today().isoformat()}: {words_of(report)}{since}"


HANDLERS = Handlers((("save_pre", _before_saving),))
