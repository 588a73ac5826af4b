"""Dormers and chimneys: added to a slope of the roof, and set back onto it after they were moved."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
from bpy.props import EnumProperty, FloatProperty, FloatVectorProperty
from bpy.types import Context, Event, Object, Operator

from ...geometry.errors import GeometryError, UnreadableError
from ...geometry.plan.roof_placing import RoofSpot, check_on_slope, hit_slope, lowered, nearest_slope
from ...geometry.plan.upstand import depth_of
from ...geometry.solid.facets import Facets
from ...geometry.solid.find import find_facets
from ...geometry.tolerance import LARGEST
from ...host.lengths import as_typed, millimetres
from ...host.reading import find_block_out, mm_per_unit, read_solid
from ...host.upstands import is_porch, is_upstand, kind_of, size_of, stand_on
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn
from ...window.hints import LEAVE, show_hint
from ...window.placing import Adding, add_standing, ready_to_place
from ...window.pointing import ray_of
from ..upstand_fields import KINDS, redraw_upstand, take_sizes
from .porches import spot_near, stand_porch, walls_of


def _roofs(context: Context) -> Facets:
    """Return the facets of the block-outs without what stands on them. Raises GeometryError where there are none."""
    solid = read_solid(find_block_out(context.scene), context.scene, upstands=False)
    return find_facets(replace(solid, openings=()))


def _spot_near(facets: Facets, target: Object, point: np.ndarray) -> RoofSpot:
    """Return the spot for a dormer or chimney nearest to a point, mm. Raises UnreadableError where no slope is."""
    fields = target.stowfold.upstand
    size = size_of(fields)
    spot = nearest_slope(facets, point, width=size.width, depth=size.depth)
    if spot is not None and spot.rise > 0.0:
        depth = depth_of(kind_of(fields), size, spot.rise)
        spot = nearest_slope(facets, point, width=size.width, depth=depth)
    if spot is None:
        raise UnreadableError("The building has no roof to stand on; give it one first")
    return spot


def _stand(target: Object, spot: RoofSpot, context: Context) -> None:
    """Stand a dormer or chimney on a slope, cut for its pitch."""
    fields = target.stowfold.upstand
    check_on_slope(kind_of(fields), size_of(fields), spot)
    fields.rise = spot.rise
    redraw_upstand(target, context.scene)
    stand_on(target, spot, context.scene)


class STOWFOLD_OT_add_upstand(Adding, Operator):
    """Add a dormer or chimney: point at a slope of the roof and click. The roof's mesh stays as it is"""

    bl_idname = "stowfold.add_upstand"
    bl_label = "Add to the Roof"
    bl_options = {"REGISTER", "UNDO"}
    hint = (("MOUSE_LMB", "Place on the Slope"), *LEAVE)
    is_mine = staticmethod(is_upstand)

    kind: EnumProperty(name="Kind", items=KINDS)
    place: FloatVectorProperty(name="Place", size=3, subtype="XYZ", options={"HIDDEN", "SKIP_SAVE"})
    width: millimetres("Width", "Width along the eaves; 0 takes the usual size", 0.0, 0.0, 300.0)
    height: millimetres("Height", "Height over the slope at its front; 0 takes the usual size", 0.0, 0.0, 300.0)
    depth: millimetres("Depth", "How far a chimney reaches up the slope; 0 takes the usual size", 0.0, 0.0, 300.0)
    pitch: FloatProperty(
        name="Pitch", description="Pitch of a dormer's own roof", default=np.radians(35.0), min=0.0, subtype="ANGLE"
    )

    @classmethod
    def description(cls, _context: Context, properties: STOWFOLD_OT_add_upstand) -> str:
        words = next(words for name, _, words, _, _ in KINDS if name == properties.kind)
        return f"{words}. Point at a slope and click; the roof's mesh stays as it is"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return ready_to_place(cls, context)

    def begin(self, context: Context) -> Object:
        self._facets = _roofs(context)
        return self._make(context)

    def follow(self, context: Context, event: Event, target: Object) -> None:
        """Stand it where the pointer is on the roof; where it would not fit there it stays."""
        spot = hit_slope(self._facets, *ray_of(context, event))
        if spot is None:
            return
        try:
            _stand(target, spot, context)
        except GeometryError as error:
            show_hint(context.workspace, self.hint, said=str(error))
        else:
            self.place = spot.middle / mm_per_unit(context.scene)
            show_hint(context.workspace, self.hint)

    def _make(self, context: Context) -> Object:
        """Add the object on the slope nearest to the cursor."""
        label = next(label for name, label, _, _, _ in KINDS if name == self.kind)
        return add_standing(
            context, label, partial(self._choose, context), lambda target, spot: _stand(target, spot, context)
        )

    def _choose(self, context: Context, target: Object) -> RoofSpot:
        """Give it the sizes asked for, and return where it is to stand."""
        fields = target.stowfold.upstand
        fields.kind = self.kind
        take_sizes(fields, width=self.width, height=self.height, depth=self.depth)
        if self.kind == "DORMER":
            fields.pitch = self.pitch
        spot = self._spot(context, target)
        if self.kind == "DORMER" and not as_typed(self.height):
            low = lowered(size_of(fields), spot)
            fields.height, fields.pitch = low.height, low.pitch
        return spot

    def _spot(self, context: Context, target: Object) -> RoofSpot:
        """Return the spot that was clicked, or else the one nearest to the cursor with room for it all round."""
        scale = mm_per_unit(context.scene)
        if any(self.place):
            point = np.array(self.place) * scale
            spot = hit_slope(self._facets, np.array([*point[:2], point[2] + LARGEST]), np.array([0.0, 0.0, -1.0]))
            if spot is not None:
                return spot
        return _spot_near(self._facets, target, np.array(context.scene.cursor.location) * scale)


class STOWFOLD_OT_snap_upstands(Operator):
    """Set the selected dormers and chimneys onto the slope that they are over, and porches against the nearest wall"""

    bl_idname = "stowfold.snap_upstands"
    bl_label = "Snap to the Building"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        chosen = any(is_upstand(target) for target in context.selected_objects)
        return ready_to_place(cls, context) and needs(cls, chosen, "Select dormers, chimneys or porches first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        facets, walls = _roofs(context), walls_of(context)
        scale = mm_per_unit(context.scene)
        for target in [target for target in context.selected_objects if is_upstand(target)]:
            corners = np.array([(target.matrix_world @ vertex.co)[:] for vertex in target.data.vertices]) * scale
            if not len(corners):
                return warn(self, f"The mesh of '{target.name}' is empty; delete it and add it again")
            if is_porch(target):
                place = target.matrix_world
                along = np.array(place.col[0].to_3d())
                spot = spot_near(walls, target, np.array(place.translation) * scale, step=0.0, along=along)
                stand_porch(target, spot, walls, context)
            else:
                middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
                _stand(target, _spot_near(facets, target, middle), context)
            target.stowfold.upstand.trouble = ""
        results.suspect_all()
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_add_upstand, STOWFOLD_OT_snap_upstands)
