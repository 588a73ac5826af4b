"""The scale of a scene: how many millimetres one unit is, stored when the first thing of ours is added.

What is stored stays, so that another square, or another unit scale of the host, does not change the size
of a model that is there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from .handlers import Handlers
from .lengths import as_typed, has_factory_scale, mm_per_unit

if TYPE_CHECKING:
    from bpy.types import Object, Scene

__all__ = ["HANDLERS", "keep_scale", "scale_advice", "scale_words"]

#: What one unit was in scenes with factory units before a unit became a square: a metre, in mm.
_OLDER_UNIT = 1000.0


def keep_scale(scene: Scene) -> None:
    """Store the scale of the scene, called before something of ours is added. What is there keeps its size."""
    ours = scene.stowfold
    if not any(_is_ours(target) for target in scene.objects):
        # what was added under the stored scale is gone, so that another square may begin
        ours.unit_mm = 0.0
    if ours.unit_mm == 0.0:
        ours.unit_mm = mm_per_unit(scene)


def scale_words(scene: Scene) -> str:
    """Return what one unit of the scene is, in a few words."""
    unit, square = mm_per_unit(scene), as_typed(scene.stowfold.square)
    if unit == square:
        return f"1 unit = 1 square = {unit:g} mm"
    return f"1 unit = {unit:g} mm, 1 square = {square / unit:.4g} units"


def scale_advice(scene: Scene) -> str:
    """Return why a unit is no square in this scene and what to do, or nothing where it is one."""
    if mm_per_unit(scene) == as_typed(scene.stowfold.square):
        return ""
    if not has_factory_scale(scene):
        return "The unit scale of this scene was set, so it is kept."
    return "The scene keeps the scale that it began with. To change it, delete what was added, then add it again."


def _is_ours(target: Object) -> bool:
    """Return whether an object was added by us or counts as the building."""
    own = target.stowfold
    return bool(
        own.is_block_out
        or own.opening.is_opening
        or own.sign.is_sign
        or own.place.kind != "NONE"
        or own.upstand.kind != "NONE"
    )


@persistent
def _on_load(*_ignored: object) -> None:
    """Store a metre per unit for scenes of older files: with a building that was added, and no scale of any kind."""
    for scene in bpy.data.scenes:
        unsaid = scene.stowfold.unit_mm == 0.0 and has_factory_scale(scene)
        if unsaid and any(target.stowfold.building.was_added for target in scene.objects):
            scene.stowfold.unit_mm = _OLDER_UNIT


HANDLERS = Handlers((("load_post", _on_load),))
