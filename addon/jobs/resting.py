"""Resting: whether the model may be read and written now, or is moved, played, rendered or checked."""

from __future__ import annotations

import bpy

from . import background

__all__ = ["is_busy"]

#: Operators of the host that move the model while they run.
_MOVING = ("TRANSFORM_OT", "MESH_OT")


def is_busy() -> bool:
    """Return whether the model moves, is played or rendered, or an operator waits for work on it."""
    windows = bpy.context.window_manager.windows
    return (
        background.running() is not None
        or bpy.app.is_job_running("RENDER")
        or any(window.screen.is_animation_playing for window in windows)
        or any(
            operator.bl_idname.startswith(_MOVING)
            for window in windows
            for operator in getattr(window, "modal_operators", ())
        )
    )
