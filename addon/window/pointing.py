"""Pointing: what operators share that follow the pointer in a 3D view until a click."""

from __future__ import annotations

import bpy
import numpy as np
from bpy.types import Context, Event

from ..host.reading import mm_per_unit
from .hints import Hint, hide_hint, show_hint

__all__ = ["Pointing", "ray_of", "view_region"]

#: What turns and shifts the view goes on doing so.
_LOOKING = frozenset({"MIDDLEMOUSE", "WHEELUPMOUSE", "WHEELDOWNMOUSE"})


def view_region(context: Context) -> bpy.types.Region | None:
    """Return the region of the 3D view beside whatever region a button was pressed in."""
    if context.area is None or context.area.type != "VIEW_3D":
        return None
    return next((region for region in context.area.regions if region.type == "WINDOW"), None)


def ray_of(context: Context, event: Event) -> tuple[np.ndarray, np.ndarray]:
    """Return where the line of sight through the pointer begins, (3,) mm, and its direction."""
    from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d

    region, view = context.region, context.region_data
    at = (event.mouse_region_x, event.mouse_region_y)
    origin = np.array(region_2d_to_origin_3d(region, view, at)) * mm_per_unit(context.scene)
    return origin, np.array(region_2d_to_vector_3d(region, view, at))


class Pointing:
    """A mixin for operators: the pointer is a cross, the status bar says what it does, views still turn."""

    def point(self, context: Context, hint: Hint) -> set[str]:
        """Begin to follow the pointer."""
        show_hint(context.workspace, hint)
        context.window.cursor_modal_set("CROSSHAIR")
        context.window_manager.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def leave(self, context: Context) -> None:
        """Take back what was put up for the time of pointing."""
        hide_hint(context.workspace)
        context.window.cursor_modal_restore()

    @staticmethod
    def let_look(event: Event) -> set[str]:
        """Return what to answer to an event that is none of ours: only what moves the view passes."""
        return {"PASS_THROUGH"} if event.type in _LOOKING else {"RUNNING_MODAL"}

    @staticmethod
    def puts_back(event: Event) -> bool:
        """Return whether the maker wants everything as it was."""
        return event.type in {"ESC", "RIGHTMOUSE"}
