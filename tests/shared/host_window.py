"""The host's window as the maker has it: places to work in, operators run by their buttons, steps back and forth."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager

import bpy


def first_window() -> bpy.types.Window:
    """Return the window that the host has even where it shows none."""
    return bpy.context.window_manager.windows[0]


def in_window() -> AbstractContextManager[None]:
    """Work in the host's window; outside of it there is no undo."""
    return bpy.context.temp_override(window=first_window())


def view_area() -> bpy.types.Area:
    """Return the area of the window that holds the 3D view."""
    return next(area for area in first_window().screen.areas if area.type == "VIEW_3D")


def in_view() -> AbstractContextManager[None]:
    """Work in the 3D view of the host's window."""
    area = view_area()
    region = next(region for region in area.regions if region.type == "WINDOW")
    return bpy.context.temp_override(window=first_window(), area=area, region=region)


def keep_step(name: str = "before") -> None:
    """Keep the file as it is now: the step that ``undo`` comes back to."""
    with in_window():
        assert bpy.ops.ed.undo_push(message=name) == {"FINISHED"}


def do(operator: Callable[..., set[str]], **values: object) -> set[str]:
    """Run an operator as a button does, with a step for undo of its own, and return what it answers."""
    return operator("EXEC_DEFAULT", True, **values)


def undo() -> None:
    """Go back by one step; references to data of the file are no longer good afterwards."""
    with in_window():
        assert bpy.ops.ed.undo() == {"FINISHED"}


def redo() -> None:
    """Go forward again by one step."""
    with in_window():
        assert bpy.ops.ed.redo() == {"FINISHED"}
