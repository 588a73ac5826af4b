"""Openings in the viewport: the outline of each, light on dark, so that it stands out on every theme."""

from __future__ import annotations

import bpy
import numpy as np

from ..host.poses import pose_of
from ..window.step import overlay_is_on
from ..window.strokes import draw_strokes

__all__ = ["draw", "outlines"]

_LIGHT, _DARK = (0.97, 0.97, 0.97), (0.08, 0.08, 0.08)
_WIDTH = 2.0


def outlines(context: bpy.types.Context) -> np.ndarray:
    """Return the outlines of all visible openings, (k, 2, 3) in units of the scene."""
    pieces = []
    for target in context.view_layer.objects:
        if target.type != "MESH" or not target.stowfold.opening.is_opening or not target.visible_get():
            continue
        ring = np.array([vertex.co[:] for vertex in target.data.vertices], dtype=float).reshape(-1, 3)
        ring = pose_of(target).apply(ring)
        pieces.append(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1))
    return np.concatenate(pieces) if pieces else np.zeros((0, 2, 3))


def draw() -> None:
    """Draw the outlines with those of the bends."""
    context = bpy.context
    if not overlay_is_on(context, "openings"):
        return
    pieces = outlines(context)
    draw_strokes(context, [(_DARK, pieces)], width=2.5 * _WIDTH)
    draw_strokes(context, [(_LIGHT, pieces)], width=_WIDTH)
