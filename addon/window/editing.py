"""Editing the building: into Edit Mode of the building, whatever of ours is active, and out again."""

from __future__ import annotations

from collections.abc import Iterator

import bpy
from bpy.types import Context, Object, Operator, UILayout

from ..geometry.errors import UnreadableError
from ..host.reading import find_block_out, stands_beside
from ..host.upstands import is_upstand
from ..host.views import select_alone
from ..jobs.reporting import needs, report_errors

__all__ = ["CLASSES", "STOWFOLD_OT_edit_building", "building_to_edit", "draw_edit_button"]


class STOWFOLD_OT_edit_building(Operator):
    """Enter Edit Mode on the building, or leave Edit Mode"""

    bl_idname = "stowfold.edit_building"
    bl_label = "Edit Building"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        if context.mode == "EDIT_MESH":
            return True
        try:
            building_to_edit(context)
        except UnreadableError as error:
            return needs(cls, False, str(error))
        return True

    @report_errors("WARNING")
    def execute(self, context: Context) -> set[str]:
        if context.mode == "EDIT_MESH":
            bpy.ops.object.mode_set(mode="OBJECT")
            return {"FINISHED"}
        target = building_to_edit(context)
        if context.mode != "OBJECT":
            bpy.ops.object.mode_set(mode="OBJECT")
        _select(context, target)
        bpy.ops.object.mode_set(mode="EDIT")
        return {"FINISHED"}


def _select(context: Context, target: Object) -> None:
    """Make the building the active object; where it is already, other buildings stay selected beside it."""
    if context.object != target:
        select_alone(context, target)
        # undo out of Edit Mode brings back meshes only, so what was active before needs a step of its own
        bpy.ops.ed.undo_push(message="Select Building")
        return
    for other in context.selected_objects:
        other.select_set(_has_boards(other))
    target.select_set(True)


def building_to_edit(context: Context) -> Object:
    """Return what Edit Mode is entered on: the active object or what it stands on, else the only building.

    Raises UnreadableError with one sentence where there is none, more than one, or one that cannot be edited.
    """
    target = _meant(context)
    if not (target.is_editable and target.data.is_editable):
        raise UnreadableError(f"'{target.name}' is linked from another file; make it local first")
    if not target.visible_get(view_layer=context.view_layer):
        raise UnreadableError(f"'{target.name}' is hidden; show it first")
    return target


def _meant(context: Context) -> Object:
    active = context.object
    try:
        buildings = find_block_out(context.scene)
    except UnreadableError:
        if active is not None and _has_boards(active):
            return active
        raise
    for candidate in _upward(active):
        if candidate in buildings or is_upstand(candidate):
            return candidate
    if len(buildings) > 1:
        raise UnreadableError(f"There are {len(buildings)} buildings; select the one to edit first")
    return buildings[0]


def _upward(target: Object | None) -> Iterator[Object]:
    """Yield an object, its parent, and so on."""
    while target is not None:
        yield target
        target = target.parent


def _has_boards(target: Object) -> bool:
    """Return whether an object is cut from boards itself, as a building and its dormers are."""
    return target.type == "MESH" and (is_upstand(target) or not stands_beside(target))


def draw_edit_button(row: UILayout, context: Context) -> None:
    """Draw the button that leads into Edit Mode and out, pressed while the maker is in it."""
    edited = context.mode == "EDIT_MESH"
    row.operator(STOWFOLD_OT_edit_building.bl_idname, text="", icon="EDITMODE_HLT", depress=edited)


CLASSES = (STOWFOLD_OT_edit_building,)
