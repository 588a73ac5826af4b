"""Own preferences: what the maker chose for the add-on, whatever package name the host gave to it."""

from __future__ import annotations

import sys
from typing import Any

__all__ = ["own_preferences"]

#: The add-on's own package; this module lies in a room of it.
_ADDON = (__package__ or "").rpartition(".")[0]


def own_preferences() -> Any:
    """Return the preferences of the add-on; None where it is not switched on, as in tests and without Blender."""
    bpy = sys.modules.get("bpy")
    addon = bpy.context.preferences.addons.get(_ADDON) if bpy is not None else None
    return addon.preferences if addon is not None else None
