"""Views: what is selected in them, all of all windows, and having them drawn again, or their sidebars only."""

from __future__ import annotations

from collections.abc import Iterator

import bpy
from bpy.types import Context, Object

__all__ = ["redraw_sidebars", "redraw_views", "select_alone", "views_of_all_windows"]


def redraw_views() -> None:
    """Have all 3D views drawn again."""
    for area in views_of_all_windows():
        area.tag_redraw()


def redraw_sidebars() -> None:
    """Have the sidebars of all 3D views drawn again, and not the models beside them."""
    for area in views_of_all_windows():
        for region in area.regions:
            if region.type == "UI":
                region.tag_redraw()


def views_of_all_windows() -> Iterator[bpy.types.Area]:
    """Yield the areas of all 3D views that are on screens of open windows."""
    for manager in bpy.data.window_managers:
        for window in manager.windows:
            yield from (area for area in window.screen.areas if area.type == "VIEW_3D")


def select_alone(context: Context, target: Object) -> None:
    """Select an object and nothing else, and make it the active one."""
    for candidate in context.view_layer.objects:
        candidate.select_set(False)
    context.view_layer.objects.active = target
    target.select_set(True)
