"""The sidebar: one tab with the steps in working order."""

from __future__ import annotations

from . import bends, cut, hinge, plot, proof, sheets, stock, table, workshop

#: The host shows panels in the order in which it comes to know them; parents come before their children.
CLASSES = (
    *plot.CLASSES,
    *table.CLASSES,
    *bends.CLASSES,
    *hinge.CLASSES,
    *stock.CLASSES,
    *proof.CLASSES,
    *cut.CLASSES,
    *sheets.CLASSES,
    *workshop.CLASSES,
)
