"""What the maker has fixed about the hinges of bends, everything else being left to the solver; rows of tried nets."""

from __future__ import annotations

from bpy.props import BoolProperty, EnumProperty
from bpy.types import PropertyGroup

from ..host.hinge_wishes import FIXED
from ..host.lengths import millimetres
from ..jobs import results

__all__ = ["StowfoldHinge", "StowfoldNet"]


def _changed(_group: PropertyGroup, _context: object) -> None:
    results.suspect_all()


class StowfoldHinge(PropertyGroup):
    """Sizes that the maker has fixed for all bends."""

    cut: EnumProperty(
        name="Slits Are",
        description="How slits are cut",
        items=(
            ("ANY", "Either", "Single lines or slots, whatever is narrower", 0),
            ("LINE", "Single Lines", "One pass of the laser each: quick to cut", 1),
            ("SLOT", "Slots", "Closed outlines: tighter bends, about twice the cutting", 2),
        ),
        update=_changed,
    )


for _name, _label, _words, _value in FIXED:
    StowfoldHinge.__annotations__[f"use_{_name}"] = BoolProperty(
        name=f"Fix {_label}", description=f"Fix it instead of leaving it to the solver. {_words}", update=_changed
    )
    StowfoldHinge.__annotations__[_name] = millimetres(_label, _words, _value, 0.05, 200.0, update=_changed)


class StowfoldNet(PropertyGroup):
    """A row in the list of nets that were tried."""

    good: BoolProperty(name="Good", description="It can be built, and its pieces fit sheets")
    present: BoolProperty(name="Present", description="It is the one that is marked on the mesh")


CLASSES = (StowfoldHinge, StowfoldNet)
