"""Finishes in the viewport: the lines of the last check as they will be cut, where the boards will stand."""

from __future__ import annotations

from collections.abc import Mapping
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

__all__ = ["COLOURS", "draw", "forget", "legend_in", "lines_of"]

#: Engraved lines in the colour of char, dark on every board; the others of the Okabe-Ito set, told apart with all
#: kinds of colour vision: scored vermilion, filled blue. In the order of the legend, by the name of their way.
COLOURS: Mapping[str, tuple[float, float, float]] = {
    "engrave": (0.13, 0.08, 0.04),
    "score": (0xD5 / 255, 0x5E / 255, 0x00 / 255),  # d55e00
    "fill": (0x00 / 255, 0x72 / 255, 0xB2 / 255),  # 0072b2
}

_WORDS = {"engrave": "engraved", "score": "scored", "fill": "filled"}

_WIDTH = 1.0

_lines: Kept[Outcome, Mapping[str, np.ndarray]] = Kept()


def lines_of(report: results.Report, scene: bpy.types.Scene) -> Mapping[str, np.ndarray]:
    """Return the lines of a report's finishes in units of the scene, (k, 2, 3) by way; made once per report."""
    outcome = report.outcome
    return {} if outcome is None else _lines.get(outcome, lambda: _make_lines(outcome, scene))


def _make_lines(outcome: Outcome, scene: bpy.types.Scene) -> Mapping[str, np.ndarray]:
    from ..geometry.finish.standing import standing_finishes

    scale = to_units(1.0, scene)
    return {way.value: pieces * scale for way, pieces in standing_finishes(outcome.parts).items() if len(pieces)}


def legend_in(context: bpy.types.Context) -> list[tuple[tuple[float, float, float], str]]:
    """Return the colours of drawn lines with their words; none where all are engraved, which needs no telling."""
    report = _drawn(context)
    lines = {} if report is None else lines_of(report, context.scene)
    if not lines.keys() - {"engrave"}:
        return []
    return [(colour, _WORDS[way]) for way, colour in COLOURS.items() if way in lines]


def draw() -> None:
    """Draw the finishes of the last check; nothing while it is out of date."""
    context = bpy.context
    report = _drawn(context)
    if report is not None:
        lines = lines_of(report, context.scene)
        draw_strokes(context, [(COLOURS[way], lines[way]) for way in lines], width=_WIDTH, behind=0.0)


def _drawn(context: bpy.types.Context) -> results.Report | None:
    """Return the report whose finishes are drawn, None where none are."""
    if not context.window_manager.stowfold.show_finishes or not overlay_is_on(context, "finishes"):
        return None
    report = results.shown(context)
    return None if report is None or report.stale else report


def forget() -> None:
    """Drop what was made for drawing."""
    _lines.forget()
