"""Dropped: what comes out of the asset library, or out of another file, takes the scale and the squares of the scene.

The host puts an object where it was dropped only after it tells of the import, so that this waits for a moment.
"""

from __future__ import annotations

from collections.abc import Iterable

import bpy
import numpy as np
from bpy.app.handlers import persistent
from bpy.types import Object, Scene

from ..host.handlers import Handlers
from ..host.lengths import as_typed, mm_per_unit
from ..host.scale import keep_scale
from ..jobs import results
from ..window.placing import adopt
from .opening_fields import redraw_opening

__all__ = ["ASSET_UNIT", "HANDLERS", "take_in"]

#: Millimetres of a unit in the asset library, where a unit is a square.
ASSET_UNIT = 25.4

#: Session ids of objects that were imported and not looked at yet.
_waiting: set[int] = set()


def take_in(context: bpy.types.Context, targets: Iterable[Object]) -> None:
    """Fit objects of the library into the scene: its scale, its squares, and openings to the building."""
    scene = context.scene
    ours = [target for target in targets if _is_ours(target)]
    if not ours:
        return
    keep_scale(scene)
    factor = ASSET_UNIT / mm_per_unit(scene)
    for target in ours:
        if target.stowfold.opening.is_opening:
            _into_wall(target, context)
        elif not np.isclose(factor, 1.0):
            target.scale = [factor * share for share in target.scale]
        if target.stowfold.is_block_out:
            _onto_squares(target, scene)
    results.suspect_all()


def _is_ours(target: Object) -> bool:
    own = target.stowfold
    return bool(own.is_block_out or own.opening.is_opening or own.place.kind != "NONE")


def _onto_squares(target: Object, scene: Scene) -> None:
    """Move a building to the nearest corner of the squares; as high as it was dropped."""
    step = as_typed(scene.stowfold.square) / mm_per_unit(scene)
    target.location.x, target.location.y = (step * round(value / step) for value in target.location[:2])


def _into_wall(target: Object, context: bpy.types.Context) -> None:
    """Draw an opening in the scale of the scene, and let the building take it along."""
    redraw_opening(target, context.scene)
    if target.parent is None:
        matrix = target.matrix_world.copy()
        adopt(target, context)
        target.matrix_world = matrix


@persistent
def _on_import(context: object) -> None:
    """Note the assets that were appended; a file that is linked stays as it is there."""
    items = getattr(context, "import_items", ())
    # what is dropped out of the browser is no asset any more in this file, and only this option tells
    dropped = "APPEND_ASSET_DATA_CLEAR" in getattr(context, "options", ())
    _waiting.update(
        item.id.session_uid
        for item in items
        if isinstance(item.id, Object)
        and item.id.library is None
        and (item.id.asset_data is not None or (dropped and "INDIRECT_USAGE" not in item.import_info))
    )
    if _waiting and not bpy.app.timers.is_registered(_look):
        bpy.app.timers.register(_look, first_interval=0.0)


def _look() -> None:
    uids = set(_waiting)
    _waiting.clear()
    # the host has put them where they were dropped, but not yet worked out where that is
    bpy.context.view_layer.update()
    take_in(bpy.context, [target for target in bpy.context.scene.objects if target.session_uid in uids])


#: Blender 4.2 does not tell of imports: there a building is moved onto the squares by hand.
_EVENTS = (("blend_import_post", _on_import),) if hasattr(bpy.app.handlers, "blend_import_post") else ()

HANDLERS = Handlers(_EVENTS, timers=(_look,), forget=_waiting.clear)
