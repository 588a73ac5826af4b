"""Edits: which updates of the host may change what the maker made, and which only move what we show."""

from __future__ import annotations

import bpy

__all__ = ["edits_in", "shapes_changed"]


def edits_in(depsgraph: bpy.types.Depsgraph) -> list[bpy.types.DepsgraphUpdate]:
    """Return the updates of what the maker made.

    Boards that the preview shows are runtime data; the copies that the host works with are all called so, therefore
    their originals are asked. A scene counts as changed with any setting of any add-on; ours call back by themselves.
    """
    return [
        update
        for update in depsgraph.updates
        if not update.id.original.is_runtime_data and not isinstance(update.id, bpy.types.Scene)
    ]


def shapes_changed(depsgraph: bpy.types.Depsgraph) -> bool:
    """Return whether a shape or a place that the maker made may have changed."""
    return any(update.is_updated_geometry or update.is_updated_transform for update in edits_in(depsgraph))
