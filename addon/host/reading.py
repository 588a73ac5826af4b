"""The bridge: the only place where something of the host becomes something of ours.

Out of a mesh object comes a Solid in millimetres; out of the scene's properties come the settings
of the flow. A mesh is read as the host shows it, with its modifiers (see ``shown``); ids are those
of the mesh as shown. In edit mode the edited copy is read, so that what is not yet applied counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import bmesh
import numpy as np

from ..geometry.errors import UnreadableError
from ..geometry.solid.solid import Role, Solid, join_solids
from . import marks, shown
from .lengths import as_typed, mm_per_unit, to_units
from .openings import openings_in, read_opening
from .poses import pose_of
from .upstands import is_upstand, upstands_in

if TYPE_CHECKING:
    from bpy.types import Mesh, Object, Scene

    from ..geometry.outcome import Settings

__all__ = [
    "as_typed",
    "find_block_out",
    "mm_per_unit",
    "read_settings",
    "read_solid",
    "stands_beside",
    "title_of",
    "to_units",
]


def find_block_out(scene: Scene, names: Sequence[str] = ()) -> tuple[Object, ...]:
    """Return the objects that are the building: the named ones, else those marked, else the only mesh.

    Raises UnreadableError with one sentence where there is none, or more than one without a mark.
    """
    if names:
        return tuple(_named(scene, name) for name in dict.fromkeys(names))
    if not scene.objects:
        raise UnreadableError("The scene is empty; model the building's walls as a mesh first")
    meshes = sorted(
        (target for target in scene.objects if target.type == "MESH" and not stands_beside(target)),
        key=lambda candidate: candidate.name,
    )
    if not meshes:
        raise UnreadableError("The scene holds no mesh; model the building's walls as a mesh first")
    marked = tuple(mesh for mesh in meshes if mesh.stowfold.is_block_out)
    if marked:
        return marked
    if len(meshes) > 1:
        listed = ", ".join(f"'{mesh.name}'" for mesh in meshes[:6]) + (", ..." if len(meshes) > 6 else "")
        raise UnreadableError(
            f"{len(meshes)} meshes could be the building ({listed}); "
            "mark one as block-out in the sidebar, or name it with --object"
        )
    return (meshes[0],)


def stands_beside(target: Object) -> bool:
    """Return whether an object is one of ours that is no part of the building's own mesh: an opening, a seat ..."""
    ours = target.stowfold
    beside = ours.opening.is_opening or ours.sign.is_sign or ours.place.kind != "NONE"
    return bool(beside) or is_upstand(target)


def _named(scene: Scene, name: str) -> Object:
    found = scene.objects.get(name)
    if found is None:
        known = ", ".join(f"'{target.name}'" for target in scene.objects if target.type == "MESH") or "none"
        raise UnreadableError(f"There is no object '{name}' in the scene; its meshes are: {known}")
    if found.type != "MESH":
        raise UnreadableError(f"The object '{name}' is no mesh (its type is {found.type.lower()}); name one that is")
    return found


def title_of(objects: Sequence[Object]) -> str:
    """Return what to call the building: the names of its objects."""
    return " + ".join(target.name for target in objects)


def read_solid(objects: Sequence[Object], scene: Scene, *, upstands: bool = True) -> Solid:
    """Return the objects' meshes as one solid in millimetres, where they stand in the scene.

    upstands: whether dormers and chimneys that stand on them come along.

    Host ids of faces and edges are kept. A mirrored object's faces are turned round, so that their
    fronts stay fronts; openings come along. Raises UnreadableError for a mesh without faces or with unusable marks.
    """
    on_top = upstands_in(objects, scene, alone=_alone(objects, scene)) if upstands else ()
    solids = [_read_object(target, scene) for target in (*objects, *on_top)]
    solid = solids[0] if len(solids) == 1 else join_solids(solids)
    openings = tuple(
        read_opening(opening, scene) for opening in openings_in(objects, scene, alone=_alone(objects, scene))
    )
    return replace(solid, openings=openings) if openings else solid


def _alone(objects: Sequence[Object], scene: Scene) -> bool:
    """Return whether no other block-out of the scene could own what stands free."""
    try:
        return set(find_block_out(scene)) <= set(objects)
    except UnreadableError:
        return True


