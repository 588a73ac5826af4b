"""The overlays of all steps, in the order in which the host draws them over the 3D view."""

from __future__ import annotations

from collections.abc import Callable

import bpy

from .bends import overlay as roles
from .bends import parts_overlay
from .cut import overlay as sheets
from .cut import words_overlay
from .plot import overlay as openings
from .proof import overlay as findings

__all__ = ["attach", "detach"]

#: What draws, and whether it draws in the scene or on the screen; later ones lie on top.
_DRAWN: tuple[tuple[Callable[[], None], str], ...] = (
    (sheets.draw, "POST_VIEW"),
    (parts_overlay.draw, "POST_VIEW"),
    (roles.draw, "POST_VIEW"),
    (openings.draw, "POST_VIEW"),
    (words_overlay.draw, "POST_PIXEL"),
    (roles.draw_legend, "POST_PIXEL"),
    (findings.draw, "POST_PIXEL"),
)

_handles: list[object] = []


def attach() -> None:
    """Start to draw; without a window there is nothing to draw into."""
    roles.attach()
    if not bpy.app.background:
        for draw, when in _DRAWN:
            _handles.append(bpy.types.SpaceView3D.draw_handler_add(draw, (), "WINDOW", when))


def detach() -> None:
    """Stop drawing and forget everything that was prepared."""
    while _handles:
        bpy.types.SpaceView3D.draw_handler_remove(_handles.pop(), "WINDOW")
    roles.detach()
    for overlay in (sheets, words_overlay, parts_overlay, findings):
        overlay.forget()
