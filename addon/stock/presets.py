"""Presets of lasers in the host's own preset menu: a few beds that come with the add-on, and the maker's own."""

from __future__ import annotations

from pathlib import Path

import bpy
from bl_operators.presets import AddPresetBase
from bl_ui.utils import PresetPanel
from bpy.types import Operator, Panel

__all__ = ["CLASSES", "STOWFOLD_PT_laser_presets", "attach", "detach"]

_FOLDER = "stowfold/laser"

_KEPT = ("bed_width", "bed_depth", "margin", "spacing", "own_kerf", "passes", "holds", "hold_length")
_SPEEDS = ("cut_speed", "slit_speed", "score_speed", "engrave_speed", "fill_speed", "pierce")
_COLOURS = ("fill_colour", "engrave_colour", "score_colour", "slits_colour", "inner_colour", "outer_colour")


class STOWFOLD_PT_laser_presets(PresetPanel, Panel):
    """Presets of lasers"""

    bl_label = "Laser Presets"
    preset_subdir = _FOLDER
    preset_operator = "script.execute_preset"
    preset_add_operator = "stowfold.laser_preset_add"


class STOWFOLD_OT_laser_preset_add(AddPresetBase, Operator):
    """Keep bed, speeds and colours as a preset, or remove one"""

    bl_idname = "stowfold.laser_preset_add"
    bl_label = "Add Laser Preset"
    preset_menu = "STOWFOLD_PT_laser_presets"
    preset_subdir = _FOLDER
    # whole paths: names of ``preset_defines`` are unknown to the host under some Pythons
    preset_values = [f"bpy.context.scene.stowfold.laser.{name}" for name in (*_KEPT, *_SPEEDS, *_COLOURS)]


CLASSES = (STOWFOLD_PT_laser_presets, STOWFOLD_OT_laser_preset_add)

#: The add-on's folder: its folder ``presets`` is searched with the maker's own.
_ADDON = str(Path(__file__).parents[1])


def attach() -> None:
    """Have the host search the presets that come with the add-on."""
    # Blender 4.2 knows no such folders: there the maker's own presets are offered alone
    if hasattr(bpy.utils, "register_preset_path"):
        bpy.utils.register_preset_path(_ADDON)


def detach() -> None:
    """Have it search them no more."""
    if hasattr(bpy.utils, "unregister_preset_path"):
        bpy.utils.unregister_preset_path(_ADDON)
