"""Views: having all 3D views of all windows drawn again."""

from __future__ import annotations

import bpy

__all__ = ["redraw_views"]


def redraw_views() -> None:
    """Have all 3D views drawn again."""
    for manager in bpy.data.window_managers:
        for window in manager.windows:
            for area in window.screen.areas:
                if area.type == "VIEW_3D":
                    area.tag_redraw()
