"""Signboards: added to a wall by pointing at it, flat on it or square to it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import bpy
import numpy as np
from bpy.props import BoolProperty, FloatVectorProperty, StringProperty
from bpy.types import Context, Event, Object, Operator

from ...geometry.plan.placing import WallSpot, hit_wall, nearest_wall, snap_spot
from ...geometry.solid.facets import Facets
from ...geometry.solid.find import find_facets
from ...host.lengths import as_typed, millimetres
from ...host.openings import stand_at
from ...host.reading import find_block_out, mm_per_unit, read_solid
from ...host.views import select_alone
from ...window.hints import LEAVE
from ...window.placing import Adding, adopt, ready_to_place
from ...window.pointing import ray_of
from ..sign_fields import redraw_sign

__all__ = ["STOWFOLD_OT_add_signboard"]


def _is_sign(target: Object) -> bool:
    return bool(target.stowfold.sign.is_sign)


class STOWFOLD_OT_add_signboard(Adding, Operator):
    """Add a signboard: point at a wall and click. It is cut from the board of trim"""

    bl_idname = "stowfold.add_signboard"
    bl_label = "Add Signboard"
    bl_options = {"REGISTER", "UNDO"}
    hint = (("MOUSE_LMB", "Place on the Wall"), ("EVENT_CTRL", "Off the Squares"), *LEAVE)
    is_mine = staticmethod(_is_sign)
    _facets: Facets

    text: StringProperty(name="Text", default="INN")
    hangs: BoolProperty(name="Square to the Wall", description="Held by a tab in a slot of the wall")
    above: millimetres("Height over Floor", "Of the sign's middle", 50.0, 1.0, 500.0)
    place: FloatVectorProperty(name="Place", size=3, subtype="XYZ", options={"HIDDEN", "SKIP_SAVE"})

    @classmethod
    def poll(cls, context: Context) -> bool:
        return ready_to_place(cls, context)

    def for_view(self) -> dict[str, Any]:
        return {"text": self.text, "hangs": self.hangs, "above": self.above}

    def begin(self, context: Context) -> Object:
        solid = read_solid(find_block_out(context.scene), context.scene)
        self._facets = find_facets(replace(solid, openings=()))
        return self._make(context)

    def follow(self, context: Context, event: Event, target: Object) -> None:
        spot = hit_wall(self._facets, *ray_of(context, event))
        if spot is not None:
            self._stand(context, target, spot, free=event.ctrl)

    def set_down(self, context: Context, target: Object) -> None:
        super().set_down(context, target)
        self.place = target.matrix_world.translation

    def _stand(self, context: Context, target: Object, spot: WallSpot, *, free: bool) -> None:
        """Stand a sign over a spot at the foot of a wall, at its height."""
        step = 1.0 if free else as_typed(context.scene.stowfold.square) / 2.0
        width = 0.0 if target.stowfold.sign.hangs else as_typed(target.stowfold.sign.width)
        there = snap_spot(spot, step=step, width=width)
        up = np.array([0.0, 0.0, as_typed(self.above)])
        stand_at(target, replace(there, foot=there.foot + up), context.scene)

    def _make(self, context: Context) -> Object:
        target = bpy.data.objects.new("Signboard", bpy.data.meshes.new("Signboard"))
        fields = target.stowfold.sign
        fields.is_sign = True
        fields.text, fields.hangs = self.text, self.hangs
        if self.hangs:
            fields.width, fields.height = 26.0, 18.0
        redraw_sign(target, context.scene)
        target.color = (0.835, 0.369, 0.0, 1.0)
        context.collection.objects.link(target)
        near = np.array(self.place if any(self.place) else context.scene.cursor.location) * mm_per_unit(context.scene)
        spot = nearest_wall(self._facets, near)
        adopt(target, context)
        if spot is not None:
            self._stand(context, target, spot, free=any(self.place))
        select_alone(context, target)
        return target


CLASSES = (STOWFOLD_OT_add_signboard,)
