"""What is saved with a signboard: its letters and sizes. The object's mesh only shows them."""

from __future__ import annotations

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import PropertyGroup

from ..host.lengths import as_typed, millimetres, to_units
from ..host.signboards import strokes_of
from ..jobs import results

__all__ = ["StowfoldSign", "redraw_sign"]

#: How far before its wall a sign's letters are shown, mm, so that they are seen on its board.
_BEFORE = 1.6


def redraw_sign(target: bpy.types.Object, scene: bpy.types.Scene) -> None:
    """Give a signboard's mesh its board and letters: x along the wall, z up, -y out of the wall."""
    fields, mesh = target.stowfold.sign, target.data
    wide, high = as_typed(fields.width), as_typed(fields.height)
    out = wide if fields.hangs else 0.0
    half = (0.0, 0.0) if fields.hangs else (-wide / 2, wide / 2)
    corners = [(0.0, 0.0), (out, 0.0)] if fields.hangs else [(half[0], 0.0), (half[1], 0.0)]
    points, edges = [], []
    for at, _ in corners:
        for up in (-high / 2, high / 2):
            points.append((0.0, -at, up) if fields.hangs else (at, -_BEFORE, up))
    for stroke in strokes_of(fields):
        first = len(points)
        for x, y in stroke.tolist():
            points.append((0.0, -(x + wide / 2), y) if fields.hangs else (x, -_BEFORE - 0.1, y))
        edges += [(k, k + 1) for k in range(first, len(points) - 1)]
    mesh.clear_geometry()
    mesh.from_pydata([tuple(to_units(value, scene) for value in point) for point in points], edges, [(0, 2, 3, 1)])
    mesh.update()
    target.hide_render = True


def _changed(fields: StowfoldSign, context: bpy.types.Context) -> None:
    if fields.is_sign and fields.id_data.type == "MESH" and fields.id_data.mode == "OBJECT":
        redraw_sign(fields.id_data, context.scene)
        results.suspect_all()


class StowfoldSign(PropertyGroup):
    """Letters and sizes of a signboard."""

    is_sign: BoolProperty(name="Signboard", description="This object is a signboard on the wall behind it")
    text: StringProperty(name="Text", description="Engraved in single strokes", default="INN", update=_changed)
    width: millimetres("Width", "Width of the board, or how far it reaches out", 40.0, 6.0, 300.0, update=_changed)
    height: millimetres("Height", "Height of the board; at least 12 mm to hang", 14.0, 5.0, 200.0, update=_changed)
    border: BoolProperty(
        name="Border", description="A line round the letters, 1.5 mm inside", default=True, update=_changed
    )
    hangs: BoolProperty(
        name="Square to the Wall",
        description="Held by a tab in a slot of the wall, taken out before the walls are folded; else glued flat",
        update=_changed,
    )


CLASSES = (StowfoldSign,)
