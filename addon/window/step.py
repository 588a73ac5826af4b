"""What all panels of our tab share. Panels only show; nothing here computes."""

from __future__ import annotations

from bpy.types import UILayout


class Step:
    """A panel of the tab; its place follows from the order in which classes are registered."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Stowfold"

    layout: UILayout

    def settings_layout(self) -> UILayout:
        """Return a column of fields with their names beside them."""
        layout = self.layout
        layout.use_property_split = True
        layout.use_property_decorate = False
        return layout.column()
