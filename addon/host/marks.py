"""Marks: what each edge is to become, kept on the mesh itself.

The maker decides at the modelled edge whether a corner flexes, a wall parts or two boards only
meet. The decision is an int attribute of the edges, so that it is saved, copied, undone and carried
through cuts by the host. Beside it stands what the tool itself gave to the edges, when it blocked a building
out or put a net on it, so that it can tell the maker's marks from its own. This is the only module that knows
the attributes' names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.errors import UnreadableError
from ..geometry.sentence import EdgeRef, Sentence
from ..geometry.solid.solid import Role

if TYPE_CHECKING:
    from bmesh.types import BMEdge, BMesh, BMLayerItem
    from bpy.types import Mesh

__all__ = [
    "ATTRIBUTE",
    "RoleLayers",
    "edges_with_role",
    "layer",
    "read_given",
    "read_made",
    "read_roles",
    "read_roles_in_edit_mode",
    "role_layers",
    "set_made",
    "set_roles",
    "set_selected_roles",
]

#: Name of the edge attribute; anyone may write it by hand or by script.
ATTRIBUTE = "stowfold_role"

#: Name of the edge attribute for the roles that the tool gave when it blocked the building out.
_MADE = "stowfold_made"

#: Name of the edge attribute for the roles that a proposed or tried net gave.
_NET = "stowfold_net"

_LAYERS = (ATTRIBUTE, _MADE, _NET)

_KNOWN = frozenset(int(role) for role in Role)


@dataclass(frozen=True, slots=True)
class RoleLayers:
    """The layers of a mesh's editing copy: the marks, and what the tool gave when it built and when it chose a net."""

    role: BMLayerItem
    made: BMLayerItem | None
    net: BMLayerItem | None

    def give(self, edge: BMEdge, role: Role) -> None:
        """Mark an edge as a net has it, so that another net may mark it otherwise."""
        edge[self.role] = int(role)
        if self.net is not None:
            edge[self.net] = int(role)

    def decide(self, edge: BMEdge, role: Role) -> None:
        """Mark an edge as the maker's own decision, even where it repeats what the tool gave."""
        edge[self.role] = int(role)
        for given in (self.made, self.net):
            if given is not None and edge[given] == int(role):
                edge[given] = int(Role.PLAIN)


def _check_attribute(mesh: Mesh, name: str = ATTRIBUTE) -> bool:
    """Return whether the mesh has the attribute; raise UnreadableError where something else bears its name."""
    attribute = mesh.attributes.get(name)
    if attribute is None:
        return False
    if attribute.domain != "EDGE" or attribute.data_type != "INT":
        raise UnreadableError(
            f"The attribute '{name}' of mesh '{mesh.name}' is {attribute.data_type.lower()} on "
            f"{attribute.domain.lower()}; edge roles need integers on edges, so rename or remove it"
        )
    return True


def _checked(values: np.ndarray, mesh: Mesh) -> np.ndarray:
    unknown = [index for index, value in enumerate(values.tolist()) if value not in _KNOWN]
    if unknown:
        raise UnreadableError(
            Sentence.of(
                EdgeRef(unknown[0], mesh.name),
                f" of mesh '{mesh.name}' bears the role {values[unknown[0]]}; "
                f"known are {', '.join(f'{int(role)} ({role.name.lower()})' for role in Role)}",
            )
        )
    return values


def read_roles(mesh: Mesh) -> np.ndarray:
    """Return the role number of every edge of a mesh that is not in edit mode, (edges,) int32.

    Unmarked meshes are plain throughout. Raises UnreadableError for a number that is no role.
    """
    return _read(mesh, ATTRIBUTE)


def any_marked(mesh: Mesh) -> bool:
    """Return whether any edge has a mark; in Edit Mode, where the stored marks cannot be read, whether any may have."""
    attribute = mesh.attributes.get(ATTRIBUTE)
    if attribute is None or attribute.domain != "EDGE" or attribute.data_type != "INT":
        return False
    return mesh.is_editmode or bool(_read(mesh, ATTRIBUTE).any())


