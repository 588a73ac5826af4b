"""Findings in the viewport: a numbered disc at the place of each, as they are numbered in the sidebar."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import bpy
import numpy as np

from ..geometry.findings import Finding, Severity
from ..host.reading import to_units
from ..jobs import results
from ..window.kept import Kept
from ..window.lettering import write_about
from ..window.step import overlay_is_on
from . import lines
from .lines import is_accepted, lines_of

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

__all__ = ["COLOURS", "draw", "places_of"]

#: Of the Okabe-Ito set, none of them a role's: vermillion, yellow, sky blue.
COLOURS: Mapping[Severity, tuple[float, float, float]] = {
    Severity.ERROR: (0xD5 / 255, 0x5E / 255, 0x00 / 255),  # d55e00
    Severity.WARNING: (0xF0 / 255, 0xE4 / 255, 0x42 / 255),  # f0e442
    Severity.NOTE: (0x56 / 255, 0xB4 / 255, 0xE9 / 255),  # 56b4e9
}

#: Radius of a disc and height of its number, px at interface scale 1.
_RADIUS, _LETTERS = 9.0, 11.0

Place = tuple[int, Severity, tuple[float, float, float]]

_places: Kept[Outcome, tuple[Place, ...]] = Kept()


def places_of(report: results.Report, scene: bpy.types.Scene) -> tuple[Place, ...]:
    """Return (number in the list, severity, place in units of the scene) of the findings that have a place."""
    outcome = report.outcome
    if outcome is None:
        return ()
    return _places.get(outcome, lambda: _find_places(outcome, scene))


def _find_places(outcome: Outcome, scene: bpy.types.Scene) -> tuple[Place, ...]:
    scale = to_units(1.0, scene)
    found = []
    for number, finding in enumerate(outcome.findings, start=1):
        point = _point(outcome, finding)
        if point is not None:
            x, y, z = (float(value) * scale for value in point)
            found.append((number, finding.severity, (x, y, z)))
    return tuple(found)


def _point(outcome: Outcome, finding: Finding) -> np.ndarray | None:
    where = finding.where
    if where.point is not None:
        return np.array(where.point)
    facets = outcome.facets
    for facet in facets.facets:
        if set(where.faces) & set(facet.faces) and where.source in (None, facets.source_of(facet)):
            return facets.corners(facet).mean(axis=0)
    for part in outcome.parts:
        if part.id == where.part and part.panels:
            panel = part.panels[0]
            return panel.stands.apply(panel.ring.mean(axis=0))
    return None


def draw() -> None:
    """Draw the discs of the last check; nothing while it is out of date."""
    context = bpy.context
    if not context.window_manager.stowfold.show_findings or not overlay_is_on(context, "findings"):
        return
    report = results.shown(context)
    if report is None or report.stale:
        return
    from bpy_extras.view3d_utils import location_3d_to_region_2d

    scale = context.preferences.system.ui_scale
    taken: list[tuple[float, float]] = []
    accepted = {line.index + 1 for line in lines_of(report) if is_accepted(line, context.scene)}
    for number, severity, point in places_of(report, context.scene):
        if number in accepted:
            continue
        at = location_3d_to_region_2d(context.region, context.region_data, point)
        if at is None:
            continue
        x, y = float(at[0]), float(at[1])
        # several at one place stand side by side
        while any(abs(x - a) < 2.1 * _RADIUS * scale and abs(y - b) < _RADIUS * scale for a, b in taken):
            x += 2.2 * _RADIUS * scale
        taken.append((x, y))
        _disc(x, y, _RADIUS * scale, severity, str(number), scale)


def _disc(x: float, y: float, radius: float, severity: Severity, text: str, scale: float) -> None:
    import gpu
    from gpu_extras.batch import batch_for_shader

    turns = np.linspace(0.0, 2.0 * np.pi, 25)
    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    gpu.state.blend_set("ALPHA")
    for size, colour in ((radius + 1.5 * scale, (0.05, 0.05, 0.05, 0.9)), (radius, (*COLOURS[severity], 1.0))):
        rim = np.column_stack([x + size * np.cos(turns), y + size * np.sin(turns)])
        fan = np.empty((3 * 24, 2), dtype=np.float32)
        fan[0::3], fan[1::3], fan[2::3] = (x, y), rim[:-1], rim[1:]
        shader.bind()
        shader.uniform_float("color", colour)
        batch_for_shader(shader, "TRIS", {"pos": fan}).draw(shader)
    gpu.state.blend_set("NONE")
    write_about(text, (x, y), _LETTERS * scale, COLOURS[severity])


def forget() -> None:
    """Drop what was made for drawing."""
    _places.forget()
    lines.forget()
