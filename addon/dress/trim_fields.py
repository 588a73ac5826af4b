"""What the building gets of trim: which members are cut from a thinner board, and how wide."""

from __future__ import annotations

import bpy
from bpy.props import BoolProperty, EnumProperty, IntProperty
from bpy.types import PropertyGroup

from ..geometry.settings import SECOND_COURSES, TrimSettings
from ..geometry.trim.members import LEAST_WIDTH
from ..host.lengths import millimetres
from ..jobs import results

__all__ = ["SWITCHES", "StowfoldTrim"]

_WIDEST = 12.0


def _touched(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    results.suspect_all()


def _switch(name: str, description: str) -> object:
    return BoolProperty(name=name, description=description, default=False, update=_touched)


class StowfoldTrim(PropertyGroup):
    """Switches for the whole building; openings may say otherwise."""

    frames: _switch("Frames", "Members on both sides of and above doors and windows, 1 mm over the opening")
    sills: _switch("Sills", "A sill below every window, 2 mm longer than the frame on either side")
    shutters: _switch("Shutters", "A pair of shutters that stand open beside every window")
    corner_boards: _switch("Corner Boards", "Upright boards on both sides of every bend")
    timbers: _switch("Timbers", "The frame of walls with a timber finish, one piece a board, instead of engraving it")
    shingles: _switch("Shingle Strips", "Courses of shingles or slates as strips, glued on from the eaves")
    second: EnumProperty(
        name="Shingles of Two",
        description="Which shingle strips are cut from a second board",
        items=(
            ("NONE", "None", "All strips are of the board of trim", 0),
            ("BANDS", "Bands", "Level bands of courses, by turns of either board", 1),
            ("DIAMONDS", "Diamonds", "Diamonds of the second board that touch at their corners", 2),
        ),
        default="NONE",
        update=_touched,
    )
    second_courses: IntProperty(
        name="Courses",
        description="How many courses a band is high, or a diamond from its middle up",
        default=SECOND_COURSES,
        min=1,
        soft_max=12,
        update=_touched,
    )
    width: millimetres(
        "Member Width", "Width of frames and corner boards", TrimSettings().width, LEAST_WIDTH, _WIDEST, update=_touched
    )


#: The switches in the order of the panel.
SWITCHES = ("frames", "sills", "shutters", "corner_boards", "timbers", "shingles")

CLASSES = (StowfoldTrim,)
