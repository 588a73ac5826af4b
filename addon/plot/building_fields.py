"""Sizes of a building that is blocked out on the squares, held by the operator that adds it and by its object.

On the object a changed size changes the building at once (``reshaping``).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from bpy.props import BoolProperty, EnumProperty, FloatProperty, IntProperty, StringProperty
from bpy.types import PropertyGroup

from ..geometry.plan.outline import ROUND_SIDES
from . import reshaping

__all__ = ["FIELDS", "BuildingFields", "StowfoldBuilding"]

#: Height of the walls of a new building, mm: the most over which a large hand passes with a short pinch, which is
#: a grip 20 mm above the floor and 40 mm from there to the palm (``geometry.play.hand``).
WALL_HEIGHT = 60.0

#: Identifier, label, tooltip and number of every plan.
_PLANS = (
    ("RECTANGLE", "Rectangle", "Four walls", 0),
    ("L", "L", "A bar along the front, and a wing at its left end", 1),
    ("T", "T", "A bar along the front, and a wing in the middle of it", 2),
    ("U", "U", "A bar along the front, and a wing at each end", 3),
    ("Z", "Z", "Two bars, the one in front at the left, that lie beside one another in the middle", 5),
    ("PLUS", "Plus", "A bar across the middle, and wings before and behind it", 6),
    ("ROUND", "Round", "Equal sides round a middle", 7),
    ("CORNERS", "Corners", "Any outline, corner by corner", 4),
)

#: Identifier, label, tooltip and number of every kind of roof.
_ROOFS = (
    ("NONE", "None", "Open to the sky", 0),
    ("GABLE", "Gable", "Slopes that meet at a ridge, and gables at the ends of wings", 1),
    ("HIP", "Hip", "A slope from every wall", 2),
    ("HALF_HIP", "Half-Hip", "Gables whose tops are clipped by a slope", 3),
    ("PYRAMID", "Pyramid", "A slope from every wall, all to one point", 4),
    ("LEAN_TO", "Lean-To", "One slope that rises from the longest wall", 5),
    ("GAMBREL", "Gambrel", "A gable roof whose slopes are steep below and flat above", 6),
    ("MANSARD", "Mansard", "A slope from every wall, steep below and flat above", 7),
    ("CROSSING", "Crossing Gables", "A gable roof along every wing, which cross in valleys", 8),
    ("FLAT", "Flat", "A level board over the walls", 9),
)

#: Identifier, label, tooltip and number of what lies over wings.
_WINGS = (
    ("JOINED", "One Roof", "Walls of one height, and one roof with valleys over all", 0),
    ("OWN", "Lower Wings", "A house along the bar; lower wings stand against it, each with its own walls and roof", 1),
)

#: The same of the roofs of a wing.
_WING_ROOFS = (
    ("NONE", "None", "Open to the sky", 0),
    ("GABLE", "Gable", "A ridge from the house to a gable at the end", 1),
    ("HIP", "Hip", "A slope from each of the three walls", 2),
    ("LEAN_TO", "Lean-To", "One slope that rises to the wall of the house", 3),
    ("FLAT", "Flat", "A level board over the walls", 4),
)

_PITCHES = (
    ("RISE", "Rise in 12", "Units up for 12 units in, as on a framing square", 0),
    ("ANGLE", "Angle", "Angle between slope and floor", 1),
)

Field = tuple[Callable[..., Any], dict[str, Any]]


def _choice(name: str, description: str, items: tuple[tuple[str, str, str, int], ...], default: str) -> Field:
    return EnumProperty, {"name": name, "description": description, "items": items, "default": default}


def _squares(name: str, description: str, default: float, most: float = 40.0) -> Field:
    more = {"min": 0.0, "soft_max": most, "step": 100}
    return FloatProperty, {"name": name, "description": description, "default": default, **more}


def _millimetres(name: str, description: str, default: float, most: float) -> Field:
    more = {"min": 0.0, "soft_max": most, "precision": 5, "subtype": "DISTANCE_CAMERA"}
    return FloatProperty, {"name": name, "description": description, "default": default, **more}


def _angle(name: str, description: str, default_deg: float) -> Field:
    more = {"min": 0.0, "max": math.radians(90.0), "subtype": "ANGLE"}
    return FloatProperty, {"name": name, "description": description, "default": math.radians(default_deg), **more}


def _wing(key: str, name: str) -> dict[str, Field]:
    """Return the fields of a wing with a roof of its own; key: what they begin with."""
    return {
        f"{key}_height": _millimetres(
            f"{name} Height",
            "Height of the walls of the wing at its eaves; 0 takes what fits under the house",
            0.0,
            200.0,
        ),
        f"{key}_roof": _choice(f"{name} Roof", "What lies over the wing", _WING_ROOFS, "GABLE"),
        f"{key}_angle": _angle(f"{name} Pitch", "Angle between slope and floor", 35.0),
    }


#: Every field with the function of the host that makes it, and what that is told.
_TABLE: dict[str, Field] = {
    "plan": _choice("Plan", "Shape of the room, on the squares", _PLANS, "RECTANGLE"),
    "length": _squares("Squares Long", "Squares along x", 9.0),
    "width": _squares("Squares Wide", "Squares along y", 6.0),
    "bar": _squares("Bar Depth", "Squares that the bar is deep", 3.0),
    "wing": _squares("Wing Width", "Squares that a wing is wide", 3.0),
    "across": _squares(
        "Squares Across", "Squares from the front to the opposite side, twice as far as from the middle to a side", 6.0
    ),
    "sides": (
        IntProperty,
        {
            "name": "Sides",
            "description": "Walls round the middle",
            "default": 8,
            "min": ROUND_SIDES[0],
            "max": ROUND_SIDES[1],
        },
    ),
    "corners": (
        StringProperty,
        {
            "name": "Corners",
            "description": "Corners of the plan in squares, as x,y pairs with spaces between them",
            "default": "0,0 8,0 8,3 4,3 4,7 0,7",
        },
    ),
    "height": _millimetres(
        "Wall Height", "Height of the walls at the eaves; lower walls are easier to reach over", WALL_HEIGHT, 200.0
    ),
    "strip": _millimetres(
        "Strip",
        "How far outside the squares the walls stand, so that bases clear joiners and bends",
        0.0,
        15.0,
    ),
    "roof": _choice("Roof", "What lies over the walls, as a surface of its own", _ROOFS, "NONE"),
    "pitch_as": _choice("Pitch As", "How the slope of the roof is given", _PITCHES, "ANGLE"),
    "rise": (
        FloatProperty,
        {
            "name": "Rise in 12",
            "description": "Units up for 12 units in",
            "default": 8.0,
            "min": 0.0,
            "soft_max": 24.0,
        },
    ),
    "angle": _angle("Pitch", "Angle between slope and floor", 35.0),
    "lower_pitch": _angle(
        "Lower Pitch", "Angle between the lower slopes and the floor; the pitch is that of the upper ones", 60.0
    ),
    "lower_share": (
        FloatProperty,
        {
            "name": "Lower Share",
            "description": (
                "How much of the way in the lower slopes take; of a half-hip, of the height the gable takes"
            ),
            "default": 0.5,
            "min": 0.0,
            "max": 1.0,
            "subtype": "FACTOR",
        },
    ),
    "overhang": _millimetres("Overhang", "How far the roof reaches beyond the walls", 6.0, 30.0),
    "wings": _choice("Wings", "Whether the wings lie under the roof of the house, or are lower", _WINGS, "JOINED"),
    **_wing("wing", "Wing"),
    "wings_differ": (
        BoolProperty,
        {"name": "Wings Differ", "description": "Give the second wing sizes of its own", "default": False},
    ),
    **_wing("second", "Second"),
}

#: Names of the fields.
FIELDS = tuple(_TABLE)


def _made(update: Callable[..., None] | None = None) -> dict[str, Any]:
    """Return the fields as the host wants them; update: called when one is changed."""
    return {name: make(update=update, **told) for name, (make, told) in _TABLE.items()}


class BuildingFields:
    """What a building is blocked out from, as the operator that adds one holds it."""

    __annotations__ = _made()


class _LiveFields:
    """The same on an object, which follows them."""

    __annotations__ = _made(reshaping.changed)


class StowfoldBuilding(_LiveFields, PropertyGroup):
    """What the object was blocked out from, and what of its mesh was made so."""

    was_added: BoolProperty(name="Blocked Out", description="The mesh was made from these sizes")
    faces_made: IntProperty(name="Faces Made", description="Faces that the mesh had when it was blocked out")
    mesh_made: StringProperty(
        name="Mesh Made", description="What the mesh was when it was blocked out", options={"HIDDEN"}
    )
    unproposed: BoolProperty(
        name="Unproposed",
        description="Sizes were changed, and bends and breaks are not proposed for them yet",
        options={"HIDDEN"},
    )
    trouble: StringProperty(
        name="Trouble", description="Why the model does not show these sizes, or cannot be cut", options={"HIDDEN"}
    )


CLASSES = (StowfoldBuilding,)
