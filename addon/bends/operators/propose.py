"""Proposals on the mesh: bends and breaks that the maker left open are marked, and walls are cut where they part."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import bmesh
import numpy as np
from bmesh.types import BMesh
from bpy.props import EnumProperty
from bpy.types import Context, Object, Operator

from ...geometry.errors import GeometryError
from ...geometry.propose.proposed import Cut, Mark, Proposed
from ...geometry.solid.solid import Role
from ...host import marks, shown
from ...host.poses import as_pose, pose_of
from ...host.reading import find_block_out, mm_per_unit, read_settings, read_solid
from ...jobs import results
from ...jobs.reporting import needs

_WHAT = (
    ("NET", "Bends", "Mark which unmarked edges bend and which stay parted; your marks stay", 0),
    ("BREAKS", "Breaks", "Cut the walls where they part, with as few joiners as will do; your marks stay", 1),
)

#: Vertices as near to the cutting plane as this are on it, mm.
_ON_PLANE = 1e-3


def _proposal(context: Context, what: str) -> Proposed:
    from dataclasses import replace

    from ...geometry.flow.unfolding import propose
    from ...geometry.outcome import Proposal

    scene = context.scene
    targets = find_block_out(scene)
    for target in targets:
        # bends are marked edge by edge, walls are cut where they stand
        (shown.check_own_points if what == "BREAKS" else shown.check_own_edges)(target)
    return propose(read_solid(targets, scene), replace(read_settings(scene), propose=Proposal(what.lower())))


class STOWFOLD_OT_mark_proposal(Operator):
    """Mark on the mesh which unmarked edges bend, or cut the walls where they part. Marks of yours stay"""

    bl_idname = "stowfold.mark_proposal"
    bl_label = "Mark Proposal"
    bl_options = {"REGISTER", "UNDO"}

    what: EnumProperty(name="What", items=_WHAT)

    @classmethod
    def poll(cls, context: Context) -> bool:
        meshes = any(target.type == "MESH" for target in context.scene.objects)
        return needs(cls, meshes, "Add a building first, or model its walls as a mesh")

    @classmethod
    def description(cls, _context: Context, properties: STOWFOLD_OT_mark_proposal) -> str:
        return next(words for name, _, words, _ in _WHAT if name == properties.what)

    def execute(self, context: Context) -> set[str]:
        try:
            proposed = _proposal(context, self.what)
        except GeometryError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        findings = proposed.findings
        if not proposed.marks and not proposed.cuts:
            said = findings[0].message if findings else "All edges are marked already; select one to change it"
            self.report({"WARNING"} if findings else {"INFO"}, said)
            return {"CANCELLED"}
        put_on_meshes(context, proposed)
        self.report({"WARNING"} if findings else {"INFO"}, findings[0].message if findings else _said(proposed))
        return {"FINISHED"}


def put_on_meshes(context: Context, proposed: Proposed) -> None:
    """Mark what is proposed on the meshes of the block-out, and cut them where their walls part."""
    for source, target in enumerate(find_block_out(context.scene)):
        write_marks(target, [mark for mark in proposed.marks if mark.source == source])
        _cut(target, [cut for cut in proposed.cuts if cut.source == source], context)
    results.suspect_all()


def _said(proposed: Proposed) -> str:
    bends = sum(mark.role is Role.FLEX for mark in proposed.marks)
    closures = sum(mark.role is Role.CLOSURE for mark in proposed.marks)
    counts = ((bends, "bend"), (closures, "closure"), (len(proposed.cuts), "break"))
    return ", ".join(f"{count} {word}{'' if count == 1 else 's'}" for count, word in counts if count) + " marked"


def write_marks(target: Object, wanted: Sequence[Mark], *, by_hand: bool = False) -> None:
    """Mark edges of an object, in edit mode or out of it. by_hand: the marks are the maker's own from now on."""
    if not wanted:
        return

    def write(bm: BMesh) -> None:
        layers = marks.role_layers(target.data, bm, of_net=not by_hand)
        write_one = layers.decide if by_hand else layers.give
        bm.edges.ensure_lookup_table()
        for mark in wanted:
            for index in mark.edges:
                write_one(bm.edges[index], mark.role)

    _edit(target, write)


def _cut(target: Object, cuts: Sequence[Cut], context: Context) -> None:
    """Cut an object's faces along each plane and mark the cuts with their roles."""
    if not cuts:
        return
    unit = mm_per_unit(context.scene)
    home = as_pose(target.matrix_world.inverted_safe())
    # a plane's normal is carried over by the transpose of the way back
    turn = pose_of(target).turn.T

    def cut(bm: BMesh) -> None:
        layer = marks.layer(target.data, bm)
        bm.faces.ensure_lookup_table()
        walls = [([bm.faces[index] for index in cut.faces], cut) for cut in cuts]
        for _, cut in walls:
            point = home.apply(cut.point / unit)
            normal = turn @ cut.normal
            normal = normal / np.linalg.norm(normal)
            faces = [face for other, known in walls if known.faces == cut.faces for face in other if face.is_valid]
            faces = list(dict.fromkeys(faces))
            around = [*faces, *{edge for face in faces for edge in face.edges}]
            around += {vert for face in faces for vert in face.verts}
            made = bmesh.ops.bisect_plane(
                bm, geom=around, dist=_ON_PLANE / unit, plane_co=point.tolist(), plane_no=normal.tolist()
            )
            for edge in made["geom_cut"]:
                if isinstance(edge, bmesh.types.BMEdge):
                    edge[layer] = int(cut.role)
            grown = [face for face in made["geom"] if isinstance(face, bmesh.types.BMFace)]
            for other, known in walls:
                if known.faces == cut.faces:
                    other[:] = list(dict.fromkeys([*(face for face in other if face.is_valid), *grown]))

    _edit(target, cut)


def _edit(target: Object, change: Callable[[BMesh], None]) -> None:
    """Change a mesh through its editing copy, in edit mode or out of it."""
    mesh = target.data
    if mesh.is_editmode:
        bm = bmesh.from_edit_mesh(mesh)
        change(bm)
        bmesh.update_edit_mesh(mesh)
        return
    bm = bmesh.new()
    try:
        bm.from_mesh(mesh)
        change(bm)
        bm.to_mesh(mesh)
    finally:
        bm.free()
    mesh.update()


CLASSES = (STOWFOLD_OT_mark_proposal,)
