"""Openings in the viewport: the outline of each, light on dark, so that it stands out on every theme.

Selected ones take the colour that the theme gives to what is active.
"""

from __future__ import annotations

import bpy
import numpy as np

from ..host.poses import pose_of
from ..window.step import overlay_is_on
from ..window.strokes import draw_strokes

__all__ = ["draw", "outlines"]

_LIGHT, _DARK = (0.97, 0.97, 0.97), (0.08, 0.08, 0.08)
_WIDTH = 2.0


def outlines(context: bpy.types.Context, *, selected: bool = False) -> np.ndarray:
    """Return the outlines of all visible openings that are selected, or are not, (k, 2, 3) in units of the scene."""
    pieces = []
    for target in context.view_layer.objects:
        if target.type != "MESH" or not target.stowfold.opening.is_opening or not target.visible_get():
            continue
        if target.select_get() is not selected or not len(target.data.polygons):
            continue
        # the first face is the outline, whatever else the body has
        corners = [target.data.vertices[index].co[:] for index in target.data.polygons[0].vertices]
        ring = pose_of(target).apply(np.array(corners, dtype=float))
        pieces.append(np.stack([ring, np.roll(ring, -1, axis=0)], axis=1))
    return np.concatenate(pieces) if pieces else np.zeros((0, 2, 3))


def draw() -> None:
    """Draw the outlines with those of the bends."""
    context = bpy.context
    if not overlay_is_on(context, "openings"):
        return
    theme = context.preferences.themes[0].view_3d
    for selected, colour in ((False, _LIGHT), (True, tuple(theme.object_active))):
        pieces = outlines(context, selected=selected)
        draw_strokes(context, [(_DARK, pieces)], width=2.5 * _WIDTH)
        draw_strokes(context, [(colour, pieces)], width=_WIDTH)
