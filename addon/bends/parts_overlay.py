"""Parts in the viewport: slits of lattices, joiners, tabs and slots of the last check, where they will stand."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import bpy
import numpy as np

from ..host.reading import to_units
from ..jobs import results
from ..window.kept import Kept
from ..window.step import overlay_is_on
from ..window.strokes import draw_strokes
from . import nets

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

__all__ = ["COLOURS", "draw", "lines_of"]

#: Of the Okabe-Ito set where a role has the same meaning: lattices as flex corners, joiners as breaks;
#: tabs sky blue, slots blue.
COLOURS: Mapping[str, tuple[float, float, float]] = {
    "lattice": (0x00 / 255, 0x9E / 255, 0x73 / 255),  # 009e73
    "joiner": (0xE6 / 255, 0x9F / 255, 0x00 / 255),  # e69f00
    "tab": (0x56 / 255, 0xB4 / 255, 0xE9 / 255),  # 56b4e9
    "slot": (0x00 / 255, 0x72 / 255, 0xB2 / 255),  # 0072b2
}

_WIDTH = 1.4

_lines: Kept[Outcome, Mapping[str, np.ndarray]] = Kept()


def lines_of(report: results.Report, scene: bpy.types.Scene) -> Mapping[str, np.ndarray]:
    """Return the line pieces of a report in units of the scene, (k, 2, 3) by kind; made once per report."""
    outcome = report.outcome
    if outcome is None:
        return {}
    return _lines.get(outcome, lambda: _make_lines(outcome, scene))


def _make_lines(outcome: Outcome, scene: bpy.types.Scene) -> Mapping[str, np.ndarray]:
    from ..geometry.fold.lines import standing_lines

    scale = to_units(1.0, scene)
    return {kind: pieces * scale for kind, pieces in standing_lines(outcome.parts, outcome.tabs).items()}


def draw() -> None:
    """Draw the parts of the last check; nothing while it is out of date, or while another net is looked at."""
    context = bpy.context
    if not context.window_manager.stowfold.show_parts or not overlay_is_on(context, "parts"):
        return
    report = results.shown(context)
    if report is not None and not report.stale and not nets.shows_another(context):
        lines = lines_of(report, context.scene)
        draw_strokes(context, [(COLOURS[kind], pieces) for kind, pieces in lines.items()], width=_WIDTH)


def forget() -> None:
    """Drop what was made for drawing."""
    _lines.forget()
