"""Openings in the viewport: the outline of each, light on dark, so that it stands out on every theme.

Selected ones take the colour that the theme gives to what is active.
"""

from __future__ import annotations

import bpy
import numpy as np

from ..host.poses import pose_of
from ..window.lettering import write_on_plate
from ..window.step import overlay_is_on
from ..window.strokes import draw_strokes
from . import gizmos

__all__ = ["draw", "draw_words", "outlines"]

_LIGHT, _DARK = (0.97, 0.97, 0.97), (0.08, 0.08, 0.08)
_WIDTH = 2.0

#: Height of the letters beside a handle, and how far they stand from it, px at interface scale 1.
_LETTERS, _BESIDE = 14.0, 18.0


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


def draw_words() -> None:
    """Draw the value of the handle in the hand beside it."""
    from bpy_extras.view3d_utils import location_3d_to_region_2d

    said, context = gizmos.shown(), bpy.context
    at = location_3d_to_region_2d(context.region, context.region_data, said.place) if said.text else None
    if at is None:
        return
    scale = context.preferences.system.ui_scale
    write_on_plate(said.text, at.x + _BESIDE * scale, at.y + _BESIDE * scale, _LETTERS * scale, scale)
