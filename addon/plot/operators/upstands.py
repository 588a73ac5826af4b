"""Dormers and chimneys: added to a slope of the roof, and set back onto it after they were moved."""

from __future__ import annotations

from dataclasses import replace

import bpy
import numpy as np
from bpy.props import EnumProperty, FloatProperty
from bpy.types import Context, Event, Object, Operator

from ...geometry.errors import GeometryError, UnreadableError
from ...geometry.plan.roof_placing import RoofSpot, check_below_top, hit_slope, nearest_slope
from ...geometry.plan.upstand import depth_of
from ...geometry.solid.facets import Facets
from ...geometry.solid.find import find_facets
from ...host.lengths import as_typed, millimetres
from ...host.reading import find_block_out, mm_per_unit, read_solid
from ...host.scale import keep_scale
from ...host.upstands import is_upstand, kind_of, size_of, stand_on
from ...host.views import select_alone
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn
from ...window.pointing import Pointing, ray_of, view_region
from ..upstand_fields import KINDS, redraw_upstand, take_usual_sizes

_HINT = "Point at a slope, click to place · Esc or right click: leave it"


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
    check_below_top(kind_of(fields), size_of(fields), spot)
    fields.rise = spot.rise
    redraw_upstand(target, context.scene)
    stand_on(target, spot, context.scene)


def _ready(operator: type[Operator], context: Context) -> bool:
    meshes = any(target.type == "MESH" for target in context.scene.objects)
    return needs(operator, context.mode == "OBJECT", "Leave Edit Mode first") and needs(
        operator, meshes, "Add or model a building first"
    )


class STOWFOLD_OT_add_upstand(Pointing, Operator):
    """Add a dormer or chimney: point at a slope of the roof and click. The roof's mesh stays as it is"""

    bl_idname = "stowfold.add_upstand"
    bl_label = "Add to the Roof"
    bl_options = {"REGISTER", "UNDO"}

    kind: EnumProperty(name="Kind", items=KINDS)
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
        return _ready(cls, context)

    @report_errors("WARNING")
    def invoke(self, context: Context, event: Event) -> set[str]:
        if context.area is None or context.area.type != "VIEW_3D" or context.region.type != "WINDOW":
            # from the sidebar the pointer is no place yet; the next click in the view is
            region = view_region(context)
            if region is None:
                return self.execute(context)
            with context.temp_override(region=region):
                return bpy.ops.stowfold.add_upstand("INVOKE_DEFAULT", kind=self.kind)
        self._facets = _roofs(context)
        target = self._make(context)
        self.follow(context, event, target)
        return self.point(context, _HINT)

    def follow(self, context: Context, event: Event, target: Object) -> None:
        """Stand it where the pointer is on the roof; where it would not fit there it stays."""
        spot = hit_slope(self._facets, *ray_of(context, event))
        if spot is None:
            return
        try:
            _stand(target, spot, context)
        except GeometryError as error:
            context.workspace.status_text_set(str(error))

    def modal(self, context: Context, event: Event) -> set[str]:
        target = context.view_layer.objects.active
        if target is None or not is_upstand(target):
            self.leave(context)
            return {"CANCELLED"}
        if self.puts_back(event):
            _remove(target)
            self.leave(context)
            return {"CANCELLED"}
        if event.type in {"LEFTMOUSE", "RET"} and event.value == "PRESS":
            keep_scale(context.scene)
            self.leave(context)
            results.suspect_all()
            return {"FINISHED"}
        if event.type == "MOUSEMOVE":
            self.follow(context, event, target)
            return {"RUNNING_MODAL"}
        return self.let_look(event)

    @report_errors("WARNING")
    def execute(self, context: Context) -> set[str]:
        keep_scale(context.scene)
        self._facets = _roofs(context)
        self._make(context)
        results.suspect_all()
        return {"FINISHED"}

    def _make(self, context: Context) -> Object:
        """Add the object on the slope nearest to the cursor. Nothing stays where that fails."""
        scene = context.scene
        label = next(label for name, label, _, _, _ in KINDS if name == self.kind)
        target = bpy.data.objects.new(label, bpy.data.meshes.new(label))
        try:
            fields = target.stowfold.upstand
            fields.kind = self.kind
            take_usual_sizes(fields)
            for name in ("width", "height", "depth"):
                if as_typed(getattr(self, name)) > 0.0:
                    setattr(fields, name, getattr(self, name))
            if self.kind == "DORMER":
                fields.pitch = self.pitch
            near = np.array(scene.cursor.location) * mm_per_unit(scene)
            spot = _spot_near(self._facets, target, near)
            context.collection.objects.link(target)
            buildings = find_block_out(scene)
            target.parent = buildings[0] if len(buildings) == 1 else None
            _stand(target, spot, context)
        except GeometryError:
            _remove(target)
            raise
        target.show_wire = True
        select_alone(context, target)
        return target


def _remove(target: Object) -> None:
    mesh = target.data
    bpy.data.objects.remove(target)
    bpy.data.meshes.remove(mesh)


class STOWFOLD_OT_snap_upstands(Operator):
    """Set the selected dormers and chimneys onto the slope that they are over, their front down the slope"""

    bl_idname = "stowfold.snap_upstands"
    bl_label = "Snap to the Roof"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        chosen = any(is_upstand(target) for target in context.selected_objects)
        return _ready(cls, context) and needs(cls, chosen, "Select dormers or chimneys first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        facets = _roofs(context)
        scale = mm_per_unit(context.scene)
        for target in [target for target in context.selected_objects if is_upstand(target)]:
            corners = np.array([(target.matrix_world @ vertex.co)[:] for vertex in target.data.vertices]) * scale
            if not len(corners):
                return warn(self, f"The mesh of '{target.name}' is empty; delete it and add it again")
            middle = (corners.min(axis=0) + corners.max(axis=0)) / 2.0
            _stand(target, _spot_near(facets, target, middle), context)
        results.suspect_all()
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_add_upstand, STOWFOLD_OT_snap_upstands)
