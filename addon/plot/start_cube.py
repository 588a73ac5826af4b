"""Start cube: the cube that a new file of the host holds, where it stands inside a building and was never touched."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..host import marks

if TYPE_CHECKING:
    from bpy.types import Object, Scene

__all__ = ["start_cube_inside"]

#: Half the side of the host's first cube, in units of the scene; it lies about the origin.
_HALF = 1.0

#: Corners and faces of a cube, and materials of the host's first one at most.
_CORNERS, _FACES, _MATERIALS = 8, 6, 1


def start_cube_inside(scene: Scene) -> tuple[Object, Object] | None:
    """Return the start cube and the building that it stands inside, None where there are no such two."""
    cube = next((target for target in scene.objects if _is_start_cube(target)), None)
    if cube is None:
        return None
    built = (target for target in scene.objects if target.type == "MESH" and target.stowfold.is_block_out)
    house = next((target for target in built if _crosses(target)), None)
    return None if house is None else (cube, house)


def _is_start_cube(target: Object) -> bool:
    """Return whether an object is the host's first cube just as it came: what was changed is the maker's own."""
    mesh, ours = target.data, target.stowfold
    if target.type != "MESH" or len(mesh.vertices) != _CORNERS or len(mesh.polygons) != _FACES:
        return False
    used = ours.is_block_out or ours.place.kind != "NONE" or target.parent is not None or target.children
    changed = target.modifiers or target.constraints or target.vertex_groups or target.animation_data
    shaped = (
        mesh.shape_keys is not None or mesh.users > 1 or len(mesh.materials) > _MATERIALS or target.mode != "OBJECT"
    )
    if used or changed or shaped or not np.array_equal(np.array(target.matrix_world), np.eye(4)):
        return False
    places = np.empty(3 * _CORNERS, dtype=np.float32)
    mesh.vertices.foreach_get("co", places)
    return bool(np.all(np.abs(places) == _HALF)) and not marks.any_marked(mesh)


def _crosses(house: Object) -> bool:
    """Return whether the box round a building and the start cube have room in common."""
    corners = np.array(house.bound_box) @ np.array(house.matrix_world)[:3, :3].T + np.array(house.matrix_world)[:3, 3]
    return bool(np.all(corners.min(axis=0) < _HALF) and np.all(corners.max(axis=0) > -_HALF))
