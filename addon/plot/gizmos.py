"""Gizmos: handles of the active building, opening or dormer, to be dragged in the view.

Values snap to squares, millimetres and degrees; with Ctrl they are free. What is set stands in the view's header and
beside the handle. A drag is one step for undo; Escape puts back what was before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np
from bpy.types import Context, Event, Gizmo, GizmoGroup

from ..window.hints import hide_hint, show_hint
from ..window.step import chosen_step
from .handle import Grip, Handle
from .handles import handles_of

__all__ = ["CLASSES", "Shown", "shown"]

_HINT = (("MOUSE_LMB_DRAG", "Size"), ("EVENT_CTRL", "Off the Squares"), ("EVENT_ESC", "As It Was"))

#: Handles of the object that has the most.
_MOST = 10

#: Sides of a cone, its radius and length, and where it begins on its line, in the host's units for gizmos.
_SIDES, _RADIUS, _FROM, _TO = 12, 0.16, 0.25, 0.8


@dataclass(slots=True)
class Shown:
    """What is said beside the handle that is dragged, and where, in units of the scene; empty while none is."""

    text: str = ""
    place: tuple[float, float, float] = (0.0, 0.0, 0.0)


_shown = Shown()


def shown() -> Shown:
    """Return what is to be drawn beside the handle in the hand."""
    return _shown


def _cone(start: float, end: float) -> list[tuple[float, float, float]]:
    """Return the triangles of a cone along z from its base to its tip."""
    ring = [
        (_RADIUS * math.cos(math.tau * k / _SIDES), _RADIUS * math.sin(math.tau * k / _SIDES), start)
        for k in range(_SIDES)
    ]
    points = []
    for k in range(_SIDES):
        a, b = ring[k], ring[(k + 1) % _SIDES]
        points += [a, b, (0.0, 0.0, end), b, a, (0.0, 0.0, start)]
    return points


def _handle(context: Context, index: int) -> Handle | None:
    handles = handles_of(context.object, context.scene)
    return handles[index] if index < len(handles) else None


class STOWFOLD_GT_size(Gizmo):
    """A handle of a size"""

    bl_idname = "STOWFOLD_GT_size"
    __slots__ = ("_both", "_grip", "_offset", "_one", "index")

    def setup(self) -> None:
        self._one = self.new_custom_shape("TRIS", _cone(_FROM, _TO))
        self._both = self.new_custom_shape("TRIS", _cone(_FROM, _TO) + _cone(-_FROM, -_TO))
        self._grip: Grip | None = None

    def draw(self, context: Context) -> None:
        self._draw(context)

    def draw_select(self, context: Context, select_id: int) -> None:
        self._draw(context, select_id)

    def _draw(self, context: Context, select_id: int | None = None) -> None:
        handle = _handle(context, self.index)
        if handle is not None:
            chosen = {} if select_id is None else {"select_id": select_id}
            self.draw_custom_shape(self._one if handle.field else self._both, **chosen)

    def invoke(self, context: Context, event: Event) -> set[str]:
        handle = _handle(context, self.index)
        if handle is None or context.object is None:
            return {"CANCELLED"}
        self._grip = Grip(context.object, handle)
        self._offset = _reach(handle, context, event) - handle.reach
        return {"RUNNING_MODAL"}

    def modal(self, context: Context, event: Event, tweak: set[str]) -> set[str]:
        grip: Any = self._grip
        target = context.scene.objects.get(grip.name)
        if target is None:
            return {"CANCELLED"}
        reach = _reach(grip.handle, context, event) - self._offset
        _shown.text = grip.put(target, reach, free="SNAP" in tweak)
        _shown.place = tuple((grip.handle.base + reach * grip.handle.along).tolist())
        context.area.header_text_set(_shown.text)
        # in place of the host's own words, by which Ctrl would snap
        show_hint(context.workspace, _HINT)
        return {"RUNNING_MODAL"}

    def exit(self, context: Context, cancel: bool) -> None:
        _shown.text = ""
        context.area.header_text_set(None)
        hide_hint(context.workspace)
        grip: Any = self._grip
        target = context.scene.objects.get(grip.name)
        if target is None:
            return
        if cancel:
            grip.put_back(target)
        else:
            bpy.ops.ed.undo_push(message=grip.handle.name)


def _reach(handle: Handle, context: Context, event: Event) -> float:
    """Return how far along a handle's line the pointer is, in units of the scene."""
    from bpy_extras.view3d_utils import region_2d_to_origin_3d, region_2d_to_vector_3d
    from mathutils import Vector
    from mathutils.geometry import intersect_line_line

    at = (event.mouse_region_x, event.mouse_region_y)
    eye = region_2d_to_origin_3d(context.region, context.region_data, at)
    sight = region_2d_to_vector_3d(context.region, context.region_data, at)
    base, along = Vector(handle.base.tolist()), Vector(handle.along.tolist())
    met = intersect_line_line(base, base + along, eye, eye + sight)
    return handle.reach if met is None else float((met[0] - base).dot(along))


class STOWFOLD_GGT_sizes(GizmoGroup):
    """Handles of the active building, opening or dormer"""

    bl_idname = "STOWFOLD_GGT_sizes"
    bl_label = "Sizes"
    bl_space_type = "VIEW_3D"
    bl_region_type = "WINDOW"
    bl_options = {"3D", "PERSISTENT"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        target = context.object
        return (
            context.mode == "OBJECT"
            and chosen_step(context) == "PLOT"
            and target is not None
            and target.select_get()
            and target.is_editable
            and bool(handles_of(target, context.scene))
        )

    def setup(self, context: Context) -> None:
        interface = context.preferences.themes[0].user_interface
        for index in range(_MOST):
            gizmo = self.gizmos.new(STOWFOLD_GT_size.bl_idname)
            gizmo.index = index
            gizmo.color_highlight, gizmo.alpha_highlight = interface.gizmo_hi, 1.0
            gizmo.alpha = 0.85
            gizmo.use_draw_modal = True
            gizmo.scale_basis = 0.7

    def draw_prepare(self, context: Context) -> None:
        """Put the handles where their sizes are now."""
        interface = context.preferences.themes[0].user_interface
        colours = (interface.axis_x, interface.axis_y, interface.axis_z)
        handles = handles_of(context.object, context.scene)
        for index, gizmo in enumerate(self.gizmos):
            gizmo.hide = index >= len(handles)
            if not gizmo.hide:
                gizmo.color = colours[int(np.argmax(np.abs(handles[index].along)))]
                gizmo.matrix_basis = _stand(handles[index])


def _stand(handle: Handle) -> Any:
    """Return the matrix that stands a shape along z at a handle, along its line."""
    from mathutils import Matrix, Vector

    turn = Vector(handle.along.tolist()).to_track_quat("Z", "Y").to_matrix().to_4x4()
    return Matrix.Translation(handle.place.tolist()) @ turn


CLASSES = (STOWFOLD_GT_size, STOWFOLD_GGT_sizes)
