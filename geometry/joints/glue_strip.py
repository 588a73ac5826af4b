"""Glue strips: where no joint that a hand can open again finds room, a strip glued into the corner holds both boards.

It lies flat on the room side of one board, its long edge along the parted line, and both boards are glued to it:
flat to the one, edge to the other. Such an edge is put together once; what it joins does not fold flat again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import Part, PartKind
from ..pose import Pose
from ..settings import BuildSettings
from ..tolerance import COPLANAR_ANGLE, LENGTH
from .carriers import upright_board
from .closing_line import ClosingLine
from .taken import Taken

__all__ = ["is_glue_strip", "place_glue_strip"]

#: Length along the line and width on the board, mm.
_Size = tuple[float, float]

#: Width of a strip on its board, and the narrower one that is tried where there is no room for it, mm (common
#: practice, no source).
_WIDTHS = (8.0, 5.0)

#: Lengths to try, as shares of the line, with the shortest that is worth gluing, mm (common practice, no source).
_SHARES = (0.75, 0.5, 0.3, 0.15)
_SHORTEST = 8.0

#: A longer strip holds no better than one of this length, mm (common practice, no source).
_LONGEST = 80.0


def is_glue_strip(part: Part) -> bool:
    """Return whether a part is glued to two boards, which then are put together once."""
    return part.kind is PartKind.LAP and part.id.startswith("G")


def place_glue_strip(line: ClosingLine, settings: BuildSettings, name: str, taken: Taken) -> tuple[Part, ...]:
    """Return the longest strip that finds room near the middle of the line, and take that room; or nothing.

    Only where the boards turn away from each other's outside is there a corner to glue a strip into.
    """
    if line.angle <= COPLANAR_ANGLE:
        return ()
    for length, width, side in _sizes(line.length):

        def make(at: float, air: float, size: _Size = (length, width), side: int = side) -> tuple[Part, ...]:
            return _strip(line, settings, name, at, size, side, air)

        found = taken.nearest(line.length, line.length / 2, make)
        if found:
            return found
    return ()


def _sizes(line: float) -> Iterator[tuple[float, float, int]]:
    """Yield (length, width, side) of strips for a line, mm, the longest first."""
    lengths = [min(share * line, _LONGEST) for share in _SHARES]
    for length in dict.fromkeys(length for length in lengths if length >= _SHORTEST):
        for width in _WIDTHS:
            for side in (0, 1):
                yield length, width, side


def _strip(
    line: ClosingLine,
    settings: BuildSettings,
    name: str,
    at: float,
    size: _Size,
    side: int,
    air: float,
) -> tuple[Part, ...]:
    """Return a strip under board ``side`` with its middle ``at`` mm along the line, or nothing where boards end.

    In a corner sharper than a right angle its lower edge would run into the other board, so it lies farther off:
    thickness / tan(corner). ``air`` makes it larger at its ends and away from the line, to try a place.
    """
    stock = settings.joiners
    corner = math.pi - line.angle
    off = stock.thickness / math.tan(corner) if corner < math.pi / 2 else 0.0
    half, far = size[0] / 2 + air, off + size[1] + air
    if not line.panels[side].contains(shapely.box(at - half, off, at + half, far)):
        return ()
    # what the edge of the strip is glued to must be there as well
    touched = off / math.cos(corner) if off > 0.0 else stock.thickness
    if not line.panels[1 - side].contains(shapely.box(at - half, LENGTH, at + half, touched)):
        return ()
    # x, y, and z into the room
    x, y = (2.0 * side - 1.0) * line.along, line.into[side]
    ring = np.array([(-half, off), (half, off), (half, far), (-half, far)])
    stands = Pose.of(x, y, np.cross(x, y), line.start + line.along * at)
    glued, other = line.parts[side], line.parts[1 - side]
    where = f"{at - size[0] / 2:.1f} mm from the end of the line that is left as seen from the room"
    note = (
        f"Put together once, with all bends closed: glue it flat inside {glued}, {where}, its long edge "
        + (f"{off:.1f} mm off the line where {glued} meets {other}" if off else f"along the line to {other}")
        + f"; then glue {other} to that edge. The two do not come apart again."
    )
    return (upright_board(name, f"Glue strip {name[1:]}", PartKind.LAP, stock, Polygon(ring), stands, note),)
