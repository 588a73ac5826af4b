"""What is being worked out: how far it is, and the way to give it up, in place of the button that started it."""

from __future__ import annotations

from bpy.types import UILayout

from .. import background
from ..operators.beside import STOWFOLD_OT_give_up

__all__ = ["draw_running"]


def draw_running(layout: UILayout) -> bool:
    """Draw the share that is done; return False where nothing goes on."""
    job = background.running()
    if job is None:
        return False
    row = layout.row(align=True)
    row.scale_y = 1.4
    row.progress(factor=job.share, type="BAR", text=f"{job.title} {job.share:.0%}")
    row.operator(STOWFOLD_OT_give_up.bl_idname, text="", icon="X")
    return True
