"""Gussets: plates across a parted line, their upper edge cut to the angle of both boards, where all else lacks room.

A gusset needs no more of the line than a board is thick. One arm is glued on edge under either board. Where both
boards are held to each other elsewhere, it is glued to one of them alone and carries the other one like a lap.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import Part, PartKind
from ..pose import Pose
from ..settings import BuildSettings
from .carriers import upright_board
from .closing_line import ClosingLine
from .taken import Taken

__all__ = ["is_gusset", "place_gusset"]

#: Lengths of the arms that are tried, from the line, mm (common practice, no source).
_ARMS = (12.0, 9.0, 6.0)

#: An arm that is not glued is so much shorter, so that its board finds its way over it, mm.
_SHORTER = 1.5

#: Least depth of a gusset below the line, and below the ends of its arms, mm (common practice, no source).
_DEEP, _TIP = 6.0, 2.0


def is_gusset(part: Part) -> bool:
    """Return whether a part is a plate across a parted line."""
    return part.kind is PartKind.LAP and part.id.endswith("-gusset")


def place_gusset(
    line: ClosingLine, settings: BuildSettings, name: str, taken: Taken, *, glued: bool
) -> tuple[Part, ...]:
    """Return the largest gusset that finds room, as near to the middle of the line as it does, and take that room.

    glued: to both boards, so that they are put together once; else to one of them, and the other comes to rest on it.
    """
    for arm in _ARMS:
        for side in (0, 1):

            def make(at: float, air: float, arm: float = arm, side: int = side) -> tuple[Part, ...]:
                return _gusset(line, settings, name, at, arm, side, air, glued=glued)

            found = taken.nearest(line.length, line.length / 2, make)
            if found:
                return found
            if glued:
                break  # both sides are alike
    return ()


def _gusset(
    line: ClosingLine, settings: BuildSettings, name: str, at: float, arm: float, side: int, air: float, *, glued: bool
) -> tuple[Part, ...]:
    """Return a gusset with its middle ``at`` mm along the line, or nothing where boards end.

    side: of the board that it is glued to at any rate. ``air`` makes it larger all round, to try a place. In a valley
    boards stop short of the line: the outer half of each arm lies on board, the inner half may lie on none.
    """
    stock, half = settings.joiners, line.angle / 2
    arms = [arm if glued or k == side else arm - _SHORTER for k in (0, 1)]
    near, far = at - stock.thickness / 2 - air, at + stock.thickness / 2 + air
    for panel, reach in zip(line.panels, arms, strict=True):
        if not panel.contains(shapely.box(near, reach / 2, far, reach + air)):
            return ()
    tips = [np.array([math.cos(half), math.sin(half)]) * (reach + air) for reach in arms]
    low = max(_DEEP, *(float(tip[1]) + _TIP for tip in tips)) + air
    (left, left_depth), (right, right_depth) = tips
    ring = [(0.0, 0.0), (-left, -left_depth), (-left, -low), (right, -low), (right, -right_depth)]
    # x across the line, y out of the room, z along the line
    x, y = line.across, -line.down
    z = np.cross(x, y)
    stands = Pose.of(x, y, z, line.start + line.along * at - z * (stock.thickness / 2 + air))
    one, two = line.parts[side], line.parts[1 - side]
    where = f"{at:.1f} mm from the end of the line that is left as seen from the room"
    note = (
        f"Put together once: glue it on edge under {one} and {two}, across their line, its middle {where}. The two do "
        "not come apart again."
        if glued
        else f"Glue its longer arm on edge under {one}, across the line to {two}, its middle {where}; {two} comes to "
        "rest on the other arm, which stays bare."
    )
    label = f"Gusset {name}"
    made = upright_board(f"{name}-gusset", label, PartKind.LAP, stock, Polygon(ring), stands, note)
    return (replace(made, thickness=stock.thickness + 2 * air) if air else made,)
