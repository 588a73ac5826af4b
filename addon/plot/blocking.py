"""Blocking out: between the sizes on an object, its mesh and its marks, and the arithmetic that makes the building."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.plan.faces_again import BARE, DressedFaces, carry_slots
from ..geometry.plan.outline import PlanKind
from ..geometry.plan.reshape import Before
from ..geometry.plan.roof import Roof, RoofKind, pitch_of_rise
from ..geometry.plan.sizes import BuildingSizes, read_corners
from ..geometry.plan.wings import Wing, count_wings
from ..geometry.pose import Pose
from ..geometry.solid.solid import Role, make_solid
from ..geometry.tolerance import SNAP
from ..host import marks
from ..host.lengths import as_typed, mm_per_unit
from ..host.openings import openings_in, read_opening
from ..host.poses import as_pose
from ..host.reading import find_block_out
from ..host.upstands import is_porch, upstands_in

if TYPE_CHECKING:
    from bpy.types import Mesh, Object, PropertyGroup, Scene

    from ..geometry.flow.added import Earlier, Rebuilt
    from ..geometry.plan.walls import BlockOut
    from ..geometry.solid.opening import Opening
    from ..geometry.solid.solid import Solid

__all__ = [
    "as_earlier",
    "fill",
    "is_as_made",
    "is_proposed",
    "is_same_mesh",
    "openings_of",
    "porches_of",
    "read_before",
    "read_sizes",
]


def read_sizes(fields: PropertyGroup) -> BuildingSizes:
    """Return the sizes that the maker's fields ask for. Raises BadSettingError for corners that are none."""
    pitch = pitch_of_rise(as_typed(fields.rise)) if fields.pitch_as == "RISE" else float(fields.angle)
    plan = None if fields.plan == "CORNERS" else PlanKind[fields.plan]
    return BuildingSizes(
        plan=plan,
        length=as_typed(fields.across if fields.plan == "ROUND" else fields.length),
        width=as_typed(fields.width),
        bar=as_typed(fields.bar),
        wing=as_typed(fields.wing),
        sides=fields.sides,
        corners=read_corners(fields.corners) if plan is None else (),
        height=as_typed(fields.height),
        strip=as_typed(fields.strip),
        roof=Roof(
            RoofKind[fields.roof],
            pitch,
            as_typed(fields.overhang),
            lower_pitch=float(fields.lower_pitch),
            lower_share=as_typed(fields.lower_share),
        ),
        wings=_read_wings(fields, count_wings(plan)) if fields.wings == "OWN" else (),
    )


def _read_wings(fields: PropertyGroup, count: int) -> tuple[Wing, ...]:
    """Return the wings of a plan with so many; all are alike unless the maker says that they differ."""

    def wing(height: float, roof: str, angle: float) -> Wing:
        return Wing(as_typed(height), Roof(RoofKind[roof], float(angle), as_typed(fields.overhang)))

    first = wing(fields.wing_height, fields.wing_roof, fields.wing_angle)
    second = wing(fields.second_height, fields.second_roof, fields.second_angle) if fields.wings_differ else first
    return (first, second)[:count]


def fill(target: Object, block: BlockOut, made: Sequence[tuple[tuple[int, int], Role]], scene: Scene) -> None:
    """Put a block-out into an object's mesh, marks and all; made: the roles that are not by hand."""
    mesh = target.data
    before = _read_dressed(mesh) if mesh.materials and len(mesh.polygons) else None
    mesh.clear_geometry()
    mesh.from_pydata((block.points / mm_per_unit(scene)).tolist(), [], block.faces)
    number = {tuple(sorted(edge.vertices)): edge.index for edge in mesh.edges}
    for roles, write in ((block.roles, marks.set_roles), (made, marks.set_made)):
        for role in (Role.FLEX, Role.BREAK, Role.CLOSURE):
            write(mesh, [number[pair] for pair, wanted in roles if wanted is role], role)
    mesh.update()
    if before is not None:
        _dress_again(mesh, before)
    _note_made(target)


def _read_dressed(mesh: Mesh) -> DressedFaces:
    """Return the faces of a mesh with the slots of their materials."""
    count = len(mesh.polygons)
    normals, middles = np.empty(3 * count, dtype=np.float32), np.empty(3 * count, dtype=np.float32)
    slots = np.empty(count, dtype=np.int32)
    mesh.polygons.foreach_get("normal", normals)
    mesh.polygons.foreach_get("center", middles)
    mesh.polygons.foreach_get("material_index", slots)
    return DressedFaces(normals.astype(float).reshape(-1, 3), middles.astype(float).reshape(-1, 3), slots)


