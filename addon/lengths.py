"""Lengths in Blender: numbers as they were typed, units of the scene, and properties in real millimetres."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from bpy.props import FloatProperty

if TYPE_CHECKING:
    from bpy.types import Scene

__all__ = ["as_typed", "millimetres", "mm_per_unit", "to_units"]


def as_typed(value: float) -> float:
    """Return the shortest decimal that the host's single-precision ``value`` can stand for.

    What the maker typed as 25.4 is stored as 25.399999618...; geometry is to get 25.4.
    """
    return float(str(np.float32(value)))


def mm_per_unit(scene: Scene) -> float:
    """Return how many millimetres one unit of the scene is."""
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
