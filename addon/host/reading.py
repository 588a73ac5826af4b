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

from ..geometry.board.wishes import Cut, HingeWishes
from ..geometry.errors import BadSettingError, UnreadableError
from ..geometry.solid.solid import Role, Solid, join_solids
from . import marks, shown
from .drawings import drawings_in
from .finishes import finishes_in
from .laser_library import laser_in, other_lasers_in
from .lengths import as_typed, mm_per_unit, to_units
from .measuring import known_stocks
from .openings import openings_in, read_opening, trim_is_wanted
from .paint import paint_in
from .pins import lasers_of_parts, pins_of
from .poses import pose_of
from .signboards import signs_in
from .upstands import is_upstand, upstands_in
from .workshop import offcuts_in

if TYPE_CHECKING:
    from bpy.types import Mesh, Object, PropertyGroup, Scene

    from ..geometry.board.stock import Stock
    from ..geometry.outcome import Settings

__all__ = [
    "FIXED",
    "as_typed",
    "find_block_out",
    "mm_per_unit",
    "read_settings",
    "read_solid",
    "stands_beside",
    "title_of",
    "to_units",
    "wishes_of",
]

#: What can be fixed of hinges beside the inside radius: field, label, tooltip, value to start from.
FIXED = (
    ("zone_width", "Zone Width", "At most so wide across the bend", 25.0),
    ("slit", "Slit Length", "About so long; slits fill the bend's length exactly", 30.0),
    ("bridge", "Bridge", "Uncut web between two slits of a row", 3.0),
    ("link_width", "Link Width", "Strip between two rows, which twists", 1.0),
    ("opening", "Opening", "Width of a slit; no wider than the kerf is one pass of the laser", 0.4),
)


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


def wishes_of(fields: PropertyGroup) -> HingeWishes:
    """Return what is fixed of hinges, mm; the inside radius is a setting of its own."""
    sizes = {name: as_typed(getattr(fields, name)) for name, *_ in FIXED if getattr(fields, f"use_{name}")}
    return HingeWishes(**sizes, cut=Cut(fields.cut.lower()))


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


def _strip_of(scene: Scene) -> float:
    """Return how far outside the squares the walls of buildings that were added stand, mm."""
    buildings = (target.stowfold.building for target in scene.objects if target.stowfold.is_block_out)
    return max((as_typed(building.strip) for building in buildings if building.was_added), default=0.0)


def read_settings(scene: Scene) -> Settings:
    """Return what the maker set in the scene as the settings of the flow.

    Raises BadSettingError for a stock that is not known any more.
    """
    # needs the packages of the flow: only called when something is to be made
    from ..geometry.outcome import Proposal, Settings
    from ..geometry.settings import (
        BoardFace,
        ClosureKind,
        ClosureSettings,
        FloorSettings,
        FloorTiles,
        FloorWay,
        HingeSettings,
        JoinerSettings,
        SecondShingles,
        ShinglePattern,
        TrimSettings,
    )
    from ..geometry.sheet.layout_wishes import LayoutWishes
    from ..geometry.sheet.mockup import Paper

    chosen = scene.stowfold
    stocks = known_stocks(scene)

    def stock_for(kind: str) -> Stock:
        name = getattr(chosen.stocks, kind)
        if name not in stocks:
            raise BadSettingError(
                f"The stock chosen for the {kind.replace('_', ' ')} is not known any more; choose another one"
            )
        return stocks[name]

    walls = stock_for("walls")
    square = as_typed(chosen.square)
    joiner = chosen.joiner
    return Settings(
        walls=walls,
        roof=stock_for("roof"),
        floor=stock_for("floor"),
        joiners=stock_for("joiners"),
        laser=laser_in(scene),
        other_lasers=other_lasers_in(scene),
        case=chosen.carrying_case,
        paper=Paper[chosen.paper],
        face=BoardFace(chosen.face.lower()),
        square=square,
        hinge=HingeSettings(
            inside_radius=as_typed(chosen.inside_radius),
            along_grain=chosen.along_grain,
            grain_joiners=chosen.grain_joiners,
            wishes=wishes_of(chosen.hinge),
        ),
        joiner=JoinerSettings(
            core_width=as_typed(joiner.core_width),
            cheek_width=as_typed(joiner.cheek_width),
            gap=as_typed(joiner.gap),
            margin=as_typed(joiner.margin),
            slide=as_typed(joiner.slide),
            paint=as_typed(joiner.paint),
            painted_faces=joiner.painted_faces,
            peg=as_typed(joiner.peg),
        ),
        ground=FloorSettings(
            wanted=not chosen.play_mat,
            rim=as_typed(chosen.rim),
            square=square if chosen.engrave_grid else None,
            strip=_strip_of(scene),
        ),
        closure=ClosureSettings(
            kind=ClosureKind(chosen.closure.lower()),
            magnet_diameter=as_typed(chosen.magnet_diameter),
            magnet_thickness=as_typed(chosen.magnet_thickness),
            magnet_field=as_typed(chosen.magnet_field),
            cover=as_typed(chosen.magnet_cover),
            pull=as_typed(chosen.magnet_pull),
            glue=chosen.glue_strips,
            caps=chosen.caps,
        ),
        trim=TrimSettings(
            stock=stock_for("trim") if trim_is_wanted(scene) or signs_in(scene) else None,
            frames=chosen.trim.frames,
            sills=chosen.trim.sills,
            shutters=chosen.trim.shutters,
            corner_boards=chosen.trim.corner_boards,
            timbers=chosen.trim.timbers,
            shingles=chosen.trim.shingles,
            second=SecondShingles(
                stock_for("second_shingles"), ShinglePattern[chosen.trim.second], chosen.trim.second_courses
            )
            if chosen.trim.shingles and chosen.trim.second != "NONE"
            else None,
            width=as_typed(chosen.trim.width),
        ),
        tiles=FloorTiles(
            stock_for("light_tiles"),
            stock_for("dark_tiles"),
            FloorWay[chosen.floor_way],
            border=chosen.floor_border,
            star=chosen.floor_star,
            play=as_typed(chosen.floor_play) if chosen.floor_way == "INLAY" else None,
        )
        if chosen.floor_tiles and (chosen.floor_finish is not None or chosen.floor_way == "INLAY")
        else None,
        floor_finish="" if chosen.floor_finish is None else chosen.floor_finish.name,
        inside_finish="" if chosen.inside_finish is None else chosen.inside_finish.name,
        drawings=drawings_in(scene),
        signs=signs_in(scene),
        finishes=finishes_in(scene, kerf=walls.kerf),
        paint=paint_in(scene),
        propose=Proposal(chosen.propose.lower()),
        layout=LayoutWishes(
            pins=pins_of(scene),
            lasers=lasers_of_parts(scene),
            offcuts=offcuts_in(scene),
            improve=chosen.look_longer,
        ),
    )
