"""Openings whose building was deleted: they go with it, so that no window is left floating in the air."""

from __future__ import annotations

import bpy
from bpy.app.handlers import persistent

from ..host.handlers import Handlers
from ..host.upstands import is_upstand

__all__ = ["HANDLERS", "take_away"]

#: Session ids of openings, dormers and chimneys, and of the building that each stands in.
_homes: dict[int, int] = {}


def _look() -> list[bpy.types.Object]:
    """Return the openings whose building is gone since the last look, and note where the others stand."""
    there = {target.session_uid: target for target in bpy.context.scene.objects}
    lost = [
        there[opening]
        for opening, home in _homes.items()
        if opening in there and home not in there and there[opening].parent is None
    ]
    _homes.clear()
    for uid, target in there.items():
        if target.parent is not None and (target.stowfold.opening.is_opening or is_upstand(target)):
            _homes[uid] = target.parent.session_uid
    return lost


def take_away() -> None:
    """Remove the openings whose building was deleted; undo brings back both, for it goes to before the deletion."""
    for target in _look():
        bpy.data.objects.remove(target)


@persistent
def _on_update(_scene: bpy.types.Scene, _depsgraph: bpy.types.Depsgraph) -> None:
    # nothing may be removed while the host updates
    if not bpy.app.background and not bpy.app.timers.is_registered(take_away):
        bpy.app.timers.register(take_away, first_interval=0.0)


@persistent
def _forget(*_ignored: object) -> None:
    _homes.clear()


HANDLERS = Handlers(
    (("depsgraph_update_post", _on_update), ("undo_post", _forget), ("redo_post", _forget), ("load_post", _forget)),
    timers=(take_away,),
    forget=_homes.clear,
)
