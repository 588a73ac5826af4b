"""The sidebar: one tab with a head of all steps, and below it the panels of the chosen step."""

from __future__ import annotations

from . import steps
from .bends import hinge_panel, nets_panel
from .bends import panel as bends
from .cut import panel as cut
from .cut import sheets_panel, workshop_panel
from .dress import panel as dress
from .dress import trim_panel
from .plot import panel as plot
from .proof import panel as proof
from .stand import panel as stand
from .stock import panel as stock
from .table import panel as table

#: The host shows panels in the order in which it comes to know them; parents come before their children.
CLASSES = (
    *steps.CLASSES,
    *plot.CLASSES,
    *table.CLASSES,
    *bends.CLASSES,
    *nets_panel.CLASSES,
    *hinge_panel.CLASSES,
    *dress.CLASSES,
    *dress.BELOW,
    *trim_panel.CLASSES,
    *dress.OWN,
    *stock.CLASSES,
    *proof.CLASSES,
    *stand.CLASSES,
    *cut.CLASSES,
    *sheets_panel.CLASSES,
    *workshop_panel.CLASSES,
)