def _read_object(target: Object, scene: Scene) -> Solid:
    (points, edges, sizes, corners, sides, roles), finishes = _read_mesh(target)
    if not len(sizes):
        since = " with its modifiers" if shown.is_changed(target) else ""
        raise UnreadableError(f"The mesh of '{target.name}' has no faces{since}; a building needs at least one wall")
    stands = pose_of(target)
    if not np.isfinite(points).all() or not np.isfinite(stands.matrix).all():
        raise UnreadableError(f"The mesh of '{target.name}' has points that are no numbers; delete and redo them")
    points = stands.apply(points) * mm_per_unit(scene)
    mirrored = np.linalg.det(stands.turn) < 0.0

    # points and edges of no face (construction lines, stray vertices) are no part of the surface, but a mark
    # on one is told
    kept = np.unique(np.concatenate([sides, np.flatnonzero(roles)]))
    used = np.unique(np.concatenate([corners, edges[kept].reshape(-1)]))
    renumber = np.full(len(points), -1, dtype=np.int64)
    renumber[used] = np.arange(len(used))
    rings = np.split(renumber[corners], np.cumsum(sizes)[:-1])
    faces = tuple(tuple(ring.tolist()[::-1] if mirrored else ring.tolist()) for ring in rings)
    pairs = renumber[edges[kept]].tolist()

    points = np.ascontiguousarray(points[used])
    points.setflags(write=False)
    return Solid(
        points=points,
        faces=faces,
        face_ids=tuple(range(len(faces))),
        face_sources=(0,) * len(faces),
        edges=tuple((start, end) for start, end in pairs),
        edge_ids=tuple(kept.tolist()),
        edge_sources=(0,) * len(kept),
        edge_roles=tuple(Role(role) for role in roles[kept].tolist()),
        sources=(target.name,),
        finishes=finishes,
    )


def _read_mesh(target: Object) -> tuple[_Arrays, dict[tuple[str, int], str]]:
    """Return the arrays of an object's mesh and the finishes on its faces, as the host shows it."""
    mesh = target.data
    if shown.is_changed(target):
        if not stands_beside(target):
            shown.check_walls(target)
        with shown.shown_mesh(target) as mesh:
            return _read_stored(mesh, shown.roles_of(target, mesh)), _read_finishes(target, _stored_materials(mesh))
    if mesh.is_editmode:
        chosen = [face.material_index for face in bmesh.from_edit_mesh(mesh).faces]
        return _read_edited(mesh), _read_finishes(target, chosen)
    return _read_stored(mesh, marks.read_roles(mesh)), _read_finishes(target, _stored_materials(mesh))


def _stored_materials(mesh: Mesh) -> list[int]:
    stored = np.empty(len(mesh.polygons), dtype=np.int32)
    mesh.polygons.foreach_get("material_index", stored)
    return stored.tolist()


def _read_finishes(target: Object, chosen: Sequence[int]) -> dict[tuple[str, int], str]:
    """Return the names of the materials on an object's faces by (object, face): a material is a finish.

    chosen: number of the material on every face.
    """
    names = [slot.material.name if slot.material is not None else "" for slot in target.material_slots]
    if not any(names):
        return {}
    # the host shows the last material where a face names one that is not there
    finishes = (names[min(index, len(names) - 1)] for index in chosen)
    return {(target.name, face): finish for face, finish in enumerate(finishes) if finish}


_Arrays = tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray, np.ndarray]


def _read_stored(mesh: Mesh, roles: np.ndarray) -> _Arrays:
    """Return points (n, 3), edges (m, 2), sizes of faces (f,), their corners and sides (sum of sizes,), roles (m,)."""
    points = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    edges = np.empty(2 * len(mesh.edges), dtype=np.int32)
    sizes = np.empty(len(mesh.polygons), dtype=np.int32)
    corners = np.empty(len(mesh.loops), dtype=np.int32)
    mesh.vertices.foreach_get("co", points)
    mesh.edges.foreach_get("vertices", edges)
    mesh.polygons.foreach_get("loop_total", sizes)
    mesh.loops.foreach_get("vertex_index", corners)
    sides = np.empty(len(mesh.loops), dtype=np.int32)
    mesh.loops.foreach_get("edge_index", sides)
    return points.astype(np.float64).reshape(-1, 3), edges.reshape(-1, 2), sizes, corners, sides, roles


def _read_edited(mesh: Mesh) -> _Arrays:
    """Return the same as _read_stored, from the copy that is being edited."""
    bm = bmesh.from_edit_mesh(mesh)
    bm.verts.index_update()
    bm.edges.index_update()
    points = np.array([vert.co[:] for vert in bm.verts], dtype=np.float64).reshape(-1, 3)
    edges = np.array([[vert.index for vert in edge.verts] for edge in bm.edges], dtype=np.int32).reshape(-1, 2)
    sizes = np.array([len(face.verts) for face in bm.faces], dtype=np.int32)
    corners = np.array([vert.index for face in bm.faces for vert in face.verts], dtype=np.int32)
    sides = np.array([loop.edge.index for face in bm.faces for loop in face.loops], dtype=np.int32)
    return points, edges, sizes, corners, sides, marks.read_roles_in_edit_mode(mesh, bm)


def read_settings(scene: Scene) -> Settings:
    """Return what the maker set in the scene as the settings of the flow.

    Raises BadSettingError for a stock that is not known any more.
    """
    # needs the packages of the flow: only called when something is to be made
    from .choices import settings_of

    return settings_of(scene)
