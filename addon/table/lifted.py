"""Lifted: while the map of a room without its roof is shown, the building is drawn as lines and no roof lies over it.

So it is while something else stands in for it, its boards as they will stand; then renders leave it out as well. While
these are folded, no line of it stays either.

Only how the object is drawn is changed, and what it was is kept on the object itself: undo, copies and the host's
own backups then carry both together, and what comes back from a file is drawn as before.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from ..host.handlers import Handlers
from ..window import stood_in
from . import play_input, play_results

if TYPE_CHECKING:
    from bpy.types import Object

__all__ = ["HANDLERS", "look", "put", "stood_in_for"]

#: Ways of drawing an object that show its faces, and the one that doesn't.
_FACES, _LINES = frozenset({"TEXTURED", "SOLID"}), "WIRE"

#: What is kept of an object that was put out of sight: whether it was selected.
_SELECTED, _LEFT = "selected", "left"

#: Objects that were to be lines, and to be out of sight, when that was last seen to, and those brought back only for
#: the time of saving, by their session ids.
_put: set[int] = set()
_gone: set[int] = set()
_saving: set[int] = set()

#: Functions that return the session ids of objects for which something else stands in.
_stand_ins: list[Callable[[], set[int]]] = []


def stood_in_for(by: Callable[[], set[int]]) -> None:
    """Have a function asked for the session ids of objects that something else stands in for."""
    if by not in _stand_ins:
        _stand_ins.append(by)


def look() -> None:
    """Have buildings put as they should be drawn, a moment later; called wherever the window draws."""
    if _wanted() != _put or _folded() != _gone:
        # nothing may be written while the host draws
        _ask()


def put() -> None:
    """Draw the building as lines where a map without its roof is shown, and all others as they were."""
    wanted, out, folded = _wanted(), _stood_in(), _folded()
    for target in bpy.data.objects:
        if target.session_uid in wanted:
            _step_back(target)
        else:
            _bring_back(target)
        _keep_from_renders(target, target.session_uid in out)
        _put_away(target, target.session_uid in folded)
    _put.clear()
    _put.update(wanted)
    _gone.clear()
    _gone.update(folded)


def _ask() -> None:
    if not bpy.app.timers.is_registered(put):
        bpy.app.timers.register(put, first_interval=0.0)


def _wanted() -> set[int]:
    """Return the session ids of the objects that are to be drawn as lines."""
    result = play_results.shown()
    if result is None or result.maps is None or not result.maps.seats:
        return _stood_in()
    lifted = result.maps.lifted and play_results.wanted() and _overlays_shown()
    return (set(play_input.objects_read()) if lifted else set()) | _stood_in()


def _stood_in() -> set[int]:
    return {uid for by in _stand_ins for uid in by()}


def _folded() -> set[int]:
    """Return the session ids of objects whose boards are shown where they do not stand."""
    return set() if stood_in.stand() else _stood_in()


def _overlays_shown() -> bool:
    """Return whether any 3D view shows overlays, the map among them."""
    return any(
        area.type == "VIEW_3D" and area.spaces.active.overlay.show_overlays
        for manager in bpy.data.window_managers
        for window in manager.windows
        for area in window.screen.areas
    )


def _step_back(target: Object) -> None:
    if target.is_editable and not target.stowfold.drawn_as and target.display_type in _FACES:
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


def _keep_from_renders(target: Object, wanted: bool) -> None:
    """Leave an object out of renders, or have it rendered again where we left it out."""
    ours = target.stowfold.out_of_renders
    if not target.is_editable or ours == wanted or (wanted and target.hide_render):
        return
    target.stowfold.out_of_renders = target.hide_render = wanted


def _put_away(target: Object, wanted: bool) -> None:
    """Take an object out of sight, its modifiers still worked out, or bring it back as it was selected then."""
    was = target.stowfold.put_away
    there = target.is_editable and target.name in bpy.context.view_layer.objects
    if not there or bool(was) == wanted or (wanted and target.hide_get()):
        return
    if wanted:
        target.stowfold.put_away = _SELECTED if target.select_get() else _LEFT
        target.hide_set(True)
    else:
        target.stowfold.put_away = ""
        target.hide_set(False)
        target.select_set(was == _SELECTED)


def _bring_all_back() -> None:
    for target in bpy.data.objects:
        _bring_back(target)
        _keep_from_renders(target, False)
        _put_away(target, False)
    _put.clear()
    _gone.clear()


@persistent
def _on_load(*_ignored: object) -> None:
    # the host writes its own backups without telling
    _bring_all_back()


@persistent
def _on_undo(*_ignored: object) -> None:
    # it may be drawn as it was then
    if not bpy.app.background:
        _ask()


@persistent
def _before_saving(*_ignored: object) -> None:
    _saving.update(target.session_uid for target in bpy.data.objects if target.stowfold.drawn_as)
    _bring_all_back()


@persistent
def _after_saving(*_ignored: object) -> None:
    out, folded = _stood_in(), _folded()
    for target in bpy.data.objects:
        if target.session_uid in _saving:
            _step_back(target)
            _keep_from_renders(target, target.session_uid in out)
            _put_away(target, target.session_uid in folded)
    _put.update(_saving)
    _gone.update(folded)
    _saving.clear()


HANDLERS = Handlers(
    (
        ("undo_post", _on_undo),
        ("redo_post", _on_undo),
        ("load_post", _on_load),
        ("save_pre", _before_saving),
        ("save_post", _after_saving),
        ("save_post_fail", _after_saving),
    ),
    timers=(put,),
    forget=_bring_all_back,
)
