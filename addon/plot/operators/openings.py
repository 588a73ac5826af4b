"""Openings: doors, windows, hatches and arches are added to walls, moved along them and snapped to the squares."""

from __future__ import annotations

import bpy
import numpy as np
from bpy.props import EnumProperty, FloatVectorProperty
from bpy.types import Context, Event, Object, Operator

from ...geometry.plan.opening import OpeningKind, opening_ring
from ...geometry.plan.placing import WallSpot, hit_wall, nearest_wall, snap_spot
from ...geometry.solid.facets import Facets
from ...geometry.solid.find import find_facets
from ...host.openings import size_of, stand_at
from ...host.reading import as_typed, find_block_out, mm_per_unit, read_solid
from ...host.views import select_alone
from ...jobs import results
from ...jobs.reporting import needs, report_errors
from ...window.hints import LEAVE
from ...window.placing import Adding, Placing, adopt, ready_to_place
from ...window.pointing import ray_of
from ..opening_fields import KINDS, redraw_opening

#: What bends and joiners usually take at the end of a wall, mm: half a cheek of 30, or an inside radius of 12 and 3 mm
#: of board beside it. An opening that snaps leaves it free; the check tells where a board needs more.
_ENDS = 15.0


def _walls(context: Context) -> Facets:
    """Return the facets of the block-outs as modelled. Raises GeometryError where there are none."""
    from dataclasses import replace

    solid = read_solid(find_block_out(context.scene), context.scene)
    return find_facets(replace(solid, openings=()))


def _width(target: Object) -> float:
    ring = np.array(opening_ring(OpeningKind(target.stowfold.opening.kind.lower()), size_of(target.stowfold.opening)))
    return float(np.ptp(ring[:, 0]))


def _step(context: Context, free: bool) -> float:
    """Return what openings snap to, mm: half squares, so that a door stands in a square or between two."""
    return 1.0 if free else as_typed(context.scene.stowfold.square) / 2.0


def _chosen(context: Context) -> list[Object]:
    return [
        target for target in context.selected_objects if target.type == "MESH" and target.stowfold.opening.is_opening
    ]


def _is_opening(target: Object) -> bool:
    return bool(target.stowfold.opening.is_opening)


class _OnWalls:
    """A mixin for placing: an opening follows the pointer along the walls of the block-outs."""

    hint = (("MOUSE_LMB", "Place on the Wall"), ("EVENT_CTRL", "Off the Squares"), *LEAVE)
    is_mine = staticmethod(_is_opening)
    _facets: Facets

    def follow(self, context: Context, event: Event, target: Object) -> None:
        spot = hit_wall(self._facets, *ray_of(context, event))
        if spot is not None:
            ends = 0.0 if event.ctrl else _ENDS
            snapped = snap_spot(spot, step=_step(context, event.ctrl), width=_width(target), ends=ends)
            stand_at(target, snapped, context.scene)


class STOWFOLD_OT_add_opening(_OnWalls, Adding, Operator):
    """Add a door, window, hatch or arch: point at a wall and click. The wall's mesh stays as it is"""

    bl_idname = "stowfold.add_opening"
    bl_label = "Add Opening"
    bl_options = {"REGISTER", "UNDO"}

    kind: EnumProperty(name="Kind", items=KINDS)
    place: FloatVectorProperty(name="Place", size=3, subtype="XYZ", options={"HIDDEN", "SKIP_SAVE"})
    along: FloatVectorProperty(name="Along", size=3, subtype="XYZ", options={"HIDDEN", "SKIP_SAVE"})

    @classmethod
    def description(cls, _context: Context, properties: STOWFOLD_OT_add_opening) -> str:
        words = next(words for name, _, words, _, _ in KINDS if name == properties.kind)
        return f"{words}. Point at a wall and click; the wall's mesh stays as it is"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return ready_to_place(cls, context)

    def begin(self, context: Context) -> Object:
        self._facets = _walls(context)
        return self._make(context)

    def set_down(self, context: Context, target: Object) -> None:
        super().set_down(context, target)
        matrix = target.matrix_world
        self.place, self.along = matrix.translation, matrix.col[0].to_3d()

    def _make(self, context: Context) -> Object:
        scene = context.scene
        label = next(label for name, label, _, _, _ in KINDS if name == self.kind)
        target = bpy.data.objects.new(label, bpy.data.meshes.new(label))
        fields = target.stowfold.opening
        fields.is_opening = True
        fields.kind = self.kind
        # the kind that an object is born with gives no notice
        from ...geometry.plan.opening import DEFAULT_SIZES

        usual = DEFAULT_SIZES[OpeningKind(self.kind.lower())]
        fields.width, fields.height, fields.sill = usual.width, usual.height, usual.sill
        redraw_opening(target, scene)
        target.color = (0.0, 0.45, 0.7, 1.0)
        context.collection.objects.link(target)
        if any(self.along):
            along = np.array(self.along) / np.linalg.norm(self.along)
            spot: WallSpot | None = WallSpot(np.array(self.place) * mm_per_unit(scene), along, (0.0, 0.0))
        else:
            near = np.array(scene.cursor.location) * mm_per_unit(scene)
            spot = nearest_wall(self._facets, near)
            spot = None if spot is None else snap_spot(spot, step=_step(context, False), width=usual.width, ends=_ENDS)
        if spot is not None:
            adopt(target, context)
            stand_at(target, spot, scene)
        select_alone(context, target)
        return target


class STOWFOLD_OT_move_opening(_OnWalls, Placing, Operator):
    """Move the active opening along the walls: point and click"""

    bl_idname = "stowfold.move_opening"
    bl_label = "Move Along Walls"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        active = context.object is not None and context.object.stowfold.opening.is_opening
        return ready_to_place(cls, context) and needs(cls, active, "Select an opening first")

    def begin(self, context: Context) -> Object:
        self._facets = _walls(context)
        self._before = context.object.matrix_world.copy()
        return context.object

    def take_back(self, target: Object) -> None:
        target.matrix_world = self._before


class STOWFOLD_OT_snap_openings(Operator):
    """Bring the selected openings back onto the nearest wall and to half squares"""

    bl_idname = "stowfold.snap_openings"
    bl_label = "Snap Openings"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        return ready_to_place(cls, context) and needs(cls, _chosen(context), "Select openings first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        facets = _walls(context)
        widths = {target.name: _width(target) for target in _chosen(context)}
        for target in _chosen(context):
            matrix = target.matrix_world
            foot = np.array(matrix.translation) * mm_per_unit(context.scene)
            along = np.array(matrix.col[0].to_3d())
            spot = nearest_wall(facets, foot, along=along) or nearest_wall(facets, foot)
            if spot is not None:
                step = _step(context, False)
                stand_at(target, snap_spot(spot, step=step, width=widths[target.name]), context.scene)
        results.suspect_all()
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_add_opening, STOWFOLD_OT_move_opening, STOWFOLD_OT_snap_openings)
