"""Edits: which updates of the host may change what the maker made, and which only move what we show."""

from __future__ import annotations

import bpy

__all__ = ["Shapes", "edits_in"]


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


class Shapes:
    """Tells somebody from update to update whether a shape or a place that the maker made may have changed.

    The host calls a collection changed where anything in it comes or goes, also boards that the preview shows: then
    it counts only when other objects of the maker's are there, or are seen, than at the last such update.
    """

    def __init__(self) -> None:
        self._there: frozenset[tuple[int, bool]] | None = None

    def changed(self, depsgraph: bpy.types.Depsgraph) -> bool:
        """Return whether anything of the maker's may have another shape or place since the last call."""
        edits = [edit for edit in edits_in(depsgraph) if edit.is_updated_geometry or edit.is_updated_transform]
        groups = [edit for edit in edits if isinstance(edit.id, bpy.types.Collection)]
        moved = len(groups) < len(edits)
        if not groups:
            return moved
        before, self._there = self._there, _objects_there(depsgraph)
        return moved or self._there != before


def _objects_there(depsgraph: bpy.types.Depsgraph) -> frozenset[tuple[int, bool]]:
    """Return the objects of the maker's in a scene, each by its number and whether it is seen."""
    return frozenset(
        (target.session_uid, target.visible_get(view_layer=depsgraph.view_layer))
        for target in depsgraph.scene.objects
        if not target.is_runtime_data
    )
