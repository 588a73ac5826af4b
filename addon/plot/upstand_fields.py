"""What is saved with a dormer or chimney: its kind and sizes. The object's mesh is made from them."""

from __future__ import annotations

import math

import bpy
from bpy.props import EnumProperty, FloatProperty
from bpy.types import PropertyGroup

from ..geometry.errors import GeometryError
from ..geometry.plan.upstand import DEFAULT_SIZES, UpstandKind, upstand_body
from ..host.lengths import millimetres, to_units
from ..host.upstands import is_upstand, kind_of, size_of

__all__ = ["KINDS", "StowfoldUpstand", "redraw_upstand", "take_usual_sizes"]

#: Identifier, label, tooltip, icon and number of each kind.
KINDS = (
    ("DORMER", "Dormer", "A front with two cheeks and a small roof of its own", "HOME", 1),
    ("CHIMNEY", "Chimney", "Four walls and a top, also over the ridge", "MESH_CUBE", 2),
)

_DORMER = DEFAULT_SIZES[UpstandKind.DORMER]


def redraw_upstand(target: bpy.types.Object, scene: bpy.types.Scene) -> None:
    """Make the mesh of a dormer or chimney from its sizes. Raises GeometryError for sizes that give no body."""
    fields = target.stowfold.upstand
    points, faces = upstand_body(kind_of(fields), size_of(fields), rise=float(fields.rise))
    mesh = target.data
    mesh.clear_geometry()
    mesh.from_pydata([tuple(to_units(float(x), scene) for x in point) for point in points], [], faces)
    mesh.update()


def take_usual_sizes(fields: StowfoldUpstand) -> None:
    """Give a dormer or chimney the sizes that are usual for its kind."""
    usual = DEFAULT_SIZES[kind_of(fields)]
    fields.width, fields.height, fields.pitch = usual.width, usual.height, usual.pitch
    fields.depth = usual.depth or DEFAULT_SIZES[UpstandKind.CHIMNEY].depth


def _changed(fields: StowfoldUpstand, context: bpy.types.Context) -> None:
    if not is_upstand(fields.id_data):
        return
    try:
        # the changed mesh makes the last check suspect
        redraw_upstand(fields.id_data, context.scene)
    except GeometryError:
        return  # sizes that give no body leave it as it was


class StowfoldUpstand(PropertyGroup):
    """Kind and sizes of a dormer or chimney; "NONE" on other objects."""

    kind: EnumProperty(
        name="Kind", description="What stands on the roof", items=(("NONE", "None", "No upstand", "X", 0), *KINDS)
    )
    width: millimetres("Width", "Width along the eaves", _DORMER.width, 1.0, 300.0, update=_changed)
    height: millimetres(
        "Height",
        "Height over the slope at its front; of a dormer, up to its own eaves",
        _DORMER.height,
        1.0,
        300.0,
        update=_changed,
    )
    depth: millimetres(
        "Depth", "How far a chimney reaches up the slope, on the plan", 20.0, 1.0, 300.0, update=_changed
    )
    pitch: FloatProperty(
        name="Pitch",
        description="Pitch of the dormer's own roof; 0 is a flat one",
        default=math.radians(35.0),
        min=0.0,
        max=math.radians(70.0),
        subtype="ANGLE",
        update=_changed,
    )
    rise: FloatProperty(name="Slope", description="Rise of the slope it stands on", default=1.0, options={"HIDDEN"})


CLASSES = (StowfoldUpstand,)
