"""Lifted: while the map of a room without its roof is shown, the building is drawn as lines and no roof lies over it.

Only how the object is drawn is changed, and what it was is kept on the object itself: undo, copies and the host's
own backups then carry both together, and whatever comes back from a file is drawn as before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from ..geometry.errors import GeometryError
from ..host import reading
from . import play_results

if TYPE_CHECKING:
    from bpy.types import Object, Scene

__all__ = ["attach", "detach", "look", "put"]

#: Ways of drawing an object that show its faces, and the one that doesn't.
_FACES, _LINES = frozenset({"TEXTURED", "SOLID"}), "WIRE"

#: Objects that were brought back only for the time of saving, by their session ids.
_saving: list[int] = []


def look() -> None:
    """Have buildings put as they should be drawn, a moment later; called wherever the window draws."""
    if not bpy.app.timers.is_registered(_put_soon) and _wanted(bpy.context.scene) != _stepped_back():
        # nothing may be written while the host draws
        bpy.app.timers.register(_put_soon, first_interval=0.0)


def put(scene: Scene) -> None:
    """Draw the building as lines where a map without its roof is shown, and all others as they were."""
    wanted = _wanted(scene)
    for each in bpy.data.objects:
        if each.session_uid in wanted:
            _step_back(each)
        else:
            _bring_back(each)


def _wanted(scene: Scene) -> set[int]:
    """Return the session ids of the objects that are to be drawn as lines."""
    result = play_results.shown()
    if (
        result is None
        or result.maps is None
        or not (result.maps.lifted and result.maps.seats)
        or not play_results.wanted()
        or not _overlays_shown()
    ):
        return set()
    try:
        building = reading.find_block_out(scene)
    except GeometryError:
        return set()
    return {each.session_uid for each in building if each.is_editable and _has_faces(each)}


def _has_faces(target: Object) -> bool:
    return bool(target.stowfold.drawn_as) or target.display_type in _FACES


def _stepped_back() -> set[int]:
    return {each.session_uid for each in bpy.data.objects if each.stowfold.drawn_as}


def _overlays_shown() -> bool:
    """Return whether any 3D view shows overlays, the map among them."""
    return any(
        area.type == "VIEW_3D" and area.spaces.active.overlay.show_overlays
        for manager in bpy.data.window_managers
        for window in manager.windows
        for area in window.screen.areas
    )


def _step_back(target: Object) -> None:
    if not target.stowfold.drawn_as:
        target.stowfold.drawn_as = target.display_type
        target.display_type = _LINES


def _bring_back(target: Object) -> None:
    before = target.stowfold.drawn_as
    if not before or not target.is_editable:
        return
    target.stowfold.drawn_as = ""
    # who chose another way meanwhile keeps it
    if target.display_type == _LINES:
        target.display_type = before


def _put_soon() -> None:
    put(bpy.context.scene)


@persistent
def _on_load(*_ignored: object) -> None:
    # the host writes its own backups without telling
    for each in bpy.data.objects:
        _bring_back(each)


@persistent
def _before_saving(*_ignored: object) -> None:
    _saving[:] = _stepped_back()
    for each in bpy.data.objects:
        _bring_back(each)


@persistent
def _after_saving(*_ignored: object) -> None:
    for each in bpy.data.objects:
        if each.session_uid in _saving:
            _step_back(each)
    _saving.clear()


_HANDLERS = (
    (bpy.app.handlers.load_post, _on_load),
    (bpy.app.handlers.save_pre, _before_saving),
    (bpy.app.handlers.save_post, _after_saving),
    (bpy.app.handlers.save_post_fail, _after_saving),
)


def attach() -> None:
    """Start to listen to loading and saving."""
    for handlers, handler in _HANDLERS:
        handlers.append(handler)


def detach() -> None:
    """Stop listening and draw every building as before."""
    for handlers, handler in _HANDLERS:
        handlers.remove(handler)
    if bpy.app.timers.is_registered(_put_soon):
        bpy.app.timers.unregister(_put_soon)
    for each in bpy.data.objects:
        _bring_back(each)
