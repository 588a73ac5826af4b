"""Samples: a file of ours shows our tab when it is opened, once; what the maker saves is a layout of his own."""

from __future__ import annotations

from collections.abc import Iterator

import bpy
from bpy.app.handlers import persistent

from ..host.views import views_of_all_windows
from .step import Step

__all__ = ["attach", "detach"]

#: The host knows a sidebar's tabs only once it has drawn them: how often it is asked again, and after how long, s.
_TRIES, _PAUSE = 200, 0.1

_left = [0]


@persistent
def _on_load(*_ignored: object) -> None:
    for scene in bpy.data.scenes:
        if scene.stowfold.is_sample:
            # in a file that is saved from here on the mark is gone
            scene.stowfold.is_sample = False
            _show_tab_soon()


def _show_tab_soon() -> None:
    if bpy.app.background:
        return
    _left[0] = _TRIES
    if not bpy.app.timers.is_registered(_show_tab):
        bpy.app.timers.register(_show_tab, first_interval=0.0)


def _show_tab() -> float | None:
    """Show our tab in every sidebar that is drawn; return when to try again, None for no more."""
    _left[0] -= 1
    missing = False
    for region in _sidebars():
        try:
            region.active_panel_category = Step.bl_category
            region.tag_redraw()
        except (AttributeError, TypeError):
            missing = True
    return _PAUSE if missing and _left[0] > 0 else None


def _sidebars() -> Iterator[bpy.types.Region]:
    for area in views_of_all_windows():
        if area.spaces.active.show_region_ui:
            yield from (each for each in area.regions if each.type == "UI")


def attach() -> None:
    """Start to listen to files that are opened."""
    bpy.app.handlers.load_post.append(_on_load)


def detach() -> None:
    """Stop listening."""
    bpy.app.handlers.load_post.remove(_on_load)
    if bpy.app.timers.is_registered(_show_tab):
        bpy.app.timers.unregister(_show_tab)
