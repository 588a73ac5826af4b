"""Pins and lasers of single parts: what the maker wishes of them on sheets, saved with the scene."""

from __future__ import annotations

import bpy
from bpy.props import FloatProperty, IntProperty, StringProperty
from bpy.types import PropertyGroup

from ..jobs import results

__all__ = ["StowfoldPartLaser", "StowfoldPin"]


def _touched(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    results.suspect_all()


class StowfoldPin(PropertyGroup):
    """One part on its sheet. x, y: where its frame's origin lies, real mm; turn: quarter turns to the left."""

    part: StringProperty(name="Part", update=_touched)
    sheet: IntProperty(name="Sheet", description="Number of the sheet, from 0", min=0, update=_touched)
    turn: IntProperty(name="Turn", description="Quarter turns counter-clockwise", min=0, max=3, update=_touched)
    x: FloatProperty(name="X", precision=5, update=_touched)
    y: FloatProperty(name="Y", precision=5, update=_touched)
    laser: StringProperty(name="Laser", description="Which laser cuts that sheet", update=_touched)


class StowfoldPartLaser(PropertyGroup):
    """The laser that the maker wants for one part; the name is the part's id."""

    laser: StringProperty(name="Laser", update=_touched)


CLASSES = (StowfoldPin, StowfoldPartLaser)
