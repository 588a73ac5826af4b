"""Sizes of a building that is blocked out on the squares, held by the operator that adds it and by its object."""

from __future__ import annotations

import math

from bpy.props import BoolProperty, EnumProperty, FloatProperty, IntProperty, StringProperty
from bpy.types import PropertyGroup

from ..geometry.plan.outline import ROUND_SIDES

__all__ = ["BuildingFields", "StowfoldBuilding"]

#: Height of the walls of a new building, mm: the most over which a large hand passes with a short pinch, which is
#: a grip 20 mm above the floor and 40 mm from there to the palm (``geometry.play.hand``).
WALL_HEIGHT = 60.0


class BuildingFields:
    """What a blocked-out building is made from; the operator that adds one and its object both hold these."""

    plan: EnumProperty(
        name="Plan",
        description="Shape of the room, on the squares",
        items=(
            ("RECTANGLE", "Rectangle", "Four walls", 0),
            ("L", "L", "A bar along the front, and a wing at its left end", 1),
            ("T", "T", "A bar along the front, and a wing in the middle of it", 2),
            ("U", "U", "A bar along the front, and a wing at each end", 3),
            ("Z", "Z", "Two bars, the one in front at the left, that lie beside one another in the middle", 5),
            ("PLUS", "Plus", "A bar across the middle, and wings before and behind it", 6),
            ("ROUND", "Round", "Equal sides round a middle", 7),
            ("CORNERS", "Corners", "Any outline, corner by corner", 4),
        ),
    )
    length: FloatProperty(
        name="Squares Long", description="Squares along x", default=9.0, min=0.0, soft_max=40.0, step=100
    )
    width: FloatProperty(
        name="Squares Wide", description="Squares along y", default=6.0, min=0.0, soft_max=40.0, step=100
    )
    bar: FloatProperty(name="Bar Deep", description="Squares that the bar is deep", default=3.0, min=0.0, step=100)
    wing: FloatProperty(name="Wing Wide", description="Squares that a wing is wide", default=3.0, min=0.0, step=100)
    across: FloatProperty(
        name="Squares Across",
        description="Squares from the front to the opposite side, twice as far as from the middle to a side",
        default=6.0,
        min=0.0,
        soft_max=40.0,
        step=100,
    )
    sides: IntProperty(
        name="Sides", description="Walls round the middle", default=8, min=ROUND_SIDES[0], max=ROUND_SIDES[1]
    )
    corners: StringProperty(
        name="Corners",
        description="Corners of the plan in squares, as x,y pairs with spaces between them",
        default="0,0 8,0 8,3 4,3 4,7 0,7",
    )
    height: FloatProperty(
        name="Wall Height",
        description="Height of the walls at the eaves; lower walls are easier to reach over",
        default=WALL_HEIGHT,
        min=0.0,
        soft_max=200.0,
        precision=5,
        subtype="DISTANCE_CAMERA",
    )
    roof: EnumProperty(
        name="Roof",
        description="What lies over the walls, as a surface of its own",
        items=(
            ("NONE", "None", "Open to the sky", 0),
            ("GABLE", "Gable", "Slopes that meet at a ridge, and gables at the ends of wings", 1),
            ("HIP", "Hip", "A slope from every wall", 2),
            ("HALF_HIP", "Half-Hip", "Gables whose tops are clipped by a slope", 3),
            ("PYRAMID", "Pyramid", "A slope from every wall, all to one point", 4),
            ("LEAN_TO", "Lean-To", "One slope that rises from the longest wall", 5),
            ("GAMBREL", "Gambrel", "A gable roof whose slopes are steep below and flat above", 6),
            ("MANSARD", "Mansard", "A slope from every wall, steep below and flat above", 7),
            ("CROSSING", "Crossing Gables", "A gable roof along every wing, which cross in valleys", 8),
        ),
    )
    pitch_as: EnumProperty(
        name="Pitch As",
        description="How the slope of the roof is given",
        items=(
            ("RISE", "Rise in 12", "Units up for 12 units in, as on a framing square", 0),
            ("ANGLE", "Angle", "Angle between slope and floor", 1),
        ),
    )
    rise: FloatProperty(name="Rise in 12", description="Units up for 12 units in", default=8.0, min=0.0, soft_max=24.0)
    angle: FloatProperty(
        name="Pitch",
        description="Angle between slope and floor",
        default=math.radians(35.0),
        min=0.0,
        max=math.radians(90.0),
        subtype="ANGLE",
    )
    lower_pitch: FloatProperty(
        name="Lower Pitch",
        description="Angle between the lower slopes and the floor; the pitch is that of the upper ones",
        default=math.radians(60.0),
        min=0.0,
        max=math.radians(90.0),
        subtype="ANGLE",
    )
    lower_share: FloatProperty(
        name="Lower Share",
        description="How much of the way in the lower slopes take; of a half-hip, of the height the gable takes",
        default=0.5,
        min=0.0,
        max=1.0,
        subtype="FACTOR",
    )
    overhang: FloatProperty(
        name="Overhang",
        description="How far the roof reaches beyond the walls",
        default=6.0,
        min=0.0,
        soft_max=30.0,
        precision=5,
        subtype="DISTANCE_CAMERA",
    )


class StowfoldBuilding(BuildingFields, PropertyGroup):
    """What the object was blocked out from, so that it can be blocked out again."""

    was_added: BoolProperty(name="Blocked Out", description="The mesh was made from these sizes")
    faces_made: IntProperty(name="Faces Made", description="Faces that the mesh had when it was blocked out")


CLASSES = (StowfoldBuilding,)
