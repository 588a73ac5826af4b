"""What the host has to know of us, in the order in which it must learn it."""

from __future__ import annotations

import bpy

from . import menus, overlay, preferences, properties, sidebar
from .bends import fields as hinge_fields
from .bends import hinges
from .bends.operators import propose, roles
from .cut import delivery
from .cut import fields as sheet_fields
from .cut.operators import again, export, floor, left_overs, sheets, times
from .host import scale
from .jobs import background, operator, results
from .plot import building_fields, opening_fields
from .plot.operators import building, openings
from .proof.operators import find, run
from .stock import fields as stock_fields
from .stock import laser_fields
from .stock.operators import coupon, lasers, stocks
from .table import fields as table_fields
from .table import lifted, play_results
from .table import overlay as squares
from .table.operators import seated, table
from .window import samples

#: Groups before their users; panels' parents before their children.
_CLASSES = (
    *building_fields.CLASSES,
    *opening_fields.CLASSES,
    *hinge_fields.CLASSES,
    *stock_fields.CLASSES,
    *laser_fields.CLASSES,
    *table_fields.CLASSES,
    *sheet_fields.CLASSES,
    *properties.CLASSES,
    *preferences.CLASSES,
    *building.CLASSES,
    *openings.CLASSES,
    *roles.CLASSES,
    *propose.CLASSES,
    *stocks.CLASSES,
    *lasers.CLASSES,
    *coupon.CLASSES,
    *operator.CLASSES,
    *run.CLASSES,
    *find.CLASSES,
    *export.CLASSES,
    *floor.CLASSES,
    *again.CLASSES,
    *sheets.CLASSES,
    *left_overs.CLASSES,
    *times.CLASSES,
    *table.CLASSES,
    *seated.CLASSES,
    *menus.CLASSES,
    *sidebar.CLASSES,
)


def register() -> None:
    """Make everything known to the host."""
    for each in _CLASSES:
        bpy.utils.register_class(each)
    properties.attach()
    results.attach()
    background.attach()
    delivery.attach()
    menus.attach()
    overlay.attach()
    sheets.attach()
    play_results.attach()
    lifted.attach()
    squares.attach()
    scale.attach()
    samples.attach()


def unregister() -> None:
    """Take everything back, in reverse."""
    samples.detach()
    scale.detach()
    squares.detach()
    lifted.detach()
    play_results.detach()
    sheets.detach()
    overlay.detach()
    menus.detach()
    hinges.forget()
    delivery.detach()
    background.detach()
    results.detach()
    properties.detach()
    for each in reversed(_CLASSES):
        bpy.utils.unregister_class(each)
