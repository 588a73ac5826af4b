"""Settings of play: what an object is at the table, and what counts when sight and reach are looked at.

Sizes of tables, miniatures and furniture are those of the objects themselves: the fields here read and
scale the object, so that the number shown and the thing seen cannot differ.
"""

from __future__ import annotations

import math
import zlib

import bpy
import numpy as np
from bpy.props import BoolProperty, EnumProperty, FloatProperty, FloatVectorProperty, IntProperty, StringProperty
from bpy.types import PropertyGroup

from ..geometry.play.hand import Pinch
from ..geometry.play.sight import HEIGHTS, FigureHeight
from ..geometry.play.table_top import Seat, Spot, Table
from ..host.lengths import millimetres, mm_per_unit
from ..host.people import ANYONE, STATURES
from ..host.views import redraw_views
from . import play_results

__all__ = ["MINIATURE_SIZES", "StowfoldPlace", "StowfoldPlayView", "StowfoldTable"]

#: Base and height, mm, of a miniature that takes so many squares by as many; common practice, no source.
MINIATURE_SIZES = {1: (25.0, 35.0), 2: (50.0, 60.0), 3: (75.0, 90.0), 4: (100.0, 120.0)}

#: Nothing is scaled below this, mm: a size of nothing could not be scaled back.
_LEAST = 1.0

_SEAT = Seat("", np.zeros(3), np.array([0.0, 1.0, 0.0]))
_TABLE = Table(np.zeros(3))