def _dress_again(mesh: Mesh, before: DressedFaces) -> None:
    """Give the faces of a mesh the materials that those in their place had; what is new stays bare."""
    now = _read_dressed(mesh)
    slots = carry_slots(before, now.normals, now.middles)
    if (slots == BARE).any():
        slots[slots == BARE] = _bare_slot(mesh)
    mesh.polygons.foreach_set("material_index", slots)
    mesh.update()


def _bare_slot(mesh: Mesh) -> int:
    """Return the slot of a mesh without a material, a new one where there is none."""
    empty = [number for number, material in enumerate(mesh.materials) if material is None]
    if not empty:
        mesh.materials.append(None)
        return len(mesh.materials) - 1
    return empty[0]


def _note_made(target: Object) -> None:
    """Note the mesh as it is, so that changes by hand are told from what the sizes made."""
    ours = target.stowfold.building
    ours.faces_made = len(target.data.polygons)
    ours.mesh_made = _digest(target.data)


def is_as_made(target: Object) -> bool:
    """Return whether the mesh is still as its sizes made it; of older files the number of faces alone is known."""
    ours, mesh = target.stowfold.building, target.data
    if len(mesh.polygons) != ours.faces_made:
        return False
    return not ours.mesh_made or ours.mesh_made == _digest(mesh)


def _digest(mesh: Mesh) -> str:
    """Return a few letters that stand for the points and faces of a mesh."""
    points = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    corners = np.empty(len(mesh.loops), dtype=np.int32)
    mesh.vertices.foreach_get("co", points)
    mesh.loops.foreach_get("vertex_index", corners)
    return f"{zlib.crc32(corners.tobytes(), zlib.crc32(points.tobytes())):08x}"


def read_before(target: Object, scene: Scene) -> Before:
    """Return a building's mesh with its marks, in its own axes, mm."""
    mesh = target.data
    points = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    edges = np.empty(2 * len(mesh.edges), dtype=np.int32)
    mesh.vertices.foreach_get("co", points)
    mesh.edges.foreach_get("vertices", edges)
    roles, made = (tuple(Role(role) for role in read(mesh).tolist()) for read in (marks.read_roles, marks.read_made))
    faces = tuple(tuple(face.vertices) for face in mesh.polygons)
    scaled = points.astype(np.float64).reshape(-1, 3) * mm_per_unit(scene)
    return Before(scaled, faces, edges.reshape(-1, 2), roles, made)


def is_same_mesh(one: Before, other: Before) -> bool:
    """Return whether two meshes have the same points, faces and marks."""
    return (
        np.array_equal(one.points, other.points)
        and one.faces == other.faces
        and np.array_equal(one.edges, other.edges)
        and one.roles == other.roles
        and one.made == other.made
    )


def is_proposed(rebuilt: Rebuilt, before: Before) -> bool:
    """Return whether a mesh already is what was proposed for it."""
    block = rebuilt.block
    if block.faces != before.faces or np.abs(block.points - before.points).max() > SNAP:
        return False
    pairs = [(min(a, b), max(a, b)) for a, b in before.edges.tolist()]
    return all(
        dict(wanted) == {pair: role for pair, role in zip(pairs, marked, strict=True) if role is not Role.PLAIN}
        for wanted, marked in ((block.roles, before.roles), (rebuilt.made, before.made))
    )


def as_earlier(before: Before) -> Earlier:
    """Return the marks of a mesh as proposing wants them."""
    from ..geometry.flow.added import Earlier

    return Earlier(before.points, before.edges, before.roles, before.made)


def openings_of(target: Object, scene: Scene) -> tuple[Opening, ...]:
    """Return the openings that stand in a building, in the axes of its own mesh, mm."""
    back = as_pose(target.matrix_world.inverted_safe())
    home = Pose.of(back.x, back.y, back.z, back.origin * mm_per_unit(scene))
    found = []
    for child in openings_in((target,), scene, alone=find_block_out(scene) == (target,)):
        opening = read_opening(child, scene)
        found.append(replace(opening, stands=home @ opening.stands))
    return tuple(found)


def porches_of(target: Object, scene: Scene) -> tuple[Solid, ...]:
    """Return the porches that stand against a building, in the axes of its own mesh, mm."""
    home, scale = target.matrix_world.inverted_safe(), mm_per_unit(scene)
    found = []
    for porch in upstands_in((target,), scene, alone=find_block_out(scene) == (target,)):
        if is_porch(porch):
            place = home @ porch.matrix_world
            points = np.array([(place @ vertex.co)[:] for vertex in porch.data.vertices], dtype=float) * scale
            faces = [tuple(face.vertices) for face in porch.data.polygons]
            found.append(make_solid(points, faces, source=porch.name))
    return tuple(found)
