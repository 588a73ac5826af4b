"""What the host has to know of us, in the order in which it must learn it."""

from __future__ import annotations

import bpy

from . import (
    background,
    building_fields,
    delivery,
    hinge_fields,
    hinges,
    laser_fields,
    lifted,
    opening_fields,
    play_results,
    preferences,
    properties,
    results,
    scale,
    sheet_fields,
    stock_fields,
    table_fields,
)
from .operators import (
    again,
    beside,
    building,
    coupon,
    export,
    find,
    floor,
    lasers,
    left_overs,
    openings,
    propose,
    roles,
    run,
    seated,
    sheets,
    stocks,
    table,
    times,
)
from .overlay import roles as overlay
from .overlay import squares
from .ui import menus, samples, sidebar

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
    *beside.CLASSES,
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