def _changed(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    play_results.suspect()


def _repaint(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    redraw_views()


def _extent(group: PropertyGroup, axes: tuple[int, ...]) -> float:
    """Return the object's size along its own axes, the largest of several, in mm."""
    target = group.id_data
    # not the host's dimensions: these lag behind a scale that was only just set
    corners = np.array(target.bound_box)
    sizes = np.ptp(corners, axis=0) * np.abs(target.scale)
    return float(max(sizes[list(axes)])) * mm_per_unit(bpy.context.scene)


def _sized(name: str, description: str, axes: tuple[int, ...], most: float) -> object:
    """Return a size in real millimetres that is the object's own along some of its axes."""

    def read(group: PropertyGroup) -> float:
        return _extent(group, axes)

    def write(group: PropertyGroup, value: float) -> None:
        present = _extent(group, axes)
        if present > 0.0:
            for axis in axes:
                group.id_data.scale[axis] *= max(value, _LEAST) / present
            play_results.suspect()

    return FloatProperty(
        name=name,
        description=description,
        get=read,
        set=write,
        soft_min=_LEAST,
        soft_max=most,
        precision=5,
        subtype="DISTANCE_CAMERA",
    )


def _mm(name: str, description: str, default: float, least: float, most: float) -> object:
    """Return a length in real millimetres that is stored."""
    return millimetres(name, description, default, least, most, update=_changed)


def _fit_to_squares(place: PropertyGroup, _context: bpy.types.Context) -> None:
    place.base, place.height = MINIATURE_SIZES[place.squares]


def _stature_items() -> tuple[tuple[str, str, str, int], ...]:
    # files store the number of an enum, so it must not depend on the order of the classes
    # what stands in brackets finds no room in a field
    named = ((stature.name, *stature.label.partition(" (")[::2]) for stature in STATURES)
    return tuple(
        (name, f"{label[0].upper()}{label[1:]}", said.rstrip(")").capitalize(), zlib.crc32(name.encode()) >> 1)
        for name, label, said in named
    )


def _stature(name: str, description: str, default: str) -> object:
    return EnumProperty(name=name, description=description, items=_stature_items(), default=default, update=_changed)


class StowfoldPlace(PropertyGroup):
    """What an object is at the table."""

    kind: EnumProperty(
        name="Counts As",
        description="What this object is at the table",
        items=(
            ("NONE", "Nothing", "It has no part in play", 0),
            ("TABLE", "Table", "Its upper side is the top of the table", 1),
            ("SEAT", "Seat", "A player sits here, before the table's edge, and faces along its y axis", 2),
            ("MINIATURE", "Miniature", "It stands on the squares, taken as an upright cylinder", 3),
            ("FURNITURE", "Furniture", "It stands in the room; miniatures may stand on it", 4),
        ),
        update=_changed,
    )
    length: _sized("Length", "Size along its own x axis", (0,), 2500.0)
    depth: _sized("Depth", "Size along its own y axis", (1,), 2500.0)
    height: _sized("Height", "Size along its own z axis, for a miniature with its base", (2,), 300.0)
    base: _sized("Base", "Diameter of the base on which it stands", (0, 1), 150.0)
    squares: IntProperty(
        name="Squares",
        description="It takes so many squares by as many; base and height follow",
        default=1,
        min=1,
        max=max(MINIATURE_SIZES),
        update=_fit_to_squares,
    )
    spot: EnumProperty(
        name="Stands On",
        description="Where the middle of a miniature settles",
        items=(
            (Spot.FITTING.name, "Whole Squares", "A square or a corner, whichever lets it fill whole squares", 0),
            (Spot.SQUARE.name, "Square", "The middle of a square", 1),
            (Spot.EDGE.name, "Edge", "The middle of a line between two squares", 2),
            (Spot.CORNER.name, "Corner", "Where four squares meet", 3),
        ),
    )
    table_height: _mm("Top at Height", "From the floor on which the chairs stand", _TABLE.height, 100.0, 1200.0)
    stature: EnumProperty(
        name="Player",
        description="Who sits here",
        items=(
            (ANYONE, "Anyone", "The person that the settings of the table name sees, reaches and fits", 0),
            *_stature_items(),
        ),
        update=_changed,
    )
    chair: _mm("Chair", "Height of the chair's seat above the floor", _SEAT.chair, 0.0, 900.0)
    slump: _mm("Slump", "What sitting relaxed takes off the sitting height", _SEAT.slump, 0.0, 120.0)
    lean: FloatProperty(
        name="Lean",
        description="How far the trunk leans forward",
        default=_SEAT.lean,
        min=-math.radians(30.0),
        max=math.radians(60.0),
        subtype="ANGLE",
        update=_changed,
    )


class StowfoldTable(PropertyGroup):
    """What counts when sight and reach are looked at; saved with the scene."""

    sees: _stature("Who Sees", "Who looks from seats of anyone; what small people see, all see", "small")
    reaches: _stature("Who Reaches", "Who reaches from seats of anyone; where small people reach, all reach", "small")
    fits: _stature("Whose Hand", "Whose hand must fit at seats of anyone; where large hands fit, all fit", "large")
    stay_on_squares: BoolProperty(
        name="Stay on Squares",
        description="A miniature that was dragged settles on the nearest place of the kind that it stands on",
        default=True,
    )
    roof_on: BoolProperty(
        name="Roof On", description="Leave the roof on; lifted off, it hides nothing", default=False, update=_changed
    )
    leaves_open: BoolProperty(
        name="Leaves Open", description="Doors and shutters stand open", default=True, update=_changed
    )
    furniture_in: BoolProperty(
        name="Furniture", description="Furniture hides what is behind it and stops hands", default=True, update=_changed
    )
    miniatures_in: BoolProperty(
        name="Miniatures",
        description="Miniatures hide what is behind them and stop hands",
        default=False,
        update=_changed,
    )


class StowfoldPlayView(PropertyGroup):
    """What of play is shown in this session; not saved with the file."""

    show_squares: BoolProperty(
        name="Show Squares",
        description="Colour the squares of the room by what is seen or reached there, while things are moved",
        default=True,
        update=_changed,
    )
    shows: EnumProperty(
        name="Squares Show",
        description="What the colours of the squares say",
        items=(
            ("SIGHT", "Sight", "How much of the square is seen", 0),
            ("SEATS", "Seats That See", "How many seats see at least half of the square", 1),
            ("REACH", "Reach", "How far somebody has to lean to reach the square", 2),
            ("HAND", "Hand Room", "How much room a hand has that puts a figure there", 3),
            ("CHANGE", "Change from A", "What is seen more or less than in the map that was kept", 4),
        ),
        update=_repaint,
    )
    whose: EnumProperty(
        name="From",
        description="Whose view, reach or hand the colours stand for",
        items=(
            ("SEAT", "Active Seat", "The seat that is active, else the first one", 0),
            ("MEAN", "Mean of Seats", "The mean of all seats; for reach and hands, the best seat", 1),
            ("WORST", "Worst Seat", "The seat that fares worst, square by square", 2),
        ),
        default="MEAN",
        update=_repaint,
    )
    height: EnumProperty(
        name="At Height Of",
        description="At which height of a figure the squares are looked at",
        items=tuple(
            (at.name, at.name.title(), f"{mm:g} mm above the floor" if mm else "The floor", at.value)
            for at, mm in zip(FigureHeight, HEIGHTS, strict=True)
        ),
        update=_repaint,
    )
    finger: EnumProperty(
        name="Pinch",
        description="How long the fingers are between figure and palm; hands differ",
        items=tuple((at.name, at.name.title(), f"A {at.name.lower()} pinch", at.value) for at in Pinch),
        update=_repaint,
    )
    numbers: BoolProperty(
        name="Numbers", description="Write its value into every square", default=False, update=_repaint
    )
    show_lines: BoolProperty(
        name="Lines of Sight",
        description="Draw lines from the seats to the active miniature, or from the active seat to all miniatures",
        default=True,
        update=_changed,
    )
    sitting: StringProperty(name="Sitting", description="The seat from whose eye the view looks", update=_repaint)
    left_from: FloatVectorProperty(name="View Before", size=3)
    left_turned: FloatVectorProperty(name="Direction Before", size=4)
    left_distance: FloatProperty(name="Distance Before")
    left_as: StringProperty(name="Perspective Before")


CLASSES = (StowfoldPlace, StowfoldTable, StowfoldPlayView)
