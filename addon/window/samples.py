"""Samples: a file of ours shows our tab when it is opened, once; what the maker saves is a layout of his own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import bpy
from bpy.app.handlers import persistent

from ..host.handlers import Handlers
from ..host.views import views_of_all_windows
from .step import Step

__all__ = ["HANDLERS"]

#: The host knows a sidebar's tabs only once it has drawn them: how often it is asked again, and after how long, s.
_TRIES, _PAUSE = 200, 0.1


@dataclass(slots=True)
class _Waiting:
    """tries: how often the sidebars are still asked for our tab."""

    tries: int = 0


_waiting = _Waiting()


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
    _waiting.tries = _TRIES
    if not bpy.app.timers.is_registered(_show_tab):
        bpy.app.timers.register(_show_tab, first_interval=0.0)


def _show_tab() -> float | None:
    """Show our tab in every sidebar that is drawn; return when to try again, None for no more."""
    _waiting.tries -= 1
    missing = False
    for region in _sidebars():
        try:
            region.active_panel_category = Step.bl_category
            region.tag_redraw()
        except (AttributeError, TypeError):
            missing = True
    return _PAUSE if missing and _waiting.tries > 0 else None


def _sidebars() -> Iterator[bpy.types.Region]:
    for area in views_of_all_windows():
        if area.spaces.active.show_region_ui:
            yield from (region for region in area.regions if region.type == "UI")


HANDLERS = Handlers((("load_post", _on_load),), timers=(_show_tab,))
