"""Shown: the mesh of an object as the host shows it, with the modifiers that are on in the viewport.

A mirror makes a whole house of half a one, so what the maker sees is what is read. Marks come along where the
host carries them through; where it does not, one sentence says so. Numbers of faces and edges are those of the
mesh as shown: ``own_ids`` says which of them are faces and edges of the maker's own mesh.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import bmesh
import bpy
import numpy as np

from ..geometry.errors import UnreadableError
from ..geometry.solid.solid import Role
from . import marks

if TYPE_CHECKING:
    from bpy.types import Mesh, Modifier, Object

__all__ = ["check_own_edges", "check_own_points", "check_walls", "is_changed", "own_ids", "roles_of", "shown_mesh"]

#: Modifiers that give walls a second face.
_THICKENING = ("SOLIDIFY", "WIREFRAME")

_Ids = tuple[int, ...]


def is_changed(target: Object) -> bool:
    """Return whether the host shows another mesh than the maker's own: modifiers are on, or shape keys."""
    return bool(_active(target)) or (target.mode != "EDIT" and target.data.shape_keys is not None)


def _active(target: Object) -> list[Modifier]:
    """Return the modifiers that count: those shown in the viewport, in edit mode as well as out of it."""
    return [modifier for modifier in target.modifiers if modifier.show_viewport]


@contextmanager
def shown_mesh(target: Object) -> Iterator[Mesh]:
    """Give the mesh of an object with its modifiers, for as long as it is read.

    Raises UnreadableError where the host does not work the modifiers out.
    """
    active = _active(target)
    if target.mode == "EDIT" and (hidden := [modifier for modifier in active if not modifier.show_in_editmode]):
        raise UnreadableError(
            f"The {_named(hidden)} of '{target.name}' is off in Edit Mode, where the building is another one; "
            "leave Edit Mode, or switch it on there"
        )
    evaluated = target.evaluated_get(bpy.context.evaluated_depsgraph_get())
    if not evaluated.is_evaluated:
        raise UnreadableError(
            f"'{target.name}' is disabled in the viewport, so the host does not work its modifiers out; enable it"
        )
    try:
        yield evaluated.to_mesh()
    finally:
        evaluated.to_mesh_clear()


def check_walls(target: Object) -> None:
    """Raise UnreadableError for a building whose modifiers give its walls a second face."""
    thick = [modifier for modifier in _active(target) if modifier.type in _THICKENING]
    if thick:
        raise UnreadableError(
            f"The {_named(thick)} of '{target.name}' gives its walls a second face, but their thickness is that of the "
            "board; switch it off in the viewport"
        )


def roles_of(target: Object, mesh: Mesh) -> np.ndarray:
    """Return the role number of every edge of ``mesh``, which shows ``target`` with its modifiers, (edges,) int32.

    Raises UnreadableError where modifiers lose marks.
    """
    own = _own_roles(target)
    if not own.any():
        return np.zeros(len(mesh.edges), dtype=np.int32)
    for modifier in _active(target):
        # new edges of an exact boolean bear whatever number was in memory before
        if modifier.type == "BOOLEAN" and modifier.solver == "EXACT":
            others = [
                item.name for item in modifier.bl_rna.properties["solver"].enum_items if item.identifier != "EXACT"
            ]
            raise UnreadableError(
                f"The {_named([modifier])} of '{target.name}' garbles the marks of edges with its Exact solver; "
                f"choose {others[0]} there"
            )
    shown = marks.read_roles(mesh)
    for role in Role:
        before = int(np.count_nonzero(own == role))
        if role is not Role.PLAIN and before and not np.any(shown == role):
            raise UnreadableError(
                f"The {_named(_active(target))} of '{target.name}' loses all {before} {role.name.lower()} marks; "
                "apply it and mark the edges again"
            )
    return shown


def _own_roles(target: Object) -> np.ndarray:
    mesh = target.data
    if mesh.is_editmode:
        return marks.read_roles_in_edit_mode(mesh, bmesh.from_edit_mesh(mesh))
    return marks.read_roles(mesh)


def check_own_edges(target: Object) -> None:
    """Raise UnreadableError where edges as shown have other numbers than in the maker's own mesh."""
    if is_changed(target):
        target.update_from_editmode()
        with shown_mesh(target) as mesh:
            same = _same_edges(target.data, mesh)
        if not same:
            raise UnreadableError(_apply_first(target))


def check_own_points(target: Object) -> None:
    """Raise UnreadableError where anything as shown lies elsewhere than in the maker's own mesh."""
    if is_changed(target):
        target.update_from_editmode()
        with shown_mesh(target) as mesh:
            same = _same_edges(target.data, mesh) and np.array_equal(_places(target.data), _places(mesh))
        if not same:
            raise UnreadableError(_apply_first(target))


def _apply_first(target: Object) -> str:
    active = _active(target)
    what = f"the {_named(active)}" if active else "the shape keys"
    return f"Apply {what} of '{target.name}' first, since marks and cuts are made in the mesh itself"


def own_ids(target: Object, faces: Iterable[int], edges: Iterable[int]) -> tuple[_Ids, _Ids]:
    """Return those of the faces and edges as shown that the maker's own mesh has, by its own numbers.

    An object in edit mode is not read again: leave edit mode first.
    """
    faces, edges = tuple(faces), tuple(edges)
    if not is_changed(target):
        return faces, edges
    own = target.data
    with shown_mesh(target) as mesh:
        if _same_edges(own, mesh):
            return faces, edges
        here, there = _places(own), _places(mesh)
        known_faces = {_spot(here, polygon.vertices): polygon.index for polygon in own.polygons}
        known_edges = {_spot(here, edge.vertices): edge.index for edge in own.edges}
        seen_faces = [_spot(there, mesh.polygons[k].vertices) for k in faces if k < len(mesh.polygons)]
        seen_edges = [_spot(there, mesh.edges[k].vertices) for k in edges if k < len(mesh.edges)]
    return (
        tuple(known_faces[spot] for spot in seen_faces if spot in known_faces),
        tuple(known_edges[spot] for spot in seen_edges if spot in known_edges),
    )


def _spot(places: np.ndarray, vertices: Iterable[int]) -> frozenset[tuple[float, ...]]:
    """Return where the corners of a face or an edge lie: modifiers leave to the bit what they leave alone."""
    return frozenset(tuple(places[k].tolist()) for k in vertices)


def _places(mesh: Mesh) -> np.ndarray:
    places = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    mesh.vertices.foreach_get("co", places)
    return places.reshape(-1, 3)


def _same_edges(own: Mesh, mesh: Mesh) -> bool:
    """Return whether two meshes have the same vertices, edges and faces, wherever these lie."""
    if len(own.vertices) != len(mesh.vertices):
        return False
    for name, prop, width in (("edges", "vertices", 2), ("polygons", "loop_total", 1), ("loops", "vertex_index", 1)):
        one, other = getattr(own, name), getattr(mesh, name)
        if len(one) != len(other):
            return False
        mine, seen = (np.empty(width * len(one), dtype=np.int32) for _ in range(2))
        one.foreach_get(prop, mine)
        other.foreach_get(prop, seen)
        if not np.array_equal(mine, seen):
            return False
    return True


def _named(modifiers: list[Modifier]) -> str:
    """Return modifiers as the maker sees them: "modifier 'Mirror'"."""
    names = " and ".join(f"'{modifier.name}'" for modifier in modifiers)
    return f"modifier{'s' if len(modifiers) > 1 else ''} {names}"
