"""Framing: what was just added comes into the 3D view in which the maker clicked; a script moves no view."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import bpy
import numpy as np
from bpy.types import Context, Event, Object, Region

from .pointing import view_region

__all__ = ["SENSOR", "Framed", "FramedIfUnseen", "frame", "frame_points", "is_seen"]

#: Width that a view shows over its distance, for a lens of 1 mm: the host's sensor, zoomed twice.
SENSOR = 72.0


class _Executes:
    """What the host's operators have."""

    if TYPE_CHECKING:

        def execute(self, context: Context) -> set[str]: ...


class Framed(_Executes):
    """A mixin for operators that add something: after a click the view frames what they leave selected."""

    def invoke(self, context: Context, _event: Event) -> set[str]:
        done = self.execute(context)
        if "FINISHED" in done:
            frame(context, context.selected_objects)
        return done


class FramedIfUnseen(_Executes):
    """A mixin for operators that add a small thing: after a click it is framed, but only where it is out of view."""

    def invoke(self, context: Context, _event: Event) -> set[str]:
        done = self.execute(context)
        if "FINISHED" in done and not is_seen(context, context.selected_objects):
            # the thing alone would fill the view and say little; the building belongs to it
            buildings = [target for target in context.visible_objects if target.stowfold.is_block_out]
            frame(context, [*context.selected_objects, *buildings])
        return done


def frame(context: Context, objects: Iterable[Object]) -> None:
    """Bring objects into the 3D view in which the click was made; the selection stays as it is.

    A view from a seat stays, and so does a view that would take the scene's camera along.
    """
    region = view_region(context)
    if region is None or context.window_manager.stowfold.play.sitting:
        return
    space = context.area.spaces.active
    if space.lock_camera and space.region_3d.view_perspective == "CAMERA":
        return
    selected, wanted = set(context.selected_objects), set(objects)
    # the host frames what is selected, where its last update has put it
    _select(context, wanted)
    context.view_layer.update()
    with context.temp_override(region=region):
        bpy.ops.view3d.view_selected(use_all_regions=False)
    _select(context, selected)
    _move_beside_sidebar(context, region)


def is_seen(context: Context, objects: Iterable[Object]) -> bool:
    """Return whether the places of all objects lie in the view, beside the tools and the sidebar over it."""
    from bpy_extras.view3d_utils import location_3d_to_region_2d

    region = view_region(context)
    if region is None:
        return True
    context.view_layer.update()
    tools, sidebar = _covered(context)
    left, right = tools, region.width - sidebar
    for target in objects:
        at = location_3d_to_region_2d(region, context.area.spaces.active.region_3d, target.matrix_world.translation)
        if at is None or not (left <= at.x <= right and 0.0 <= at.y <= region.height):
            return False
    return True


def frame_points(context: Context, points: np.ndarray) -> None:
    """Bring points, (n, 3) in units of the scene, into the view in which the click was made; if seen, nothing moves.

    A view from a seat or through the scene's camera stays.
    """
    from bpy_extras.view3d_utils import location_3d_to_region_2d
    from mathutils import Vector

    region = view_region(context)
    if region is None or context.window_manager.stowfold.play.sitting:
        return
    space = context.area.spaces.active
    view = space.region_3d
    if view.view_perspective == "CAMERA":
        return
    tools, sidebar = _covered(context)
    left, right = tools, region.width - sidebar
    places = [location_3d_to_region_2d(region, view, point) for point in points.tolist()]
    if all(at is not None and left <= at.x <= right and 0.0 <= at.y <= region.height for at in places):
        return
    low, high = points.min(axis=0), points.max(axis=0)
    view.view_location = Vector(((low + high) / 2).tolist())
    # a ball round all of them in the smaller side of what is free, as the host frames
    wide = float(np.linalg.norm(high - low)) / SENSOR * space.lens
    view.view_distance = wide * max(region.width, region.height) / min(max(right - left, 1), region.height)
    per_px = view.view_distance * SENSOR / space.lens / max(region.width, region.height)
    view.view_location += view.view_rotation @ Vector(((sidebar - tools) / 2 * per_px, 0.0, 0.0))


def _covered(context: Context) -> tuple[int, int]:
    """Return how much of the view the tools at its left and the sidebar at its right lie over, px."""
    if not context.preferences.system.use_region_overlap:
        return 0, 0
    widths = {region.type: region.width for region in context.area.regions}
    return widths.get("TOOLS", 0), widths.get("UI", 0)


def _move_beside_sidebar(context: Context, region: Region) -> None:
    """Move what was framed to the middle of what tools and sidebar leave free: the host fills the whole view."""
    from mathutils import Vector

    tools, sidebar = _covered(context)
    space = context.area.spaces.active
    view = space.region_3d
    # the host fits a ball into the smaller side
    free = max(region.width - tools - sidebar, 1)
    view.view_distance *= min(region.width, region.height) / min(free, region.height)
    per_px = view.view_distance * SENSOR / space.lens / max(region.width, region.height)
    view.view_location += view.view_rotation @ Vector(((sidebar - tools) / 2 * per_px, 0.0, 0.0))


def _select(context: Context, wanted: set[Object]) -> None:
    for target in context.view_layer.objects:
        target.select_set(target in wanted)
