"""What is saved with an opening: its kind and sizes. The object's mesh only shows them."""

from __future__ import annotations

import math

import bpy
from bpy.props import BoolProperty, EnumProperty, FloatProperty
from bpy.types import PropertyGroup

from ..geometry.errors import GeometryError
from ..geometry.plan.opening import DEFAULT_SIZES, OpeningKind, opening_ring
from ..host.lengths import millimetres, to_units
from ..host.openings import size_of

__all__ = ["KINDS", "StowfoldOpening", "redraw_opening"]

#: Identifier, label, tooltip, icon and number of each kind.
KINDS = (
    ("DOOR", "Door", "From the floor up, wide enough for a base", "IMPORT", 0),
    ("WINDOW", "Window", "Above the floor, to be seen through", "MESH_GRID", 1),
    ("HATCH", "Hatch", "A small square opening, as for sacks or letters", "SNAP_FACE", 2),
    ("ARCH", "Arch", "A door with a round head", "SPHERECURVE", 3),
)

_DOOR = DEFAULT_SIZES[OpeningKind.DOOR]


def redraw_opening(target: bpy.types.Object, scene: bpy.types.Scene) -> None:
    """Give an opening's mesh the outline of its kind and sizes; sizes that are no opening leave it as it was."""
    fields = target.stowfold.opening
    try:
        ring = opening_ring(OpeningKind(fields.kind.lower()), size_of(fields))
    except GeometryError:
        return
    mesh = target.data
    mesh.clear_geometry()
    mesh.from_pydata([(to_units(x, scene), 0.0, to_units(y, scene)) for x, y in ring], [], [tuple(range(len(ring)))])
    mesh.update()


def _changed(fields: StowfoldOpening, context: bpy.types.Context) -> None:
    if fields.is_opening and fields.id_data.type == "MESH":
        # the changed mesh makes the last check suspect
        redraw_opening(fields.id_data, context.scene)


def _chosen(fields: StowfoldOpening, context: bpy.types.Context) -> None:
    usual = DEFAULT_SIZES[OpeningKind(fields.kind.lower())]
    # each of them redraws
    fields.width, fields.height, fields.sill = usual.width, usual.height, usual.sill


class StowfoldOpening(PropertyGroup):
    """Kind and sizes of a door, window, hatch or arch; all zero on other objects."""

    is_opening: BoolProperty(name="Opening", description="This object cuts an opening into the wall it stands in")
    kind: EnumProperty(name="Kind", description="What the opening is for", items=KINDS, update=_chosen)
    width: millimetres(
        "Width", "Clear width; 30 mm pass a 25 mm base with a hand's play", _DOOR.width, 1.0, 300.0, update=_changed
    )
    height: millimetres("Height", "Height over all, an arch's head included", _DOOR.height, 1.0, 300.0, update=_changed)
    leaf: EnumProperty(
        name="Leaf",
        description="What closes the opening: a leaf left in the wall's board that swings on a lattice of its own",
        items=(
            ("NONE", "None", "Open", 0),
            ("LEFT", "Hung Left", "The leaf hangs at the left jamb, seen from outside", 1),
            ("RIGHT", "Hung Right", "The leaf hangs at the right jamb, seen from outside", 2),
        ),
        update=_changed,
    )
    swing: FloatProperty(
        name="Opens To",
        description="How far the leaf opens",
        default=math.radians(100.0),
        min=math.radians(20.0),
        max=math.radians(150.0),
        subtype="ANGLE",
        update=_changed,
    )
    inward: BoolProperty(name="Into the Room", description="The leaf opens into the room", update=_changed)
    sill: millimetres("Sill", "Height of its lower edge above the floor", 0.0, 0.0, 200.0, update=_changed)


CLASSES = (StowfoldOpening,)
