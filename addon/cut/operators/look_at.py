"""Looking at the sheets from above, and back at the building as before."""

from __future__ import annotations

from dataclasses import dataclass

import bpy
from bpy.types import Context, Operator

from ...host.reading import mm_per_unit
from ...jobs.operator import NeedsSheets
from ...jobs.reporting import needs
from ...window.framing import SENSOR, frame
from ...window.pointing import view_region
from .. import sheets

#: Width of the signs for turning the view, and height of what is written over its upper corner, px at interface
#: scale 1.
_SIGNS, _HEAD = 50.0, 210.0


class STOWFOLD_OT_frame_sheets(NeedsSheets, Operator):
    """Show the sheets of the last check and look at all of them from above"""

    bl_idname = "stowfold.frame_sheets"
    bl_label = "Frame Sheets"

    def execute(self, context: Context) -> set[str]:
        context.window_manager.stowfold.show_sheets = True
        context.window_manager.stowfold.step = "CUT"
        shown = sheets.showing(context)
        region = view_region(context)
        if shown is None or region is None:
            return {"FINISHED"}
        _leave_building(context.area.spaces.active.region_3d)
        x0, y0, x1, y1 = (side / mm_per_unit(context.scene) for side in shown.spread.box)
        space = context.area.spaces.active
        view, ui = space.region_3d, context.preferences.system.ui_scale
        # tools, sidebar and the host's signs for turning beside it lie over the view
        left, right = (
            next((region.width for region in context.area.regions if region.type == kind), 0)
            for kind in ("TOOLS", "UI")
        )
        right += _SIGNS * ui
        top, bottom = _HEAD * ui, 40.0 * ui
        free = (max(region.width - left - right - 60.0 * ui, 100.0), max(region.height - top - bottom, 100.0))
        scale = min(free[0] / (x1 - x0), free[1] / (y1 - y0))
        view.view_perspective = "ORTHO"
        view.view_rotation = (1.0, 0.0, 0.0, 0.0)
        view.view_distance = max(region.width, region.height) / scale * space.lens / SENSOR
        view.view_location = (
            (x0 + x1) / 2 + (right - left) / 2 / scale,
            (y0 + y1) / 2 + (top - bottom) / 2 / scale,
            0.0,
        )
        return {"FINISHED"}


class STOWFOLD_OT_frame_building(Operator):
    """Look at the building again, as before the sheets were looked at"""

    bl_idname = "stowfold.frame_building"
    bl_label = "Frame Building"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, any(_buildings(context)), "Add a building first")

    def execute(self, context: Context) -> set[str]:
        if view_region(context) is None:
            return {"FINISHED"}
        view, before = context.area.spaces.active.region_3d, _left.pop("view", None)
        if before is not None:
            view.view_perspective, view.view_distance = before.kind, before.distance
            view.view_rotation, view.view_location = before.rotation, before.location
        frame(context, _buildings(context))
        return {"FINISHED"}


@dataclass(frozen=True, slots=True)
class _View:
    """How a view looked at the building, in the host's words."""

    kind: str
    distance: float
    rotation: tuple[float, ...]
    location: tuple[float, ...]


#: The view of the building that was left for the sheets, none while the building is looked at.
_left: dict[str, _View] = {}


def _leave_building(view: bpy.types.RegionView3D) -> None:
    if "view" not in _left:
        _left["view"] = _View(
            view.view_perspective, view.view_distance, tuple(view.view_rotation), tuple(view.view_location)
        )


def _buildings(context: Context) -> list[bpy.types.Object]:
    return [target for target in context.visible_objects if target.stowfold.is_block_out]


CLASSES = (STOWFOLD_OT_frame_sheets, STOWFOLD_OT_frame_building)
