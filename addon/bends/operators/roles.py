"""Roles: the maker says at selected edges what they are to become."""

from __future__ import annotations

import bmesh
import bpy
from bpy.props import EnumProperty
from bpy.types import Operator

from ...geometry.solid.solid import Role
from ...host import marks
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn

#: Identifier, label, tooltip and number of each role, for menus and buttons.
ROLES = (
    ("FLEX", "Flex Corner", "The board bends here on a lattice of slits", int(Role.FLEX)),
    ("BREAK", "Break", "The wall parts here; a joiner takes both ends", int(Role.BREAK)),
    ("CLOSURE", "Closure", "Boards meet here and stay parted, held by a tab, by magnets or at rest", int(Role.CLOSURE)),
    ("PLAIN", "Plain", "No mark: flat surfaces run on, other edges come apart", int(Role.PLAIN)),
)


def _edits_mesh(operator: type[Operator], context: bpy.types.Context) -> bool:
    target = context.edit_object
    edits = target is not None and target.type == "MESH"
    return needs(operator, edits, "Enter Edit Mode on a mesh and select edges first")


class STOWFOLD_OT_mark_edges(Operator):
    """Mark the selected edges with what they are to become"""

    bl_idname = "stowfold.mark_edges"
    bl_label = "Mark Edges"
    bl_options = {"REGISTER", "UNDO"}

    role: EnumProperty(name="Role", items=ROLES, default="FLEX")

    @classmethod
    def description(cls, _context: bpy.types.Context, properties: STOWFOLD_OT_mark_edges) -> str:
        return next(words for name, _, words, _ in ROLES if name == properties.role)

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return _edits_mesh(cls, context)

    @report_errors()
    def execute(self, context: bpy.types.Context) -> set[str]:
        count = 0
        for target in context.objects_in_mode_unique_data:
            mesh = target.data
            count += marks.set_selected_roles(mesh, bmesh.from_edit_mesh(mesh), Role[self.role])
            bmesh.update_edit_mesh(mesh, loop_triangles=False, destructive=False)
        if not count:
            return warn(self, "No edge is selected; select the edges to mark first")
        results.suspect_all()
        self.report({"INFO"}, f"{count} edge{'s' if count != 1 else ''} marked {Role[self.role].name.lower()}")
        return {"FINISHED"}


class STOWFOLD_OT_select_role(Operator):
    """Select all edges that are marked alike"""

    bl_idname = "stowfold.select_role"
    bl_label = "Select Marked Edges"
    bl_options = {"REGISTER", "UNDO"}

    role: EnumProperty(name="Role", items=ROLES[:3], default="FLEX")

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return _edits_mesh(cls, context)

    @report_errors()
    def execute(self, context: bpy.types.Context) -> set[str]:
        context.tool_settings.mesh_select_mode = (False, True, False)
        count = 0
        for target in context.objects_in_mode_unique_data:
            bm = bmesh.from_edit_mesh(target.data)
            for part in (bm.verts, bm.edges, bm.faces):
                for element in part:
                    element.select = False
            wanted = marks.edges_with_role(target.data, bm, lambda role: role is Role[self.role])
            for edge in wanted:
                edge.select_set(True)
            count += len(wanted)
            bmesh.update_edit_mesh(target.data, loop_triangles=False, destructive=False)
        self.report({"INFO"}, f"{count} edge{'s' if count != 1 else ''} selected")
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_mark_edges, STOWFOLD_OT_select_role)
