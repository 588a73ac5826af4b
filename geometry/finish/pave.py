"""Paving: a finish on the floor, counted from the corner where squares begin, and off slots and engraved squares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..joints.floor import Room
from ..part import Dressing, Part, frozen
from .draw import draw
from .finish import Finish
from .lines import clip, ordered, pack
from .surface import Surface

__all__ = ["pave"]

#: What lines of a pattern keep from the engraved squares, mm: beside them they would burn one broad line (common
#: practice, no source).
_OFF_SQUARES = 0.6


def pave(parts: Sequence[Part], rooms: Mapping[str, Room], name: str, finish: Finish) -> tuple[Part, ...]:
    """Return floors with the lines of a finish in their rooms. rooms: by the id of the part.

    name: of the finish. Parts of one room go on with each other.
    """
    return tuple(_paved(part, rooms[part.id], name, finish) if part.id in rooms else part for part in parts)


def _paved(part: Part, room: Room, name: str, finish: Finish) -> Part:
    """Return one floor with its lines; squares that are engraved stay whole."""
    low = part.panels[0].stands.origin[:2]
    bare = shapely.intersection(room.area, shapely.transform(part.outline, lambda xy: xy + low))
    if bare.is_empty:
        return part
    corner = room.origin
    x0, y0, x1, y1 = (np.array(room.area.bounds).reshape(2, 2) - corner).reshape(4).tolist()
    pattern, _, _ = draw(finish, Surface((x0, y0, x1, y1), Polygon(), reach=y1))
    free = shapely.transform(bare.buffer(-finish.edge, join_style="mitre"), lambda xy: xy - low)
    if part.engrave:
        squares = shapely.multilinestrings([shapely.linestrings(line) for line in part.engrave])
        free = free.difference(squares.buffer(_OFF_SQUARES, cap_style="flat"))
    lines = clip([block + (corner - low) for block in pattern], free)
    if not lines:
        return part
    points, starts = pack(ordered(lines))
    return replace(part, dressings=(*part.dressings, Dressing(name, finish.way, frozen(points), starts)))
