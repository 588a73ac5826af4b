"""Finding the place: a click on a finding selects what it speaks of and brings it into view."""

from __future__ import annotations

import bmesh
import bpy
from bpy.props import IntProperty
from bpy.types import Operator

from ...geometry.errors import GeometryError
from ...host import shown
from ...host.reading import to_units
from ...jobs import results
from ...jobs.reporting import warn

#: How many times farther than the host's own framing the eye stands.
_STEP_BACK = 2.5


class STOWFOLD_OT_show_finding(Operator):
    """Select the place that this finding speaks of and bring it into view"""

    bl_idname = "stowfold.show_finding"
    bl_label = "Show Finding"
    bl_options = {"REGISTER", "UNDO"}

    index: IntProperty(name="Finding", options={"SKIP_SAVE", "HIDDEN"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        report = results.shown(context)
        findings = report.outcome.findings if report is not None and report.outcome is not None else ()
        if not 0 <= self.index < len(findings):
            return warn(self, "This finding is gone; check the building again")
        view = context.window_manager.stowfold
        view.step = "PROOF"
        view.finding = -1 if view.finding == self.index else self.index
        where = findings[self.index].where
        if view.finding < 0 or not (where.faces or where.edges or where.part or where.point):
            return {"FINISHED"}
        target = context.scene.objects.get(where.source) if where.source else None
        if target is None and report is not None:
            by_uid = {candidate.session_uid: candidate for candidate in context.scene.objects}
            target = next((by_uid[uid] for uid in report.objects if uid in by_uid), None)
        if target is None:
            return warn(self, "The object of this finding is no longer in the scene")
        edges, faces = where.edges, where.faces
        if not edges and not faces and where.part is not None and report is not None:
            faces = _faces_of(report, where.part)
        if context.object is not None and context.object.mode != "OBJECT":
            bpy.ops.object.mode_set(mode="OBJECT")
        own_faces, own_edges = _own(target, faces, edges)
        _select(context, target, own_edges, own_faces)
        if where.point is not None and not own_edges and not own_faces:
            context.scene.cursor.location = [to_units(value, context.scene) for value in where.point]
        if (faces or edges) and not (own_faces or own_edges):
            # a modifier made this place: nothing in the mesh can be selected, but it can be seen
            bpy.ops.object.mode_set(mode="OBJECT")
            _frame(context, on_cursor=where.point is not None)
        else:
            _frame(context)
        return {"FINISHED"}


def _own(
    target: bpy.types.Object, faces: tuple[int, ...], edges: tuple[int, ...]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return those of the faces and edges that the maker's own mesh has, none where the host cannot say."""
    if target.type != "MESH":
        return (), ()
    try:
        return shown.own_ids(target, faces, edges)
    except GeometryError:
        return (), ()


def _faces_of(report: results.Report, part_id: str) -> tuple[int, ...]:
    """Return the host faces that a part was made from."""
    outcome = report.outcome
    parts = outcome.parts if outcome is not None else ()
    return tuple(face for part in parts if part.id == part_id for panel in part.panels for face in panel.faces)


def _select(
    context: bpy.types.Context, target: bpy.types.Object, edges: tuple[int, ...], faces: tuple[int, ...]
) -> None:
    for candidate in context.view_layer.objects:
        candidate.select_set(candidate == target)
    context.view_layer.objects.active = target
    if target.type != "MESH":
        return
    bpy.ops.object.mode_set(mode="EDIT")
    context.tool_settings.mesh_select_mode = (False, bool(edges) or not faces, bool(faces) and not edges)
    bm = bmesh.from_edit_mesh(target.data)
    for layer in (bm.verts, bm.edges, bm.faces):
        layer.ensure_lookup_table()
        for element in layer:
            element.select = False
    for index in edges:
        if 0 <= index < len(bm.edges):
            bm.edges[index].select_set(True)
    if not edges:
        for index in faces:
            if 0 <= index < len(bm.faces):
                bm.faces[index].select_set(True)
    bmesh.update_edit_mesh(target.data, loop_triangles=False, destructive=False)


def _frame(context: bpy.types.Context, *, on_cursor: bool = False) -> None:
    """Bring the selection, or the 3D cursor, into every 3D view of the window; without one there is nothing to do."""
    for area in context.screen.areas if context.screen else ():
        region = next((region for region in area.regions if region.type == "WINDOW"), None)
        if area.type == "VIEW_3D" and region is not None:
            with context.temp_override(area=area, region=region):
                if on_cursor:
                    bpy.ops.view3d.view_center_cursor()
                    continue
                bpy.ops.view3d.view_selected(use_all_regions=False)
            # the place alone says little; its surroundings belong to it
            area.spaces.active.region_3d.view_distance *= _STEP_BACK


CLASSES = (STOWFOLD_OT_show_finding,)
