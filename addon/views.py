"""Views: having all 3D views of all windows drawn again, or their sidebars only."""

from __future__ import annotations

from collections.abc import Iterator

import bpy

__all__ = ["redraw_sidebars", "redraw_views"]


def redraw_views() -> None:
    """Have all 3D views drawn again."""
    for area in _views():
        area.tag_redraw()


def redraw_sidebars() -> None:
    """Have the sidebars of all 3D views drawn again, and not the models beside them."""
    for area in _views():
        for region in area.regions:
            if region.type == "UI":
                region.tag_redraw()


def _views() -> Iterator[bpy.types.Area]:
    for manager in bpy.data.window_managers:
        for window in manager.windows:
            yield from (area for area in window.screen.areas if area.type == "VIEW_3D")
