"""What is saved with a dormer, chimney or porch: its kind and sizes. The object's mesh is made from them."""

from __future__ import annotations

import math

import bpy
from bpy.props import BoolProperty, EnumProperty, FloatProperty, StringProperty
from bpy.types import PropertyGroup

from ..geometry.errors import GeometryError
from ..geometry.plan.porch import USUAL_PORCH, porch_body
from ..geometry.plan.upstand import DEFAULT_SIZES, UpstandKind, upstand_body
from ..host.lengths import as_typed, millimetres, to_units
from ..host.upstands import is_porch, is_upstand, kind_of, porch_size_of, size_of

__all__ = ["KINDS", "PORCH", "PORCH_ROOFS", "StowfoldUpstand", "redraw_upstand", "take_sizes"]

#: Identifier, label, tooltip, icon and number of each kind that stands on a roof, and of the one before a wall.
KINDS = (
    ("DORMER", "Dormer", "A front with two cheeks and a small roof of its own", "HOME", 1),
    ("CHIMNEY", "Chimney", "Four walls and a top, also over the ridge", "MESH_CUBE", 2),
)

PORCH = ("PORCH", "Porch", "A front on two posts with a roof, against a wall", "TRIA_UP_BAR", 3)

#: Identifier, label, tooltip and number of what lies over a porch.
PORCH_ROOFS = (
    ("LEAN_TO", "Lean-To", "One slope that rises to the wall", 0),
    ("GABLE", "Gable", "Two slopes and a ridge that runs to the wall", 1),
)

_DORMER = DEFAULT_SIZES[UpstandKind.DORMER]


def redraw_upstand(target: bpy.types.Object, scene: bpy.types.Scene) -> None:
    """Make the mesh of a dormer, chimney or porch from its sizes. Raises GeometryError for sizes that give no body."""
    fields = target.stowfold.upstand
    if is_porch(target):
        points, faces = porch_body(porch_size_of(fields))
    else:
        points, faces = upstand_body(kind_of(fields), size_of(fields), rise=float(fields.rise))
    mesh = target.data
    mesh.clear_geometry()
    mesh.from_pydata([tuple(to_units(float(x), scene) for x in point) for point in points], [], faces)
    mesh.update()


def _take_usual_sizes(fields: StowfoldUpstand) -> None:
    """Give a dormer, chimney or porch the sizes that are usual for its kind."""
    if fields.kind == "PORCH":
        fields.width, fields.height, fields.depth = USUAL_PORCH.width, USUAL_PORCH.height, USUAL_PORCH.reach
        fields.pitch, fields.post = USUAL_PORCH.pitch, USUAL_PORCH.post
        return
    usual = DEFAULT_SIZES[kind_of(fields)]
    fields.width, fields.height, fields.pitch = usual.width, usual.height, usual.pitch
    fields.depth = usual.depth or DEFAULT_SIZES[UpstandKind.CHIMNEY].depth


def take_sizes(fields: StowfoldUpstand, **asked: float) -> None:
    """Give a new dormer, chimney or porch the sizes that were asked for; where that is 0, the usual ones."""
    _take_usual_sizes(fields)
    for name, size in asked.items():
        if as_typed(size) > 0.0:
            setattr(fields, name, size)


def _changed(fields: StowfoldUpstand, context: bpy.types.Context) -> None:
    if not is_upstand(fields.id_data):
        return
    said = ""
    try:
        # the changed mesh makes the last check suspect
        redraw_upstand(fields.id_data, context.scene)
    except GeometryError as error:
        # sizes that give no body leave it as it was
        said = str(error)
    if fields.trouble != said:
        fields.trouble = said


class StowfoldUpstand(PropertyGroup):
    """Kind and sizes of a dormer, chimney or porch; "NONE" on other objects."""

    kind: EnumProperty(
        name="Kind",
        description="What stands on the roof or before a wall",
        items=(("NONE", "None", "No upstand", "X", 0), *KINDS, PORCH),
    )
    width: millimetres("Width", "Width along the eaves or the wall", _DORMER.width, 1.0, 300.0, update=_changed)
    height: millimetres(
        "Height",
        "Height over the slope at its front; of a dormer or porch, up to its own eaves",
        _DORMER.height,
        1.0,
        300.0,
        update=_changed,
    )
    depth: millimetres(
        "Depth",
        "How far a chimney reaches up the slope, on the plan, or a porch before its wall",
        20.0,
        1.0,
        300.0,
        update=_changed,
    )
    pitch: FloatProperty(
        name="Pitch",
        description="Pitch of its own roof; 0 is a flat one",
        default=math.radians(35.0),
        min=0.0,
        max=math.radians(70.0),
        subtype="ANGLE",
        update=_changed,
    )
    porch_roof: EnumProperty(name="Roof", description="What lies over it", items=PORCH_ROOFS, update=_changed)
    closed: BoolProperty(
        name="Side Walls", description="Close its sides with walls", default=USUAL_PORCH.closed, update=_changed
    )
    post: millimetres("Posts", "Width of its posts", USUAL_PORCH.post, 1.0, 60.0, update=_changed)
    trouble: StringProperty(
        name="Trouble", description="Why it does not show these sizes, or does not stand", options={"HIDDEN"}
    )
    rise: FloatProperty(name="Slope", description="Rise of the slope it stands on", default=1.0, options={"HIDDEN"})


CLASSES = (StowfoldUpstand,)
