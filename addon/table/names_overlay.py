"""Names of seats in the viewport: over those that the host writes, black on a dark ground, the same on plates."""

from __future__ import annotations

from collections.abc import Iterator

import bpy
from bpy.types import Context

from ..window.lettering import write_on_plate

__all__ = ["draw", "names_of"]

#: Height of letters, and how far beside an object the host writes its name, px at interface scale 1.
_LETTERS, _BESIDE = 12.0, 10.0


def names_of(context: Context) -> Iterator[tuple[str, tuple[float, float, float]]]:
    """Yield the names that the host writes at what stands on the table or round it, with their places in the scene."""
    for target in context.view_layer.objects:
        if target.show_name and target.stowfold.place.kind != "NONE" and target.visible_get():
            x, y, z = target.matrix_world.translation
            yield target.name, (x, y, z)


def draw() -> None:
    """Write the names into the view that is being drawn."""
    from bpy_extras.view3d_utils import location_3d_to_region_2d

    context = bpy.context
    if not context.space_data.overlay.show_overlays:
        return
    ui = context.preferences.system.ui_scale
    for name, place in names_of(context):
        at = location_3d_to_region_2d(context.region, context.region_data, place)
        if at is not None:
            write_on_plate(name, at.x + _BESIDE * ui, at.y, _LETTERS * ui, ui)
