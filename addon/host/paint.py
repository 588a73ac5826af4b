"""Colours in Blender: what materials and the scene say, as the paint of a building."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..geometry.paint.contrast import hex_of
from ..geometry.paint.paint import Paint, Scheme
from .finishes import materials_in

if TYPE_CHECKING:
    from bpy.types import Material, Scene

__all__ = ["paint_in", "scheme_from"]


def scheme_from(material: Material) -> Scheme:
    """Return the colours that a material says."""
    fields = material.stowfold
    return Scheme(
        main=hex_of(fields.colour),
        units=_chosen(fields.use_units, fields.units_colour),
        around=_chosen(fields.use_around, fields.around_colour),
        lines=_chosen(fields.use_lines, fields.lines_colour),
    )


def paint_in(scene: Scene) -> Paint:
    """Return all colours of a scene's building."""
    fields = scene.stowfold.paint
    return Paint(
        schemes={material.name: scheme_from(material) for material in materials_in(scene)},
        bare=_chosen(fields.use_bare, fields.bare),
        trim=_chosen(fields.use_trim, fields.trim),
        leaf=_chosen(fields.use_leaf, fields.leaf),
        tile=_chosen(fields.use_tile, fields.tile),
        dark_tile=_chosen(fields.use_dark_tile, fields.dark_tile),
        score=fields.score,
    )


def _chosen(used: bool, colour: Sequence[float]) -> str:
    return hex_of(colour) if used else ""
