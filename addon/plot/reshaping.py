"""Reshaping: a changed size changes the building at once, with its marks and openings.

While a size is dragged the building is laid out from the mesh that it had when the drag began, so that no mark gets
lost on the way. Bends and breaks are proposed for the new sizes when they rest (``proposing``). Sizes that cannot be
built leave the last building as it is, and the object keeps the sentence that says why.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ..geometry.errors import GeometryError
from ..geometry.plan.reshape import Before, move_feet, reshape
from ..geometry.tolerance import SNAP
from ..host.handlers import Handlers
from ..host.lengths import as_typed, mm_per_unit
from ..host.openings import openings_in
from ..host.reading import find_block_out
from ..host.upstands import upstands_in
from ..jobs import results
from . import blocking, proposing
from .following import Standing, follow, look_at

if TYPE_CHECKING:
    from bpy.types import Context, Object, PropertyGroup, Scene
    from mathutils import Matrix

__all__ = ["BY_HAND", "HANDLERS", "changed", "square_changed"]

#: What is said of sizes on a mesh that they did not make.
BY_HAND = "The mesh was changed by hand, so sizes do not act on it. Block Out Again makes it from them and loses that."

_IN_EDIT_MODE = "Sizes act in Object Mode; leave Edit Mode, then set them again."

_LINKED = "This building is linked from another file; make it local to change its sizes."


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """A building with its openings: its mesh, where openings stand, by name, and their feet, (k, 3) mm in its axes.

    things: what else stands on its roof or before its walls.
    """

    mesh: Before
    stands: dict[str, Matrix]
    feet: np.ndarray
    things: tuple[Standing, ...]

    def is_same(self, other: _Seen) -> bool:
        """Return whether nothing was changed between both."""
        return (
            blocking.is_same_mesh(self.mesh, other.mesh)
            and self.stands.keys() == other.stands.keys()
            and (np.abs(self.feet - other.feet) < SNAP).all()
            and [thing.name for thing in self.things] == [thing.name for thing in other.things]
            and all(
                np.abs(one.foot - two.foot).max() < SNAP for one, two in zip(self.things, other.things, strict=True)
            )
        )


#: By the session id of a building: how it was when its sizes began to change, and how they left it last.
_drags: dict[int, tuple[_Seen, _Seen]] = {}


def _forget() -> None:
    """Forget how buildings were when their sizes began to change."""
    _drags.clear()


def changed(fields: PropertyGroup, context: Context) -> None:
    """Change the building to its sizes; called by the host after one of them was changed."""
    target = fields.id_data
    if not fields.was_added or target.type != "MESH":
        return
    said = _why_not(target)
    if not said:
        try:
            said = _reshape(target, context.scene)
        except GeometryError as error:
            said = str(error)
    if fields.trouble != said:
        fields.trouble = said


def _why_not(target: Any) -> str:
    """Return why sizes do not act on an object now; nothing where they do."""
    if not target.is_editable or not target.data.is_editable:
        return _LINKED
    if target.mode != "OBJECT":
        return _IN_EDIT_MODE
    return "" if blocking.is_as_made(target) else BY_HAND


def _reshape(target: Any, scene: Scene) -> str:
    """Give a building the sizes on it; return why something does not stand on it any more.

    Raises GeometryError for sizes that cannot be built.
    """
    sizes = blocking.read_sizes(target.stowfold.building)
    seen = _look(target, scene)
    began, left = _drags.get(target.session_uid, (seen, seen))
    if not seen.is_same(left):
        # the maker or a proposal changed it since
        began = seen
    reshaped = reshape(began.mesh, sizes, square=as_typed(scene.stowfold.square))
    if target.data.users > 1:
        # other objects keep their own sizes
        target.data = target.data.copy()
    blocking.fill(target, reshaped.block, reshaped.made, scene)
    if reshaped.alike:
        _move_openings(target, began, reshaped.block.points, scene)
    said = follow(target, began.mesh, began.things, reshaped.block, scene, alike=reshaped.alike)
    _drags[target.session_uid] = began, _look(target, scene)
    target.stowfold.building.unproposed = True
    proposing.ask()
    results.suspect_all()
    return said


def square_changed(scene: Scene, context: Context) -> None:
    """Lay all buildings out on squares of another size; called by the host after that was changed."""
    for target in scene.objects:
        if target.type == "MESH" and target.stowfold.building.was_added:
            changed(target.stowfold.building, context)


def _look(target: Object, scene: Scene) -> _Seen:
    openings = openings_in((target,), scene, alone=find_block_out(scene) == (target,))
    stands = {opening.name: opening.matrix_world.copy() for opening in openings}
    home = target.matrix_world.inverted_safe()
    feet = [(home @ stand.translation)[:] for stand in stands.values()]
    mesh = blocking.read_before(target, scene)
    things = upstands_in((target,), scene, alone=find_block_out(scene) == (target,))
    scaled = np.array(feet, dtype=float).reshape(-1, 3) * mm_per_unit(scene)
    return _Seen(mesh, stands, scaled, look_at(target, things, scene))


def _move_openings(target: Object, began: _Seen, points: np.ndarray, scene: Scene) -> None:
    """Have openings keep their place in their wall."""
    from mathutils import Vector

    turn = target.matrix_world.to_3x3()
    moved = (move_feet(began.mesh, points, began.feet) - began.feet) / mm_per_unit(scene)
    for (name, stands), shift in zip(began.stands.items(), moved.tolist(), strict=True):
        opening = scene.objects.get(name)
        if opening is not None and opening.is_editable:
            matrix = stands.copy()
            matrix.translation += turn @ Vector(shift)
            opening.matrix_world = matrix


HANDLERS = Handlers(forget=_forget)
