"""Lengths in Blender: numbers as they were typed, units of the scene, and properties in real millimetres.

In a scene with factory units one unit is one square, so that the host's grid, snapping, first view and
clip distances fit a building as they are.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from bpy.props import FloatProperty

if TYPE_CHECKING:
    from bpy.types import Scene

__all__ = ["as_typed", "has_factory_scale", "millimetres", "mm_per_unit", "to_units"]

#: Unit scale of a scene whose units nobody has set, in metres per unit.
_FACTORY_SCALE = 1.0


def as_typed(value: float) -> float:
    """Return the shortest decimal that the host's single-precision ``value`` can stand for.

    What the maker typed as 25.4 is stored as 25.399999618...; geometry is to get 25.4.
    """
    return float(str(np.float32(value)))


def has_factory_scale(scene: Scene) -> bool:
    """Return whether the unit scale of the scene is the one it was born with."""
    return as_typed(scene.unit_settings.scale_length) == _FACTORY_SCALE


def mm_per_unit(scene: Scene) -> float:
    """Return how many millimetres one unit of the scene is.

    The value that is stored with the scene counts, see ``scale``. Before there is one, a unit scale that somebody
    has set counts (0.001 is a scene in millimetres); with the factory's, one unit is one square.
    """
    stored = as_typed(scene.stowfold.unit_mm)
    if stored > 0.0:
        return stored
    if has_factory_scale(scene):
        return as_typed(scene.stowfold.square)
    return as_typed(scene.unit_settings.scale_length) * 1000.0


def to_units(length_mm: float, scene: Scene) -> float:
    """Return a length in mm in units of the scene."""
    return length_mm / mm_per_unit(scene)


def millimetres(
    name: str,
    description: str,
    default: float,
    least: float = 0.0,
    most: float = 5000.0,
    *,
    update: Callable[..., None] | None = None,
) -> object:
    """Return a property in real millimetres.

    It carries the one length subtype of the host that takes no account of the scene's scale.
    """
    return FloatProperty(
        name=name,
        description=description,
        default=default,
        min=least,
        soft_max=most,
        precision=5,
        subtype="DISTANCE_CAMERA",
        update=update,
    )
