"""Stocks: what the maker measured replaces what the catalogue says."""

from __future__ import annotations

import bpy
from bpy.props import StringProperty
from bpy.types import Operator

from .. import results
from ..properties import STOCKS


class STOWFOLD_OT_measure_stock(Operator):
    """Enter your own thickness and kerf for this board"""

    bl_idname = "stowfold.measure_stock"
    bl_label = "Enter Measured Values"
    bl_options = {"REGISTER", "UNDO"}

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        measured = context.scene.stowfold.measured
        if self.stock not in STOCKS or self.stock in measured:
            self.report({"WARNING"}, "Choose a board of the catalogue that has no measured values yet")
            return {"CANCELLED"}
        own = measured.add()
        own.name = self.stock
        own.thickness = STOCKS[self.stock].thickness
        own.kerf = STOCKS[self.stock].kerf
        results.suspect_all()
        return {"FINISHED"}


class STOWFOLD_OT_forget_measured(Operator):
    """Drop your own values and use those of the catalogue again"""

    bl_idname = "stowfold.forget_measured"
    bl_label = "Use Catalogue Values"
    bl_options = {"REGISTER", "UNDO"}

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        measured = context.scene.stowfold.measured
        index = measured.find(self.stock)
        if index < 0:
            self.report({"WARNING"}, "There are no measured values of this board")
            return {"CANCELLED"}
        measured.remove(index)
        results.suspect_all()
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_measure_stock, STOWFOLD_OT_forget_measured)
