"""Nets in the sidebar: those that were tried, the one that is looked at, and what overruling an edge costs."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UIList

from ..geometry.solid.solid import Role
from ..window.running import draw_starter
from ..window.step import Step
from ..window.words import still_paragraph
from . import costs, nets
from .operators.nets import (
    STOWFOLD_OT_overrule_edges,
    STOWFOLD_OT_step_net,
    STOWFOLD_OT_try_nets,
    STOWFOLD_OT_use_net,
)

#: Rows of the list of nets, always as many.
_ROWS = 4

#: What the buttons of a role are called, and the host's icon on them.
_BUTTONS = {Role.FLEX: ("Bend", "MOD_SIMPLEDEFORM"), Role.CLOSURE: ("Part", "SNAP_EDGE")}


class STOWFOLD_UL_nets(UIList):
    """Nets that were tried, one a row"""

    bl_idname = "STOWFOLD_UL_nets"

    def draw_item(
        self,
        _context: bpy.types.Context,
        layout: bpy.types.UILayout,
        _data: object,
        item: bpy.types.PropertyGroup,
        _icon: int,
        _active_data: object,
        _active_property: str,
    ) -> None:
        layout.label(text=item.name, icon="PINNED" if item.present else "CHECKMARK" if item.good else "ERROR")


class STOWFOLD_PT_nets(Step, Panel):
    """The nets of roofs and other bodies, to look through before one is chosen."""

    bl_idname = "STOWFOLD_PT_nets"
    bl_label = "Nets"
    bl_parent_id = "STOWFOLD_PT_bends"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        manager, tried = context.window_manager.stowfold, nets.known()
        starter = layout.row(align=True)
        draw_starter(starter, STOWFOLD_OT_try_nets.bl_idname, icon="FILE_REFRESH" if tried else "VIEWZOOM")
        eye = starter.row(align=True)
        eye.scale_y = 1.4
        eye.prop(manager, "show_nets", text="", icon="HIDE_OFF" if manager.show_nets else "HIDE_ON")
        body = layout.column()
        body.enabled = tried is not None and bool(tried.rows)
        body.template_list(STOWFOLD_UL_nets.bl_idname, "", manager, "nets", manager, "net", rows=_ROWS, maxrows=_ROWS)
        text, icon = _said(context)
        still_paragraph(body, context, text, lines=3, icon=icon)
        steps = body.row(align=True)
        steps.operator(STOWFOLD_OT_step_net.bl_idname, text="Previous", icon="TRIA_LEFT").back = True
        steps.operator(STOWFOLD_OT_step_net.bl_idname, text="Next", icon="TRIA_RIGHT").back = False
        body.operator(STOWFOLD_OT_use_net.bl_idname, icon="CHECKMARK")
        _draw_costs(layout.box(), context)


def _said(context: bpy.types.Context) -> tuple[str, str]:
    """Return what is said below the list, and its icon."""
    from ..geometry.propose.net_measures import told_net

    tried, found = nets.known(), nets.looked_at(context)
    if tried is None:
        return "See how a roof or another body unfolds, and in which other ways it could.", "INFO"
    if found is None:
        return tried.failure, "INFO"
    shell, net = found
    here = shell.present is not None and shell.nets[shell.present] is net
    told = f"{told_net(net.measures)}{'. On the mesh now' if here else ''}."
    if net.measures.trouble:
        return net.measures.trouble, "ERROR"
    return told, "PINNED" if here else "CHECKMARK" if net.measures.good else "ERROR"


def _draw_costs(layout: bpy.types.UILayout, context: bpy.types.Context) -> None:
    """Draw what overruling the selected edges costs, with the buttons that do it; always of the same height."""
    known = costs.costs_of_selection(context)
    lines = dict(known.lines) if known is not None else {}
    waiting = "Working it out ..." if known is None else known.why
    layout.label(text="Overrule the selected edges", icon="EDGESEL")
    for k, role in enumerate(costs.OVERRULED):
        label, icon = _BUTTONS[role]
        column = layout.column(align=True)
        row = column.row()
        row.enabled = bool(lines)
        row.operator(STOWFOLD_OT_overrule_edges.bl_idname, text=label, icon=icon).role = role.name
        still_paragraph(column, context, lines.get(role, "" if k else waiting), lines=2)


CLASSES = (STOWFOLD_UL_nets, STOWFOLD_PT_nets)
