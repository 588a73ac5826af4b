"""What is being worked out: how far it is, and the way to give it up, in place of the button that started it."""

from __future__ import annotations

from bpy.types import UILayout

from ..jobs import background
from ..jobs.operator import STOWFOLD_OT_give_up

__all__ = ["draw_running", "draw_starter"]

#: What starts long work, and the bar that takes its place meanwhile, are so many times as high as a button.
_HIGH = 1.4


def draw_starter(layout: UILayout, operator: str, *, text: str | None = None, icon: str, enabled: bool = True) -> None:
    """Draw the button that starts long work; while some goes on, in the same place the share that is done."""
    row = layout.row(align=True)
    row.scale_y = _HIGH
    if draw_running(row):
        return
    row.enabled = enabled
    row.operator(operator, text=text, icon=icon)


def draw_running(row: UILayout) -> bool:
    """Draw how far the running work is, with the way to give it up; return whether any runs."""
    job = background.running()
    if job is None:
        return False
    row.progress(factor=job.share, type="BAR", text=f"{job.title} {job.share:.0%}")
    row.operator(STOWFOLD_OT_give_up.bl_idname, text="", icon="X")
    return True
