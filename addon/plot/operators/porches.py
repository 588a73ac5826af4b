"""Porches: added against a wall, and set back against it after they were moved."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
from bpy.props import BoolProperty, EnumProperty, FloatVectorProperty
from bpy.types import Context, Event, Object, Operator

from ...geometry.errors import GeometryError, UnreadableError
from ...geometry.plan.placing import WallSpot, hit_wall, nearest_wall, snap_spot
from ...geometry.plan.porch import USUAL_PORCH
from ...geometry.plan.porch_placing import check_at_wall
from ...geometry.solid.facets import Facets
from ...geometry.solid.find import find_facets
from ...geometry.solid.solid import Role
from ...host.lengths import as_typed, millimetres
from ...host.openings import stand_at
from ...host.reading import find_block_out, mm_per_unit, read_solid
from ...host.upstands import is_porch, porch_size_of
from ...window.hints import LEAVE, show_hint
from ...window.placing import Adding, add_standing, ready_to_place
from ...window.pointing import ray_of
from .. import proposing
from ..upstand_fields import PORCH_ROOFS, redraw_upstand, take_sizes


def walls_of(context: Context) -> Facets:
    """Return the facets of the block-outs without what stands beside them, each wall whole where it is parted.

    Raises GeometryError where there are none.
    """
    solid = read_solid(find_block_out(context.scene), context.scene, upstands=False)
    whole = tuple(Role.PLAIN for _ in solid.edge_roles)
    return find_facets(replace(solid, openings=(), edge_roles=whole))


def stand_porch(target: Object, spot: WallSpot, facets: Facets, context: Context) -> None:
    """Stand a porch at a spot of a wall. Raises BadSettingError for one that does not stand there."""
    check_at_wall(porch_size_of(target.stowfold.upstand), spot, facets)
    redraw_upstand(target, context.scene)
    stand_at(target, spot, context.scene)


def spot_near(facets: Facets, target: Object, point: np.ndarray, *, step: float, along: np.ndarray | None) -> WallSpot:
    """Return the spot of a wall for a porch nearest to a point, (3,) mm; along: the way its wall runs, if known."""
    spot = nearest_wall(facets, point, along=along) if along is not None else None
    spot = spot or nearest_wall(facets, point)
    if spot is None:
        raise UnreadableError("The building has no wall to stand against; give it one first")
    return snap_spot(spot, step=step, width=as_typed(target.stowfold.upstand.width))


class STOWFOLD_OT_add_porch(Adding, Operator):
    """Add a porch: point at a wall and click. The wall's mesh stays as it is"""

    bl_idname = "stowfold.add_porch"
    bl_label = "Add Porch"
    bl_options = {"REGISTER", "UNDO"}
    hint = (("MOUSE_LMB", "Place at the Wall"), ("EVENT_CTRL", "Off the Squares"), *LEAVE)
    is_mine = staticmethod(is_porch)

    place: FloatVectorProperty(name="Place", size=3, subtype="XYZ", options={"HIDDEN", "SKIP_SAVE"})
    along: FloatVectorProperty(name="Along", size=3, subtype="XYZ", options={"HIDDEN", "SKIP_SAVE"})
    width: millimetres("Width", "Width along the wall; 0 takes the usual size", 0.0, 0.0, 300.0)
    height: millimetres("Height", "Height of its front at the eaves; 0 takes the usual size", 0.0, 0.0, 300.0)
    depth: millimetres("Depth", "How far it reaches before the wall; 0 takes the usual size", 0.0, 0.0, 300.0)
    porch_roof: EnumProperty(name="Roof", description="What lies over it", items=PORCH_ROOFS)
    closed: BoolProperty(name="Side Walls", description="Close its sides with walls", default=USUAL_PORCH.closed)

    @classmethod
    def poll(cls, context: Context) -> bool:
        return ready_to_place(cls, context)

    def for_view(self) -> dict[str, str]:
        return {}

    def begin(self, context: Context) -> Object:
        self._facets = walls_of(context)
        return self._make(context)

    def follow(self, context: Context, event: Event, target: Object) -> None:
        """Stand it where the pointer is on a wall; where it would not fit there it stays."""
        spot = hit_wall(self._facets, *ray_of(context, event))
        if spot is None:
            return
        step = 1.0 if event.ctrl else _step(context)
        spot = snap_spot(spot, step=step, width=as_typed(target.stowfold.upstand.width))
        try:
            stand_porch(target, spot, self._facets, context)
        except GeometryError as error:
            show_hint(context.workspace, self.hint, said=str(error))
        else:
            show_hint(context.workspace, self.hint)

    def set_down(self, context: Context, target: Object) -> None:
        super().set_down(context, target)
        matrix = target.matrix_world
        self.place, self.along = matrix.translation, matrix.col[0].to_3d()
        ask_for_breaks(target)

    def execute(self, context: Context) -> set[str]:
        done = super().execute(context)
        if done == {"FINISHED"}:
            ask_for_breaks(context.object)
        return done

    def _make(self, context: Context) -> Object:
        """Add the object against the wall nearest to the cursor."""
        return add_standing(
            context,
            "Porch",
            partial(self._choose, context),
            lambda target, spot: stand_porch(target, spot, self._facets, context),
        )

    def _choose(self, context: Context, target: Object) -> WallSpot:
        """Give it the sizes asked for, and return where it is to stand."""
        fields = target.stowfold.upstand
        fields.kind = "PORCH"
        take_sizes(fields, width=self.width, height=self.height, depth=self.depth)
        fields.porch_roof, fields.closed = self.porch_roof, self.closed
        return self._spot(context, target)

    def _spot(self, context: Context, target: Object) -> WallSpot:
        """Return the spot that was clicked, or else the one nearest to the cursor."""
        scale = mm_per_unit(context.scene)
        if any(self.along):
            along = np.array(self.along)
            return spot_near(self._facets, target, np.array(self.place) * scale, step=0.0, along=along)
        near = np.array(context.scene.cursor.location) * scale
        return spot_near(self._facets, target, near, step=_step(context), along=None)


def ask_for_breaks(porch: Object) -> None:
    """Have breaks proposed again for the building, since one may lie behind the porch."""
    house = porch.parent
    if house is not None and house.stowfold.building.was_added:
        house.stowfold.building.unproposed = True
        proposing.ask()


def _step(context: Context) -> float:
    """Return what porches snap to, mm: half squares, as openings do."""
    return as_typed(context.scene.stowfold.square) / 2.0


CLASSES = (STOWFOLD_OT_add_porch,)
