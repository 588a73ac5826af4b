"""Menus: buildings where things are added, roles where edges are edited, cut files where files are exported."""

from __future__ import annotations

import bpy
from bpy.types import Menu

from .bends.operators.nets import (
    STOWFOLD_OT_overrule_edges,
    STOWFOLD_OT_step_net,
    STOWFOLD_OT_try_nets,
    STOWFOLD_OT_use_net,
)
from .bends.operators.roles import ROLES, STOWFOLD_OT_mark_edges, STOWFOLD_OT_select_role
from .cut.operators.export import STOWFOLD_OT_export
from .dress.fields import PATTERNS
from .dress.operators.finishes import STOWFOLD_OT_add_finish
from .plot.opening_fields import KINDS
from .plot.operators.building import STOWFOLD_OT_add_building
from .plot.operators.openings import STOWFOLD_OT_add_opening
from .plot.operators.upstands import STOWFOLD_OT_add_upstand
from .plot.upstand_fields import KINDS as UPSTANDS
from .table.operators.table import (
    STOWFOLD_OT_add_furniture,
    STOWFOLD_OT_add_miniature,
    STOWFOLD_OT_add_seat,
    STOWFOLD_OT_add_table,
)

#: The host's menus from which finishes are put on.
_FINISHED = ("VIEW3D_MT_object", "VIEW3D_MT_edit_mesh_faces")


class STOWFOLD_MT_edge_roles(Menu):
    """What the selected edges are to become"""

    bl_idname = "STOWFOLD_MT_edge_roles"
    bl_label = "Stowfold Role"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        for name, label, _, _ in ROLES:
            layout.operator(STOWFOLD_OT_mark_edges.bl_idname, text=label).role = name
        layout.separator()
        for name, label, _, _ in ROLES[:3]:
            layout.operator(STOWFOLD_OT_select_role.bl_idname, text=f"Select All: {label}").role = name


class STOWFOLD_MT_nets(Menu):
    """How roofs and other bodies unfold"""

    bl_idname = "STOWFOLD_MT_nets"
    bl_label = "Stowfold Nets"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        layout.operator_context = "INVOKE_REGION_WIN"
        layout.operator(STOWFOLD_OT_try_nets.bl_idname)
        layout.operator(STOWFOLD_OT_step_net.bl_idname, text="Previous Net").back = True
        layout.operator(STOWFOLD_OT_step_net.bl_idname, text="Next Net").back = False
        layout.operator(STOWFOLD_OT_use_net.bl_idname)
        layout.separator()
        layout.operator(STOWFOLD_OT_overrule_edges.bl_idname, text="Bend Edges Against the Net").role = "FLEX"
        layout.operator(STOWFOLD_OT_overrule_edges.bl_idname, text="Part Edges Against the Net").role = "CLOSURE"


class STOWFOLD_MT_openings(Menu):
    """Doors and windows that stand in walls"""

    bl_idname = "STOWFOLD_MT_openings"
    bl_label = "Stowfold Opening"

    def draw(self, _context: bpy.types.Context) -> None:
        self.layout.operator_context = "INVOKE_REGION_WIN"
        for name, label, _, icon, _ in KINDS:
            self.layout.operator(STOWFOLD_OT_add_opening.bl_idname, text=label, icon=icon).kind = name


class STOWFOLD_MT_finishes(Menu):
    """What is drawn on the selected faces, or on the whole object in Object Mode"""

    bl_idname = "STOWFOLD_MT_finishes"
    bl_label = "Stowfold Finish"

    def draw(self, _context: bpy.types.Context) -> None:
        for name, label, _, _ in PATTERNS:
            self.layout.operator(STOWFOLD_OT_add_finish.bl_idname, text=label).pattern = name


def _finish_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.separator()
    menu.layout.menu(STOWFOLD_MT_finishes.bl_idname)


def _edge_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.separator()
    menu.layout.menu(STOWFOLD_MT_edge_roles.bl_idname)


def _nets_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.separator()
    menu.layout.menu(STOWFOLD_MT_nets.bl_idname)


def _export_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.operator(STOWFOLD_OT_export.bl_idname, text="Stowfold Cut Files (.svg)")


def _add_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.separator()
    # as after a click in the view, so that it frames what was added
    menu.layout.operator_context = "INVOKE_REGION_WIN"
    menu.layout.operator(STOWFOLD_OT_add_building.bl_idname, text="Stowfold Building", icon="HOME")
    menu.layout.menu(STOWFOLD_MT_openings.bl_idname, icon="IMPORT")
    for name, label, _, icon, _ in UPSTANDS:
        menu.layout.operator(STOWFOLD_OT_add_upstand.bl_idname, text=f"Stowfold {label}", icon=icon).kind = name
    menu.layout.operator(STOWFOLD_OT_add_table.bl_idname, text="Stowfold Table", icon="MESH_PLANE")
    menu.layout.operator(STOWFOLD_OT_add_seat.bl_idname, text="Stowfold Seat", icon="USER")
    menu.layout.operator(STOWFOLD_OT_add_miniature.bl_idname, text="Stowfold Miniature", icon="MESH_CYLINDER")
    menu.layout.operator(STOWFOLD_OT_add_furniture.bl_idname, text="Stowfold Furniture", icon="MESH_CUBE")


CLASSES = (STOWFOLD_MT_edge_roles, STOWFOLD_MT_nets, STOWFOLD_MT_openings, STOWFOLD_MT_finishes)


def attach() -> None:
    """Hang our entries into the host's menus."""
    bpy.types.VIEW3D_MT_add.append(_add_menu)
    bpy.types.VIEW3D_MT_edit_mesh_edges.append(_edge_menu)
    for menu in (bpy.types.VIEW3D_MT_object, bpy.types.VIEW3D_MT_edit_mesh):
        menu.append(_nets_menu)
    for menu in _FINISHED:
        getattr(bpy.types, menu).append(_finish_menu)
    bpy.types.TOPBAR_MT_file_export.append(_export_menu)


def detach() -> None:
    """Take them out again."""
    bpy.types.TOPBAR_MT_file_export.remove(_export_menu)
    for menu in _FINISHED:
        getattr(bpy.types, menu).remove(_finish_menu)
    for menu in (bpy.types.VIEW3D_MT_object, bpy.types.VIEW3D_MT_edit_mesh):
        menu.remove(_nets_menu)
    bpy.types.VIEW3D_MT_edit_mesh_edges.remove(_edge_menu)
    bpy.types.VIEW3D_MT_add.remove(_add_menu)
