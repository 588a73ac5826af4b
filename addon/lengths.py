"""Lengths in the window: properties in real millimetres, whatever the scale of the scene."""

from __future__ import annotations

from collections.abc import Callable

from bpy.props import FloatProperty

__all__ = ["millimetres"]


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
