"""Bodies: the boards of a building as meshes in the host, one object a part, moved by poses.

They lie in a collection of their own that belongs to no scene; one empty object shows it there, so that nothing else
ever takes a board for a mesh of the maker's. All of it is runtime data: it is never saved, and no click selects it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

import bpy
import numpy as np

from ..geometry.show.mesh import FaceKind
from ..window.stood_in import FLOOR_RAISED

if TYPE_CHECKING:
    from bpy.types import Collection, Material, Mesh, Object, Scene

    from ..geometry.paint.paint import Paint
    from ..geometry.part import Part
    from ..geometry.show.boards import Boards
    from ..geometry.show.film import Film, Moment

__all__ = ["doubt", "made_from", "move", "remove", "show", "tint"]

#: What is told by these names of custom properties: the number of the film, the id of a part, the share last put.
_FILM, _PART, _BENT = "stowfold_film", "stowfold_part", "stowfold_bent"

_NAME = "As It Will Stand"

#: How much of the laser's char an edge shows, and how much darker than its board an engraved line is.
_CHARRED, _MARKED = 0.55, 0.62

#: How a face of a board looks, and what stands between kind, look, role and finish in the name of a material.
_LOOKS = {FaceKind.UP: "face", FaceKind.DOWN: "face", FaceKind.MARK: "mark"}
_SIGN = "|"

#: Smaller than anything that is drawn: the empty object shows its collection and nothing of itself.
_UNSEEN = 1e-6


#: The boards that meshes hold, by part, and how many mm a unit of theirs is.
_held: dict[str, tuple[Boards, float]] = {}


def doubt() -> None:
    """Take no mesh for what it was: undo may have changed it."""
    _held.clear()


def made_from() -> int | None:
    """Return the number of the film whose boards are there, None where there are none, or none that a scene shows."""
    found = _collection()
    return found[_FILM] if found is not None and _shower(found) is not None else None


def show(film: Film, number: int, scene: Scene, parent: Object, unit: float) -> None:
    """Have the boards of a film in a scene; only those that changed are filled. unit: mm in a unit of the scene."""
    collection = _collection()
    if collection is None:
        collection = _runtime(bpy.data.collections.new(_NAME))
    collection[_FILM] = number
    known = {target[_PART]: target for target in collection.objects}
    materials = _Materials()
    for name, boards in film.boards.items():
        target = known.pop(name, None)
        if target is None:
            target = _runtime(bpy.data.objects.new(name, _runtime(bpy.data.meshes.new(name))))
            target[_PART] = name
            collection.objects.link(target)
            _held.pop(name, None)
        held, of_unit = _held.get(name, (None, unit))
        if held is boards and of_unit == unit:
            continue
        _held[name] = boards, unit
        # materials first: the host sets all faces to the first one where a mesh loses its materials
        materials.put_on(target.data, boards.part)
        _fill(target.data, boards, unit)
        target[_BENT] = [-1.0, -1.0]
    _delete(known.values())
    shower = _shower(collection)
    if shower is None:
        shower = _runtime(bpy.data.objects.new(_NAME, None))
        shower.instance_type, shower.instance_collection = "COLLECTION", collection
        shower.empty_display_size = _UNSEEN
        shower.hide_select = True
    if shower.name not in scene.collection.objects:
        scene.collection.objects.link(shower)
    shower.parent = parent
    shower.matrix_parent_inverse = parent.matrix_world.inverted()


def move(film: Film, moments: Mapping[str, Moment], opened: float, unit: float) -> None:
    """Put all boards where they are at one moment. opened: share by which leaves stand open."""
    from mathutils import Matrix

    from ..geometry.part import TILES, PartKind

    collection = _collection()
    if collection is None:
        return
    for target in collection.objects:
        moment = moments.get(target[_PART])
        if moment is None:
            continue
        matrix = np.vstack([moment.pose.matrix, (0.0, 0.0, 0.0, 1.0)])
        boards = film.boards[target[_PART]]
        on_table = boards.part.kind is PartKind.FLOOR or boards.part.kind in TILES
        if on_table and np.allclose(moment.pose.matrix, boards.stands.matrix):
            matrix[2, 3] += FLOOR_RAISED
        matrix[:3, 3] /= unit
        target.matrix_basis = Matrix(matrix.tolist())
        bent = [moment.share, opened]
        if boards.part.lattices and list(target[_BENT]) != bent:
            _bend(target.data, boards.points(moment.share, opened=opened) / unit)
            target[_BENT] = bent


def remove() -> None:
    """Take everything away that was made."""
    collection = _collection()
    doubt()
    if collection is None:
        return
    showers = [target for target in bpy.data.objects if target.instance_collection == collection]
    _delete([*collection.objects, *showers])
    bpy.data.collections.remove(collection)
    bpy.data.batch_remove([material for material in bpy.data.materials if _PART in material])


def _delete(targets: Iterable[Object]) -> None:
    objects = list(targets)
    meshes = [target.data for target in objects if target.data is not None]
    bpy.data.batch_remove(objects)
    bpy.data.batch_remove(meshes)


def _collection() -> Collection | None:
    return next((found for found in bpy.data.collections if _FILM in found), None)


def _shower(collection: Collection) -> Object | None:
    """Return the object that shows the boards, None where no scene has it."""
    for scene in bpy.data.scenes:
        found = next((target for target in scene.objects if target.instance_collection == collection), None)
        if found is not None:
            return found
    return None


def _runtime(made: Any) -> Any:
    """Have a datablock never saved, and return it."""
    made.is_runtime_data = True
    return made


def _fill(mesh: Mesh, boards: Boards, unit: float) -> None:
    """Fill a mesh with the boards of a part in the flat, with the place on the board of every corner as its UV, mm."""
    piece = boards.piece
    mesh.clear_geometry()
    mesh.vertices.add(len(piece.points))
    mesh.loops.add(len(piece.corners))
    mesh.polygons.add(len(piece.sizes))
    mesh.vertices.foreach_set("co", (piece.points / unit).astype(np.float32).ravel())
    mesh.loops.foreach_set("vertex_index", piece.corners)
    mesh.polygons.foreach_set("loop_start", piece.starts.astype(np.int32))
    mesh.polygons.foreach_set("material_index", piece.kinds)
    mesh.update(calc_edges=True)
    mesh.shade_flat()
    places = mesh.uv_layers.new(name="Board (mm)", do_init=False)
    places.uv.foreach_set("vector", piece.board_places.astype(np.float32).ravel())


def _bend(mesh: Mesh, points: np.ndarray) -> None:
    mesh.attributes["position"].data.foreach_set("vector", points.astype(np.float32).ravel())
    mesh.update()


class _Materials:
    """The materials of boards, by kind of part and kind of face, and of their coats; made when first needed."""

    def __init__(self) -> None:
        self._known = {material[_PART]: material for material in bpy.data.materials if _PART in material}

    def put_on(self, mesh: Mesh, part: Part) -> None:
        """Give a mesh a material for every kind of face, and two for every coat: its area, and lines on it."""
        from ..geometry.show.coats import coats_of

        looks = [_LOOKS.get(face, "edge") for face in FaceKind]
        names = [_name(part.kind.value, look) for look in looks]
        for finish, role in coats_of(part):
            names += [_name(part.kind.value, look, role.value, finish) for look in ("face", "mark")]
        mesh.materials.clear()
        for name in names:
            mesh.materials.append(self._of(name))

    def _of(self, name: str) -> Material:
        if name not in self._known:
            kind, look, role, finish = name.split(_SIGN, 3)
            made = _runtime(bpy.data.materials.new(f"Board, {' '.join(filter(None, (finish, role, kind, look)))}"))
            made[_PART] = name
            self._known[name] = made
        return self._known[name]


def tint(paint: Paint, *, coloured: bool) -> None:
    """Give all materials of boards their colours. coloured: those that the maker chose; else the boards' own."""
    from ..geometry.paint.contrast import linear_of
    from ..geometry.paint.paint import OF_BOARD
    from ..geometry.part import PaintRole, PartKind
    from ..geometry.sheet.fills import STANDING_FILLS, rgb

    known = [material for material in bpy.data.materials if _PART in material]
    dressed = any(material[_PART].split(_SIGN)[2] for material in known)
    for material in known:
        kind, look, role, finish = material[_PART].split(_SIGN, 3)
        bare = paint.bare if coloured and dressed and PartKind(kind) in OF_BOARD else ""
        chosen = paint.colour_of(finish, PaintRole(role)) if coloured and role else bare
        if not chosen:
            _colour(material, _linear(_shade(rgb(STANDING_FILLS[PartKind(kind)]), look)))
        elif role and look == "mark":
            _colour(material, linear_of(paint.line_on(finish, PaintRole(role))))
        else:
            _colour(material, _linear(_shade(rgb(chosen), look)))


def _name(kind: str, look: str, role: str = "", finish: str = "") -> str:
    return _SIGN.join((kind, look, role, finish))


def _shade(face: tuple[float, float, float], look: str) -> tuple[float, float, float]:
    from ..geometry.sheet.fills import CHAR, mixed

    if look == "edge":
        return mixed(face, CHAR, _CHARRED)
    return mixed(face, (0.0, 0.0, 0.0), 1.0 - _MARKED) if look == "mark" else face


def _linear(colour: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return a colour as the host wants it, linear (IEC 61966-2-1)."""
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in colour)
    return red, green, blue


def _colour(material: Material, colour: tuple[float, float, float]) -> None:
    material.diffuse_color = (*colour, 1.0)
    material.roughness = 0.8
    if material.node_tree is None:  # before 5.0
        material.use_nodes = True
    for node in material.node_tree.nodes:
        if node.type == "BSDF_PRINCIPLED":
            node.inputs["Base Color"].default_value = (*colour, 1.0)
            node.inputs["Roughness"].default_value = 0.8
