"""Preferences of the add-on, shown by the host where add-ons are switched on."""

from __future__ import annotations

from bpy.types import AddonPreferences


class StowfoldPreferences(AddonPreferences):
    """Says where the settings are; there are none that do not belong to a file."""

    bl_idname = __package__

    def draw(self, _context: object) -> None:
        self.layout.label(text="Settings are saved with each file: sidebar of the 3D view, tab Stowfold")


CLASSES = (StowfoldPreferences,)
