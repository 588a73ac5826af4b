"""Pins: what keeps a part where it lies on its sheet, put in and taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bpy.props import StringProperty
from bpy.types import Context, Operator

from ...geometry.sheet.layout_wishes import Pin
from ...host.pins import pin, pins_of, unpin
from ...host.views import redraw_views
from ...jobs import results
from ...jobs.operator import NeedsSheets
from ...jobs.reporting import needs, warn
from .. import sheets
from ..sheets import Showing

if TYPE_CHECKING:
    from ...geometry.sheet.piece import Placement


def pin_of(shown: Showing | None, placement: Placement) -> Pin:
    """Return the pin that holds a part where it lies, on the laser that cuts that sheet."""
    return Pin.of(placement, shown.outcome.layout.sheets[placement.sheet].laser.name if shown is not None else "")


def pins_changed() -> None:
    """Have the layout compared with the pins, and drawn with them."""
    results.suspect_all()
    redraw_views()


def _pinned_or_chosen(operator: Operator, context: Context) -> str:
    return operator.part or context.window_manager.stowfold.sheet_part


class STOWFOLD_OT_pin_part(NeedsSheets, Operator):
    """Pin the part where it lies, so that the next layout leaves it there"""

    bl_idname = "stowfold.pin_part"
    bl_label = "Pin Part"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Part", description="Id of the part; the one that was clicked where it is left empty")

    def execute(self, context: Context) -> set[str]:
        shown = sheets.showing(context)
        name = _pinned_or_chosen(self, context)
        placement = shown.placement(name) if shown is not None else None
        if placement is None:
            return warn(self, "Click a part on its sheet first")
        pin(context.scene, pin_of(shown, placement))
        pins_changed()
        return {"FINISHED"}


class STOWFOLD_OT_unpin_part(Operator):
    """Take the part's pin out, so that the next layout may place it again"""

    bl_idname = "stowfold.unpin_part"
    bl_label = "Unpin Part"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Part", description="Id of the part; the one that was clicked where it is left empty")

    def execute(self, context: Context) -> set[str]:
        if not unpin(context.scene, {_pinned_or_chosen(self, context)}):
            return warn(self, "This part is not pinned")
        pins_changed()
        return {"FINISHED"}


class STOWFOLD_OT_unpin_all(Operator):
    """Take all pins out, so that the next layout may place every part again"""

    bl_idname = "stowfold.unpin_all"
    bl_label = "Unpin All"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, len(context.scene.stowfold.pins), "No part is pinned")

    def execute(self, context: Context) -> set[str]:
        count = len(pins_of(context.scene))
        unpin(context.scene)
        pins_changed()
        self.report(
            {"INFO"}, f"{count} pin{'s' if count != 1 else ''} taken out; Lay Out Again places every part again"
        )
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_pin_part, STOWFOLD_OT_unpin_part, STOWFOLD_OT_unpin_all)
