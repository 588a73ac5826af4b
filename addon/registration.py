"""What the host has to know of us, in the order in which it must learn it."""

from __future__ import annotations

from typing import cast

import bpy

from . import menus, overlay, preferences, properties, sidebar
from .bends import costs, hinges, nets
from .bends import fields as hinge_fields
from .bends import overlay as roles_overlay
from .bends.operators import nets as net_operators
from .bends.operators import propose, roles
from .cut import delivery
from .cut import fields as sheet_fields
from .cut.operators import again, all_in_one, export, floor, look_at, move_part, offcuts, pins, quick_coupon, times
from .dress import fields as dress_fields
from .dress import finish_menus, sign_fields, trim_fields
from .dress.operators import drawings, finishes, own_finishes, signboards
from .host import scale
from .host.handlers import Attachable
from .jobs import background, operator, results
from .plot import (
    building_fields,
    dropped,
    gizmos,
    lost_walls,
    opening_fields,
    proposing,
    reshaping,
    settled,
    upstand_fields,
)
from .plot.operators import building, openings, porches, start_cube, upstands
from .proof import as_saved, renewal
from .proof import fields as proof_fields
from .proof.operators import find, help, mend, run, step
from .stand import fields as stand_fields
from .stand import preview
from .stand.operators import fold
from .stock import fields as stock_fields
from .stock import laser_fields, presets
from .stock.operators import coupon, lasers, stocks
from .table import fields as table_fields
from .table import lifted, play_results
from .table.operators import seated, table
from .window import asset_library, editing, samples

#: Groups before their users; panels' parents before their children.
_CLASSES = (
    *building_fields.CLASSES,
    *opening_fields.CLASSES,
    *upstand_fields.CLASSES,
    *hinge_fields.CLASSES,
    *stock_fields.CLASSES,
    *laser_fields.CLASSES,
    *table_fields.CLASSES,
    *sheet_fields.CLASSES,
    *proof_fields.CLASSES,
    *stand_fields.CLASSES,
    *dress_fields.CLASSES,
    *trim_fields.CLASSES,
    *sign_fields.CLASSES,
    *properties.CLASSES,
    *preferences.CLASSES,
    *building.CLASSES,
    *openings.CLASSES,
    *upstands.CLASSES,
    *porches.CLASSES,
    *start_cube.CLASSES,
    *roles.CLASSES,
    *propose.CLASSES,
    *net_operators.CLASSES,
    *finishes.CLASSES,
    *drawings.CLASSES,
    *signboards.CLASSES,
    *own_finishes.CLASSES,
    *stocks.CLASSES,
    *lasers.CLASSES,
    *presets.CLASSES,
    *coupon.CLASSES,
    *operator.CLASSES,
    *run.CLASSES,
    *find.CLASSES,
    *mend.CLASSES,
    *step.CLASSES,
    *help.CLASSES,
    *asset_library.CLASSES,
    *editing.CLASSES,
    *all_in_one.CLASSES,
    *export.CLASSES,
    *quick_coupon.CLASSES,
    *floor.CLASSES,
    *again.CLASSES,
    *look_at.CLASSES,
    *move_part.CLASSES,
    *pins.CLASSES,
    *offcuts.CLASSES,
    *times.CLASSES,
    *fold.CLASSES,
    *table.CLASSES,
    *seated.CLASSES,
    *finish_menus.CLASSES,
    *menus.CLASSES,
    *sidebar.CLASSES,
    *gizmos.CLASSES,
)


#: What is put up beside the classes, in this order, and taken down in reverse.
_ATTACHED: tuple[Attachable, ...] = (
    properties,
    results.HANDLERS,
    background.HANDLERS,
    delivery.HANDLERS,
    hinges.HANDLERS,
    nets.HANDLERS,
    costs.HANDLERS,
    menus,
    roles_overlay.HANDLERS,
    overlay.DRAWING,
    move_part,
    cast(Attachable, play_results),  # a module shows a checker of types only what its __all__ names
    lifted.HANDLERS,
    preview.HANDLERS,
    reshaping.HANDLERS,
    proposing.HANDLERS,
    settled.HANDLERS,
    renewal.HANDLERS,
    as_saved.HANDLERS,
    scale.HANDLERS,
    lost_walls.HANDLERS,
    presets,
    samples.HANDLERS,
    dropped.HANDLERS,
)


def register() -> None:
    """Make everything known to the host."""
    for known in _CLASSES:
        bpy.utils.register_class(known)
    for attached in _ATTACHED:
        attached.attach()
    bpy.utils.register_manual_map(help.manual)


def unregister() -> None:
    """Take everything back, in reverse."""
    bpy.utils.unregister_manual_map(help.manual)
    for attached in reversed(_ATTACHED):
        attached.detach()
    for known in reversed(_CLASSES):
        bpy.utils.unregister_class(known)
