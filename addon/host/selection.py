"""Selection: what was just made or found is the only thing selected, and active."""

from __future__ import annotations

from bpy.types import Context, Object

__all__ = ["select_alone"]


def select_alone(context: Context, target: Object) -> None:
    """Select an object and nothing else, and make it the active one."""
    for each in context.view_layer.objects:
        each.select_set(False)
    context.view_layer.objects.active = target
    target.select_set(True)
