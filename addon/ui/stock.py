"""The step of stock: boards, what was measured on them, and the laser."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UILayout

from ..operators.stocks import STOWFOLD_OT_forget_measured, STOWFOLD_OT_measure_stock
from ..properties import STOCKS
from .step import Step
from .words import paragraph

_KINDS = (("walls", "Walls"), ("roof", "Roof"), ("floor", "Floor"), ("joiners", "Joiners"))


class STOWFOLD_PT_stock(Step, Panel):
    bl_idname = "STOWFOLD_PT_stock"
    bl_label = "Stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        ours = context.scene.stowfold
        column = self.settings_layout()
        for kind, label in _KINDS:
            column.prop(ours.stocks, kind, text=label)
        for name in dict.fromkeys(getattr(ours.stocks, kind) for kind, _ in _KINDS):
            _draw_stock(self.layout, context, name)


def _draw_stock(layout: UILayout, context: bpy.types.Context, name: str) -> None:
    box = layout.box()
    measured = context.scene.stowfold.measured
    stock = STOCKS.get(name)
    if stock is None:
        paragraph(box, context, "This board is no longer known; choose another one.", icon="CANCEL")
        return
    row = box.row()
    row.label(text=stock.label)
    index = measured.find(name)
    if index < 0:
        row.operator(STOWFOLD_OT_measure_stock.bl_idname, text="", icon="GREASEPENCIL").stock = name
        box.label(text=f"{stock.thickness:g} mm, kerf {stock.kerf:g} mm: catalogue values")
        return
    row.operator(STOWFOLD_OT_forget_measured.bl_idname, text="", icon="LOOP_BACK").stock = name
    column = box.column()
    column.use_property_split = True
    column.use_property_decorate = False
    column.prop(measured[index], "thickness")
    column.prop(measured[index], "kerf")


class STOWFOLD_PT_laser(Step, Panel):
    bl_idname = "STOWFOLD_PT_laser"
    bl_label = "Laser"
    bl_parent_id = "STOWFOLD_PT_stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        for name in ("bed_width", "bed_depth", "margin", "spacing"):
            column.prop(context.scene.stowfold.laser, name)


CLASSES = (STOWFOLD_PT_stock, STOWFOLD_PT_laser)
