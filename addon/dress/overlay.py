"""Finishes in the viewport: the lines of the last check as they will be cut, where the boards will stand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
import numpy as np

from ..host.lengths import to_units
from ..jobs import results
from ..window.kept import Kept
from ..window.step import overlay_is_on
from ..window.strokes import draw_strokes

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

__all__ = ["draw", "forget", "lines_of"]

#: Of char, dark on every board.
_COLOUR = (0.13, 0.08, 0.04)

_WIDTH = 1.0

_lines: Kept[Outcome, np.ndarray] = Kept()


def lines_of(report: results.Report, scene: bpy.types.Scene) -> np.ndarray:
    """Return the lines of a report's finishes in units of the scene, (k, 2, 3); made once per report."""
    outcome = report.outcome
    return np.empty((0, 2, 3)) if outcome is None else _lines.get(outcome, lambda: _make_lines(outcome, scene))


def _make_lines(outcome: Outcome, scene: bpy.types.Scene) -> np.ndarray:
    from ..geometry.finish.standing import standing_finishes

    return standing_finishes(outcome.parts) * to_units(1.0, scene)


def draw() -> None:
    """Draw the finishes of the last check; nothing while it is out of date."""
    context = bpy.context
    if not context.window_manager.stowfold.show_finishes or not overlay_is_on(context, "finishes"):
        return
    report = results.shown(context)
    if report is not None and not report.stale:
        draw_strokes(context, [(_COLOUR, lines_of(report, context.scene))], width=_WIDTH, behind=0.0)


def forget() -> None:
    """Drop what was made for drawing."""
    _lines.forget()
