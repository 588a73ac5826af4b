"""What the maker fixes of hinges: its fields in the scene, and the wishes that they come to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..geometry.board.wishes import Cut, HingeWishes
from .lengths import as_typed

if TYPE_CHECKING:
    from bpy.types import PropertyGroup

__all__ = ["FIXED", "wishes_of"]

#: What can be fixed of hinges beside the inside radius: field, label, tooltip, value to start from.
FIXED = (
    ("zone_width", "Zone Width", "At most so wide across the bend", 25.0),
    ("slit", "Slit Length", "About so long; slits fill the bend's length exactly", 30.0),
    ("bridge", "Bridge", "Uncut web between two slits of a row", 3.0),
    ("link_width", "Link Width", "Strip between two rows, which twists", 1.0),
    ("opening", "Opening", "Width of a slit; no wider than the kerf is one pass of the laser", 0.4),
)


def wishes_of(fields: PropertyGroup) -> HingeWishes:
    """Return what is fixed of hinges, mm; the inside radius is a setting of its own."""
    sizes = {name: as_typed(getattr(fields, name)) for name, *_ in FIXED if getattr(fields, f"use_{name}")}
    return HingeWishes(**sizes, cut=Cut(fields.cut.lower()))
