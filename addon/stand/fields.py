"""How the building is shown as it will stand: saved with the scene, and keyed like any value of the host."""

from __future__ import annotations

import bpy
from bpy.props import BoolProperty, FloatProperty
from bpy.types import PropertyGroup

from ..host.views import redraw_views
from . import preview


def _moved(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    preview.move()
    redraw_views()


class StowfoldStand(PropertyGroup):
    """The building as it will stand."""

    show: BoolProperty(
        name="As It Will Stand",
        description="Show the boards of the last check with their thickness, in the steps Table, Dress, Proof and Cut",
        default=True,
        update=_moved,
    )
    fold: FloatProperty(
        name="Fold",
        description="0 flat on the sheets, 1 standing, 2 stacked in the box",
        default=1.0,
        min=0.0,
        max=2.0,
        precision=2,
        step=1,
        update=_moved,
    )
    opened: FloatProperty(
        name="Leaves Open",
        description="How far doors and shutters that hang in their openings stand open",
        subtype="FACTOR",
        min=0.0,
        max=1.0,
        update=_moved,
    )


CLASSES = (StowfoldStand,)
