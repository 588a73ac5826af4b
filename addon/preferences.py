"""Preferences of the add-on, shown by the host where add-ons are switched on."""

from __future__ import annotations

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import AddonPreferences

from .host import stock_library
from .jobs import results
from .window import asset_library


def _changed(_preferences: AddonPreferences, _context: bpy.types.Context) -> None:
    results.suspect_all()


class StowfoldPreferences(AddonPreferences):
    """Where the maker's own stocks and lasers are kept; all other settings belong to a file."""

    bl_idname = __package__

    stock_folder: StringProperty(
        name="Own Stocks",
        description="Folder of your own stocks; where none is chosen, one that updates leave alone",
        subtype="DIR_PATH",
        update=_changed,
    )
    laser_folder: StringProperty(
        name="Own Lasers",
        description="Folder of your own lasers; where none is chosen, one that updates leave alone",
        subtype="DIR_PATH",
    )

    renew: BoolProperty(
        name="Check After Each Edit",
        description="Make parts and proof again as soon as the model rests; without it, the check is a click",
        default=True,
        update=_changed,
    )

    def draw(self, context: bpy.types.Context) -> None:
        column = self.layout.column()
        column.use_property_split = True
        column.prop(self, "renew")
        column.prop(self, "stock_folder")
        column.prop(self, "laser_folder")
        known = asset_library.known_library(context.preferences)
        operator = (
            asset_library.STOWFOLD_OT_remove_asset_library if known else asset_library.STOWFOLD_OT_add_asset_library
        )
        column.operator(operator.bl_idname, icon="ASSET_MANAGER")
        column.label(text=f"Own stocks are kept in {stock_library.path()}")
        trouble = stock_library.trouble()
        if trouble is not None:
            column.label(text=trouble, icon="ERROR")
        column.label(text="All other settings are saved with each file: sidebar of the 3D view, tab Stowfold")


CLASSES = (StowfoldPreferences,)
