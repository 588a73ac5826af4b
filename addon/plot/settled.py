"""Settled openings: a door or window that was moved by hand comes back onto its wall when it is put down.

Moved upward, a window takes its sill along; what stands on the floor stays there. What was carried far from every
wall stays where it was put. No step of its own is made for it, so that one undo takes back the move.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

import bpy
import numpy as np
from bpy.app.handlers import persistent

from ..geometry.errors import GeometryError
from ..geometry.plan.opening import OpeningKind, opening_ring
from ..geometry.plan.placing import WallSpot, nearest_wall, snap_spot
from ..geometry.solid.find import find_facets
from ..geometry.tolerance import SNAP
from ..host.handlers import Handlers
from ..host.lengths import as_typed, mm_per_unit
from ..host.openings import size_of, stand_at
from ..host.reading import find_block_out, read_solid
from ..jobs.resting import is_busy
from .opening_fields import redraw_opening

if TYPE_CHECKING:
    from bpy.types import Depsgraph, Object, Scene

    from ..geometry.solid.facets import Facets

__all__ = ["HANDLERS", "settle"]

#: From a move to setting it back, s; and how often it is looked whether the move has ended.
_SOON, _WAIT = 0.02, 0.1

#: Farther from every wall, in squares, an opening was put aside and stays there.
_FAR = 3.0

#: An opening whose direction differs less from its wall's, as a length of unit vectors, runs along it.
_TURNED = 1e-3

#: Names of openings that were moved.
_moved: set[str] = set()


def settle(scene: Scene, openings: Iterable[Object]) -> int:
    """Put openings back onto the walls that they are near, and return how many were not on one."""
    try:
        facets = find_facets(replace(read_solid(find_block_out(scene), scene, upstands=False), openings=()))
    except (GeometryError, ModuleNotFoundError):
        # the check tells what cannot be read
        return 0
    return sum(_settle_one(opening, facets, scene) for opening in openings)


def _settle_one(opening: Object, facets: Facets, scene: Scene) -> bool:
    matrix, scale = opening.matrix_world, mm_per_unit(scene)
    foot, along = np.array(matrix.translation) * scale, np.array(matrix.col[0].to_3d())
    spot = nearest_wall(facets, foot, along=along) or nearest_wall(facets, foot)
    if spot is None or not opening.is_editable:
        return False
    away = foot - spot.foot
    if float(np.linalg.norm(away[:2])) > _FAR * as_typed(scene.stowfold.square):
        return False
    held = snap_spot(spot, step=0.0, width=_width(opening))
    if float(np.linalg.norm(foot - held.foot)) < SNAP and _runs_along(along, held):
        return False
    fields = opening.stowfold.opening
    if fields.kind not in {"DOOR", "ARCH"} and abs(away[2]) > SNAP:
        fields.sill = max(0.0, as_typed(fields.sill) + float(away[2]))
    stand_at(opening, held, scene)
    return True


def _runs_along(along: np.ndarray, spot: WallSpot) -> bool:
    length = float(np.linalg.norm(along))
    return length > 0.0 and float(np.linalg.norm(along / length - spot.along)) < _TURNED


def _width(opening: Object) -> float:
    fields = opening.stowfold.opening
    ring = opening_ring(OpeningKind(fields.kind.lower()), size_of(fields))
    return max(x for x, _ in ring) - min(x for x, _ in ring)


def _openings() -> list[Object]:
    return [target for target in bpy.context.scene.objects if target.stowfold.opening.is_opening]


def _put_back() -> float | None:
    """Settle what was moved as soon as the hand lets go; nothing that follows the pointer of an operator of ours."""
    if is_busy() or _is_placed():
        return _WAIT
    names = set(_moved)
    _moved.clear()
    if bpy.context.mode == "OBJECT":
        # after undo the host has not yet worked out where things stand
        bpy.context.view_layer.update()
        settle(bpy.context.scene, [target for target in _openings() if target.name in names])
    return None


def _is_placed() -> bool:
    return any(
        operator.bl_idname.startswith("STOWFOLD_OT")
        for window in bpy.context.window_manager.windows
        for operator in getattr(window, "modal_operators", ())
    )


def _ask(names: Iterable[str]) -> None:
    _moved.update(names)
    if _moved and not bpy.app.timers.is_registered(_put_back):
        bpy.app.timers.register(_put_back, first_interval=_SOON)


@persistent
def _on_update(_scene: Scene, depsgraph: Depsgraph) -> None:
    if bpy.app.background or depsgraph.mode != "VIEWPORT":
        return
    _ask(
        update.id.name
        for update in depsgraph.updates
        if update.is_updated_transform
        and isinstance(update.id, bpy.types.Object)
        and update.id.stowfold.opening.is_opening
    )


@persistent
def _on_redo(*_ignored: object) -> None:
    """The step was kept before what was moved came back to its wall."""
    if not bpy.app.background:
        _ask(target.name for target in _openings())


@persistent
def _on_load(*_ignored: object) -> None:
    """Show the openings of older files as those of this one."""
    for target in bpy.data.objects:
        if target.stowfold.opening.is_opening and target.show_in_front:
            redraw_opening(target, bpy.context.scene)


HANDLERS = Handlers(
    (("depsgraph_update_post", _on_update), ("redo_post", _on_redo), ("load_post", _on_load)),
    timers=(_put_back,),
    forget=_moved.clear,
)
