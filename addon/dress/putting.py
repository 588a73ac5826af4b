"""Putting finishes on: which faces are walls and which roof, and what material they then show."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import bmesh
import bpy
import numpy as np

from ..geometry.errors import UnreadableError
from ..geometry.finish.finish import Pattern
from ..geometry.tolerance import UPRIGHT
from ..host.reading import find_block_out

if TYPE_CHECKING:
    from bpy.types import Context, Material, Mesh, Object

__all__ = ["FACES", "KEPT", "PLACES", "ROOF_PATTERNS", "dressed_object", "faces_on", "put_on", "slot_of"]

#: Patterns that belong on slopes.
ROOF_PATTERNS = frozenset({Pattern.SLATES, Pattern.SHINGLES, Pattern.PANTILES, Pattern.THATCH})

#: Which faces of a building get a finish, as the host wants the entries of a menu.
FACES = (
    ("FITTING", "Where It Belongs", "Roof coverings on the roof, other finishes on the walls", 0),
    ("WALLS", "Walls", "All upright faces", 1),
    ("ROOF", "Roof", "All slopes, and flat roofs", 2),
    ("ALL", "All Faces", "Walls and roof alike", 3),
)

#: What bears a finish without being a face of the building, as the host wants the entries of a menu.
PLACES = (
    ("FLOOR", "Floor", "The floor that the walls stand on", 4),
    ("ROOM", "Room Side", "The room side of walls that bear nothing outside", 5),
)

#: Where the scene keeps the finishes of these places.
KEPT = {"FLOOR": "floor_finish", "ROOM": "inside_finish"}

#: A level face whose height over the lowest point is below this share of the whole height is the ground floor.
_GROUND_SHARE = 0.01


def dressed_object(context: Context) -> Object | None:
    """Return the object whose faces get finishes: the active one, of an opening or a sign the building it stands in."""
    target = context.object
    if target is not None and target.type == "MESH" and not _shows_no_board(target):
        return target
    if target is not None and target.parent is not None and target.parent.type == "MESH":
        return target.parent
    try:
        return find_block_out(context.scene)[0]
    except UnreadableError:
        return None


def _shows_no_board(target: Object) -> bool:
    ours = target.stowfold
    return bool(ours.opening.is_opening or ours.sign.is_sign or ours.place.kind != "NONE")


def faces_on(target: Object, on: str, pattern: Pattern | None = None) -> np.ndarray:
    """Return which faces of an object are meant, (faces,) of bool; all of them where it has none of that kind.

    on: a name in ``FACES``. pattern: decides for FITTING; None means walls.
    """
    count = len(target.data.polygons)
    if on == "FITTING":
        on = "ROOF" if pattern in ROOF_PATTERNS else "WALLS"
    if on == "ALL" or not count:
        return np.ones(count, dtype=bool)
    rise, height = _rise_and_height(target)
    upright = np.abs(rise) < UPRIGHT
    chosen = upright if on == "WALLS" else ~upright & (height > _GROUND_SHARE)
    return chosen if chosen.any() else np.ones(count, dtype=bool)


def _rise_and_height(target: Object) -> tuple[np.ndarray, np.ndarray]:
    """Return how far up the normals of faces look, and how high their middles lie as a share of the whole height."""
    count, turned = len(target.data.polygons), np.array(target.matrix_world.to_3x3())
    normals, middles = np.empty(count * 3, dtype=np.float32), np.empty(count * 3, dtype=np.float32)
    target.data.polygons.foreach_get("normal", normals)
    target.data.polygons.foreach_get("center", middles)
    points = np.empty(len(target.data.vertices) * 3, dtype=np.float32)
    target.data.vertices.foreach_get("co", points)
    # normals turn by the inverse transpose, so that a building scaled in one direction keeps its walls upright
    ways = normals.reshape(-1, 3).astype(float) @ np.linalg.inv(turned)
    ways = ways / np.linalg.norm(ways, axis=1)[:, None]
    levels, up = points.reshape(-1, 3).astype(float) @ turned[2], middles.reshape(-1, 3).astype(float) @ turned[2]
    return ways[:, 2], (up - levels.min()) / max(float(np.ptp(levels)), np.finfo(float).tiny)


def slot_of(mesh: Mesh, material: Material | None, *, everywhere: bool) -> int:
    """Return the slot of a mesh that holds a material, a new one at its end where there is none.

    everywhere: whether all faces get it. Otherwise what had no material keeps none.
    """
    for number, known in enumerate(mesh.materials):
        if known == material:
            return number
    if not everywhere and not len(mesh.materials) and material is not None:
        # faces that name no slot show the first one, which stays free for them
        mesh.materials.append(None)
    mesh.materials.append(material)
    return len(mesh.materials) - 1


def put_on(target: Object, material: Material | None, on: str, pattern: Pattern | None = None) -> int:
    """Give the selected faces in Edit Mode, else those meant by ``on``, a material (None: bare); return how many."""
    if target.mode == "EDIT":
        bm = bmesh.from_edit_mesh(target.data)
        selected = [face for face in bm.faces if face.select]
        if not selected:
            return 0
        slot = slot_of(target.data, material, everywhere=False)
        for face in selected:
            face.material_index = slot
        bmesh.update_edit_mesh(target.data, loop_triangles=False, destructive=False)
        count = len(selected)
    else:
        chosen = faces_on(target, on, pattern)
        slot = slot_of(target.data, material, everywhere=bool(chosen.all()))
        _give_slot(target.data, chosen, slot)
        count = int(chosen.sum())
    target.active_material_index = slot
    return count


def _give_slot(mesh: bpy.types.Mesh, chosen: np.ndarray, slot: int) -> None:
    numbers = np.empty(len(mesh.polygons), dtype=np.int32)
    mesh.polygons.foreach_get("material_index", numbers)
    numbers[chosen] = slot
    mesh.polygons.foreach_set("material_index", numbers)
    mesh.update()


def material_among(materials: Sequence[Material | None], pattern: Pattern) -> Material | None:
    """Return the first of some materials that bears a pattern, or None."""
    return next(
        (material for material in materials if material is not None and material.stowfold.pattern == pattern.name), None
    )
