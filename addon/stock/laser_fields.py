"""Settings of the laser: the one that cuts whatever it takes, and others for what is too large for it."""

from __future__ import annotations

import bpy
from bpy.props import FloatProperty, FloatVectorProperty, IntProperty, StringProperty
from bpy.types import PropertyGroup

from ..geometry.beam.laser import Laser, Operation
from ..geometry.sheet.fills import rgb
from ..host.lengths import millimetres
from ..jobs import results

__all__ = ["StowfoldLaser", "StowfoldOtherLaser"]

_LASER = Laser()


def _touched(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    results.suspect_all()


def _by_hand(group: PropertyGroup, context: bpy.types.Context) -> None:
    group.notes = 0  # what is set by hand no longer rests on noted times
    _touched(group, context)


def _speed(name: str, description: str, operation: Operation) -> object:
    return FloatProperty(
        name=name,
        description=description,
        default=_LASER.feeds[operation].speed,
        min=0.01,
        soft_max=500.0,
        update=_by_hand,
    )


def _colour(operation: Operation, of_what: str) -> object:
    return FloatVectorProperty(
        name=operation.value.capitalize(),
        description=f"Stroke colour of {of_what} in the cut files; your laser's program tells lines apart by it",
        default=rgb(_LASER.colours[operation]),
        size=3,
        min=0.0,
        max=1.0,
        subtype="COLOR_GAMMA",
        update=_touched,
    )


class StowfoldLaser(PropertyGroup):
    """What the cut files must respect."""

    bed_width: millimetres("Bed Width", "Width that the laser reaches", _LASER.bed[0], 10.0, update=_touched)
    bed_depth: millimetres("Bed Depth", "Depth that the laser reaches", _LASER.bed[1], 10.0, update=_touched)
    margin: millimetres("Margin", "Kept free along the edge of each sheet", _LASER.margin, 0.0, 50.0, update=_touched)
    spacing: millimetres("Spacing", "Kept free between two parts", _LASER.spacing, 0.0, 50.0, update=_touched)
    profile: StringProperty(name="Laser", default=_LASER.name, update=_touched)
    own_kerf: millimetres(
        "Kerf of Laser",
        "Takes the place of each board's kerf; 0 leaves the boards theirs",
        0.0,
        0.0,
        1.0,
        update=_touched,
    )
    cut_speed: _speed("Cut (mm/s)", "Along outlines, as measured on this board", Operation.OUTER)
    slit_speed: _speed("Slits (mm/s)", "Along the slits of bends", Operation.SLITS)
    score_speed: _speed("Score (mm/s)", "Along scored lines", Operation.SCORE)
    engrave_speed: _speed("Engrave (mm/s)", "Along engraved lines", Operation.ENGRAVE)
    fill_speed: _speed("Fill (mm/s)", "Along the hatching of filled fields", Operation.FILL)
    pierce: FloatProperty(
        name="Pierce (s)",
        description="Time that the beam stands before it moves",
        default=_LASER.feeds[Operation.OUTER].pierce,
        min=0.0,
        soft_max=2.0,
        update=_by_hand,
    )
    passes: IntProperty(
        name="Passes", description="How often a cut is run along", default=1, min=1, max=20, update=_touched
    )
    holds: IntProperty(
        name="Holds",
        description="Small uncut spots round every part, so that none drops before its time; 0 for none",
        default=_LASER.holds,
        min=0,
        max=20,
        update=_touched,
    )
    hold_length: millimetres(
        "Hold Length", "Length of an uncut spot, to be cut with a knife", _LASER.hold_length, 0.1, 5.0, update=_touched
    )
    fill_colour: _colour(Operation.FILL, "hatching")
    engrave_colour: _colour(Operation.ENGRAVE, "engraved lines")
    score_colour: _colour(Operation.SCORE, "scored lines")
    slits_colour: _colour(Operation.SLITS, "the slits of bends")
    inner_colour: _colour(Operation.INNER, "holes and slots")
    outer_colour: _colour(Operation.OUTER, "outlines")
    notes: IntProperty(name="Notes", description="How many noted times the speeds rest on", default=0, min=0)
    noted_stock: StringProperty(name="Noted Board", description="Board that these times were noted of")


class StowfoldOtherLaser(PropertyGroup):
    """A laser of the library that cuts what the preferred one does not take; the name is the laser's."""


CLASSES = (StowfoldLaser, StowfoldOtherLaser)
