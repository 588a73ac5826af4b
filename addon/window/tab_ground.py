"""A ground behind our tab: its words lie over whatever stands in the view, and the host gives none without a header."""

from __future__ import annotations

import bpy
from bpy.types import Area, Region, Theme

from .lettering import Colour, draw_plate, ink_on

__all__ = ["draw", "ground_for", "letters_of", "place_of"]

#: A sidebar that is shut down to its tabs is narrower than this, px at interface scale 1.
_ONLY_TABS = 60.0

#: The ground behind light letters and behind dark ones, and how little of the view shows through.
_DARK: Colour = (0.16, 0.16, 0.16)
_PALE: Colour = (0.80, 0.80, 0.80)
_COVERS = 0.9


def place_of(area: Area, view: Region, ui: float) -> tuple[float, float, float, float] | None:
    """Return left, low, right and high of the sidebar, px in ``view``; None where it does not show our tab over it.

    ui: scale of the interface.
    """
    sidebar = next((region for region in area.regions if region.type == "UI"), None)
    if sidebar is None or sidebar.width < _ONLY_TABS * ui or sidebar.x >= view.x + view.width:
        return None
    if getattr(sidebar, "active_panel_category", "") != "Stowfold":
        return None
    left, low = sidebar.x - view.x, sidebar.y - view.y
    return float(left), float(low), float(left + sidebar.width), float(low + sidebar.height)


def letters_of(theme: Theme) -> Colour:
    """Return the colour in which the host writes words in panels."""
    # from 5.0 on panels of all editors have one colour
    everywhere = getattr(theme.user_interface, "panel_text", None)
    red, green, blue = (theme.view_3d.space.text if everywhere is None else everywhere)[:3]
    return red, green, blue


def ground_for(letters: Colour) -> Colour:
    """Return the ground on which letters of a colour are read.

    >>> ground_for((0.9, 0.9, 0.9)) == _DARK, ground_for((0.0, 0.0, 0.0)) == _PALE
    (True, True)
    """
    return _DARK if ink_on(letters) == (0.0, 0.0, 0.0) else _PALE


def draw() -> None:
    """Draw the ground into the view that is being drawn."""
    context = bpy.context
    place = place_of(context.area, context.region, context.preferences.system.ui_scale)
    if place is not None and context.space_data.show_region_ui:
        draw_plate(*place, colour=ground_for(letters_of(context.preferences.themes[0])), covers=_COVERS)
