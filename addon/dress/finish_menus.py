"""Menus of finishes: those that suit walls, roof, floor or selected faces, the maker's own, and bare board."""

from __future__ import annotations

from collections.abc import Iterable

import bpy
from bpy.types import Context, Menu, UILayout

from ..geometry.finish.finish import Pattern
from ..host.finishes import is_finish
from .fields import PATTERNS
from .operators.finishes import (
    STOWFOLD_OT_add_finish,
    STOWFOLD_OT_choose_finish,
    STOWFOLD_OT_remove_finish,
    STOWFOLD_OT_reuse_finish,
)
from .operators.own_finishes import draw_own_finishes
from .putting import ROOF_PATTERNS

__all__ = ["CLASSES", "FLOOR_PATTERNS"]

#: Patterns that are laid on floors.
FLOOR_PATTERNS = frozenset({Pattern.FLAGSTONES, Pattern.CHEQUER, Pattern.BASKET, Pattern.HERRINGBONE})

#: What is seen on walls indoors and out, and shingles and slates hung on them.
_WALL_PATTERNS = frozenset(Pattern) - FLOOR_PATTERNS - {Pattern.PANTILES, Pattern.THATCH}

#: Boards are laid on floors too, and nailed on roofs.
_BOARDS = frozenset({Pattern.UPRIGHT_BOARDS, Pattern.LEVEL_BOARDS})


class STOWFOLD_MT_wall_finishes(Menu):
    """Give all walls a finish"""

    bl_idname = "STOWFOLD_MT_wall_finishes"
    bl_label = "Walls"

    def draw(self, _context: Context) -> None:
        _draw_on_faces(self.layout, "WALLS", _WALL_PATTERNS)


class STOWFOLD_MT_roof_finishes(Menu):
    """Give the whole roof a finish"""

    bl_idname = "STOWFOLD_MT_roof_finishes"
    bl_label = "Roof"

    def draw(self, _context: Context) -> None:
        _draw_on_faces(self.layout, "ROOF", ROOF_PATTERNS | _BOARDS)


class STOWFOLD_MT_face_finishes(Menu):
    """Give the selected faces a finish"""

    bl_idname = "STOWFOLD_MT_face_finishes"
    bl_label = "Selected Faces"

    def draw(self, _context: Context) -> None:
        _draw_on_faces(self.layout, "FITTING", frozenset(Pattern))


class STOWFOLD_MT_floor_finishes(Menu):
    """Give the floor a finish"""

    bl_idname = "STOWFOLD_MT_floor_finishes"
    bl_label = "Choose Floor"

    def draw(self, _context: Context) -> None:
        _draw_on_place(self.layout, "FLOOR", FLOOR_PATTERNS | _BOARDS)


class STOWFOLD_MT_room_finishes(Menu):
    """Give the room side of walls that bear nothing outside a finish"""

    bl_idname = "STOWFOLD_MT_room_finishes"
    bl_label = "Choose Room Side"

    def draw(self, _context: Context) -> None:
        _draw_on_place(self.layout, "ROOM", _WALL_PATTERNS)


def _draw_on_faces(layout: UILayout, on: str, patterns: Iterable[Pattern]) -> None:
    """Draw finishes for faces of the building. on: which faces in Object Mode."""
    for name, label in _in_order(patterns):
        button = layout.operator(STOWFOLD_OT_add_finish.bl_idname, text=label)
        button.pattern, button.on = name, on
    layout.separator()
    draw_own_finishes(layout, on=on)
    layout.operator(STOWFOLD_OT_remove_finish.bl_idname).on = on


def _draw_on_place(layout: UILayout, on: str, patterns: Iterable[Pattern]) -> None:
    """Draw finishes for the floor or the room side: new ones, those of the file, the maker's own, and none."""
    for name, label in _in_order(patterns):
        button = layout.operator(STOWFOLD_OT_choose_finish.bl_idname, text=label)
        button.pattern, button.on = name, on
    layout.separator()
    for material in filter(is_finish, bpy.data.materials):
        button = layout.operator(STOWFOLD_OT_reuse_finish.bl_idname, text=f"As {material.name}")
        button.material, button.on = material.name, on
    draw_own_finishes(layout, on=on)
    button = layout.operator(STOWFOLD_OT_reuse_finish.bl_idname, text="Bare Board")
    button.material, button.on = "", on


def _in_order(patterns: Iterable[Pattern]) -> list[tuple[str, str]]:
    """Return name and label of some patterns in the order of all."""
    names = {pattern.name for pattern in patterns}
    return [(name, label) for name, label, _, _ in PATTERNS if name in names]


CLASSES = (
    STOWFOLD_MT_wall_finishes,
    STOWFOLD_MT_roof_finishes,
    STOWFOLD_MT_face_finishes,
    STOWFOLD_MT_floor_finishes,
    STOWFOLD_MT_room_finishes,
)