def read_made(mesh: Mesh) -> np.ndarray:
    """Return the role number that the tool gave to every edge of a mesh that is not in edit mode, (edges,) int32."""
    return _read(mesh, _MADE)


def read_given(mesh: Mesh) -> tuple[int, ...]:
    """Return the edges, by index, whose mark the tool gave and the maker left as it is; in edit mode of the copy."""
    if mesh.is_editmode:
        import bmesh

        bm = bmesh.from_edit_mesh(mesh)
        known = [bm.edges.layers.int.get(name) if _check_attribute(mesh, name) else None for name in _LAYERS]
        marked = [[edge[layer] if layer is not None else 0 for edge in bm.edges] for layer in known]
        roles, made, net = (np.array(values, dtype=np.int32) for values in marked)
    else:
        roles, made, net = (_read(mesh, name) for name in _LAYERS)
    return tuple(np.flatnonzero((roles != 0) & ((roles == made) | (roles == net))).tolist())


def _read(mesh: Mesh, name: str) -> np.ndarray:
    roles = np.zeros(len(mesh.edges), dtype=np.int32)
    if _check_attribute(mesh, name):
        mesh.attributes[name].data.foreach_get("value", roles)
    return _checked(roles, mesh)


def read_roles_in_edit_mode(mesh: Mesh, bm: BMesh) -> np.ndarray:
    """Return the role number of every edge of ``bm``, the edit mode's copy of ``mesh``, (edges,) int32."""
    layer = bm.edges.layers.int.get(ATTRIBUTE) if _check_attribute(mesh) else None
    if layer is None:
        return np.zeros(len(bm.edges), dtype=np.int32)
    return _checked(np.fromiter((edge[layer] for edge in bm.edges), dtype=np.int32, count=len(bm.edges)), mesh)


def layer(mesh: Mesh, bm: BMesh) -> BMLayerItem:
    """Return the layer of the marks, made where it was missing."""
    _check_attribute(mesh)
    layers = bm.edges.layers.int
    return layers.get(ATTRIBUTE) or layers.new(ATTRIBUTE)


def role_layers(mesh: Mesh, bm: BMesh, *, of_net: bool = False) -> RoleLayers:
    """Return the layer of the marks, made where it was missing, and those of what the tool gave, where there are any.

    of_net: whether the layer of what nets give is made as well.
    """
    layers = bm.edges.layers.int
    for name in _LAYERS:
        _check_attribute(mesh, name)
    for name in (ATTRIBUTE, *([_NET] if of_net else ())):
        if layers.get(name) is None:
            layers.new(name)
    # a new layer moves the others
    return RoleLayers(*(layers.get(name) for name in _LAYERS))


def set_roles(mesh: Mesh, edges: Iterable[int], role: Role) -> None:
    """Mark edges of a mesh that is not in edit mode, by index."""
    _set(mesh, ATTRIBUTE, edges, role)


def set_made(mesh: Mesh, edges: Iterable[int], role: Role) -> None:
    """Note the role that the tool gave to edges of a mesh that is not in edit mode, by index."""
    _set(mesh, _MADE, edges, role)


def _set(mesh: Mesh, name: str, edges: Iterable[int], role: Role) -> None:
    if not _check_attribute(mesh, name):
        mesh.attributes.new(name, "INT", "EDGE")
    data = mesh.attributes[name].data
    for index in edges:
        data[index].value = int(role)
    mesh.update()


def set_selected_roles(mesh: Mesh, bm: BMesh, role: Role) -> int:
    """Mark the selected edges of ``bm``, the edit mode's copy of ``mesh``, and return how many there are."""
    layers = role_layers(mesh, bm)
    # a new layer renews the edges' data, so they are gathered only now
    selected = [edge for edge in bm.edges if edge.select]
    for edge in selected:
        layers.decide(edge, role)
    return len(selected)


def edges_with_role(mesh: Mesh, bm: BMesh, wanted: Callable[[Role], bool]) -> list[BMEdge]:
    """Return the edges of ``bm``, the edit mode's copy of ``mesh``, whose role is wanted."""
    roles = read_roles_in_edit_mode(mesh, bm)
    return [edge for edge, role in zip(bm.edges, roles.tolist(), strict=True) if wanted(Role(role))]
