"""What is saved with an opening: its kind and sizes. The object's mesh only shows them."""

from __future__ import annotations

import math

import bpy
import numpy as np
from bpy.props import BoolProperty, EnumProperty, FloatProperty, IntProperty
from bpy.types import PropertyGroup

from ..geometry.errors import GeometryError
from ..geometry.plan.opening import DEFAULT_SIZES, OpeningKind, opening_ring
from ..geometry.plan.opening_body import opening_body
from ..host.lengths import millimetres, to_units
from ..host.openings import filling_of, leaf_of, size_of

__all__ = ["KINDS", "StowfoldOpening", "redraw_opening"]

#: Identifier, label, tooltip, icon and number of each kind.
KINDS = (
    ("DOOR", "Door", "From the floor up, wide enough for a base", "IMPORT", 0),
    ("WINDOW", "Window", "Above the floor, to be seen through", "MESH_GRID", 1),
    ("HATCH", "Hatch", "A small square opening, as for sacks or letters", "SNAP_FACE", 2),
    ("ARCH", "Arch", "A door with a round head", "SPHERECURVE", 3),
)

#: Names of the materials of a pane and of a leaf, which the host lists apart, and how they look: blue and sky blue
#: of the set of Okabe and Ito.
_COLOURS = ((".Opening", (0.0, 0.168, 0.445)), (".Leaf", (0.093, 0.456, 0.815)), (".Pane", (0.60, 0.78, 0.90)))

#: Identifier, label, tooltip and number of what stands in an opening; the numbers are saved with files.
FILLINGS = (
    ("NONE", "Nothing", "The opening, or its leaf, is plain", 0),
    ("BARS", "Glazing Bars", "Bars of 1.5 mm, cut with the wall or the leaf", 1),
    ("MULLIONS", "Mullions", "Upright mullions with a transom across", 2),
    ("LATTICE", "Lattice Panes", "Slanting bars with panes of 5 x 7.5 mm and more", 3),
    (
        "BOARDS",
        "Boards and Ledges",
        "Upright boards, ledges and braces, engraved on the leaf; no leaf: shut for good",
        4,
    ),
    ("PANELS", "Panels", "Framed panels, engraved on the leaf; without a leaf it is shut for good", 5),
    ("LOUVRES", "Louvres", "Slats of a shutter, engraved on the leaf; without a leaf it is shut for good", 6),
    ("HALF_GLAZED", "Half Glazed", "Bars above and panels below", 7),
)

_DOOR = DEFAULT_SIZES[OpeningKind.DOOR]


def redraw_opening(target: bpy.types.Object, scene: bpy.types.Scene) -> None:
    """Give an opening's mesh the body of its kind, sizes and leaf; sizes that are no opening leave it as it was."""
    fields = target.stowfold.opening
    if not target.is_editable or not target.data.is_editable or target.mode != "OBJECT":
        return
    try:
        ring = opening_ring(OpeningKind(fields.kind.lower()), size_of(fields))
    except GeometryError:
        return
    points, faces, kinds = opening_body(ring, leaf_of(fields), filling_of(fields))
    mesh = target.data
    mesh.clear_geometry()
    mesh.from_pydata([tuple(to_units(value, scene) for value in point) for point in points], [], faces)
    for name, colour in _COLOURS[len(mesh.materials) :]:
        mesh.materials.append(_material(name, colour))
    mesh.polygons.foreach_set("material_index", np.array(kinds, dtype=np.int32))
    mesh.update()
    _show_solid(target)


def _show_solid(target: bpy.types.Object) -> None:
    """Show an opening by its faces, so that a click on any of them selects it; renders show its hole instead."""
    if target.display_type == "WIRE" and not target.stowfold.drawn_as:
        target.display_type = "TEXTURED"
    target.show_in_front = False
    target.hide_render = True


def _material(name: str, colour: tuple[float, float, float]) -> bpy.types.Material:
    known = bpy.data.materials.get(name)
    if known is None:
        known = bpy.data.materials.new(name)
        known.diffuse_color = (*colour, 1.0)
    return known


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
        "Jamb to Jamb",
        "Width of the opening; 30 mm pass a 25 mm base with a hand's play. A leaf's hinge is cut beside it",
        _DOOR.width,
        1.0,
        300.0,
        update=_changed,
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
    filling: EnumProperty(
        name="Filling",
        description="What stands in the opening, or in its leaf: bars that are cut, boards that are engraved",
        items=FILLINGS,
        update=_changed,
    )
    filling_scale: EnumProperty(
        name="Sizes",
        description="How large panes and boards are; bars are 1.5 mm wide at least",
        items=(
            ("PLAYABLE", "Playable", "As large as they are cut and seen well", 0),
            ("TRUE", "True", "As large as the figures, as far as bars of 1.5 mm leave panes", 1),
        ),
        update=_changed,
    )
    panes_across: IntProperty(
        name="Panes Across",
        description="Panes, boards or panels side by side, 0 for as many as fit; panes stay 4 mm wide",
        min=0,
        max=20,
        update=_changed,
    )
    panes_up: IntProperty(
        name="Panes Up",
        description="Panes or panels above one another, 0 for as many as fit; panes stay 4 mm high",
        min=0,
        max=20,
        update=_changed,
    )
    trim: EnumProperty(
        name="Trim",
        description="What is glued round the opening, of the thin board for trim",
        items=(
            ("BUILDING", "As Building", "What the building's openings get, see Trim in the step Dress", 0),
            ("NONE", "None", "Nothing, whatever other openings get", 1),
            ("FRAME", "Frame", "Members on both sides and above, below a window as well", 2),
            ("SILL", "Frame and Sill", "A frame, with a sill below a window", 3),
            ("SHUTTERS", "Frame, Shutters", "Frame and sill with a pair of shutters beside a window", 4),
        ),
        update=_changed,
    )
    sill: millimetres("Sill", "Height of its lower edge above the floor", 0.0, 0.0, 200.0, update=_changed)


CLASSES = (StowfoldOpening,)
