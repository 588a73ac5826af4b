"""Laps: a strip under a parted line between two boards in one plane, such as the halves of a slope."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import Part, PartKind
from ..pose import Pose
from ..settings import BuildSettings
from ..tolerance import COPLANAR_ANGLE
from .carriers import upright_board
from .closing_line import ClosingLine

__all__ = ["is_level", "make_lap"]

#: The resting half is this much shorter at each end, so that it finds its way under the board, mm.
_TAPER = 1.5


def is_level(line: ClosingLine) -> bool:
    """Return whether both boards of a closure lie in one plane, where a plain strip reaches under both."""
    return abs(line.angle) <= COPLANAR_ANGLE


def make_lap(
    line: ClosingLine, settings: BuildSettings, name: str, *, at: float, air: float = 0.0, side: int = 0
) -> tuple[Part, ...]:
    """Return the strip whose middle is ``at`` mm along the line, or nothing where the boards are too small for it.

    It fills the room-side of both faces: the half under ``side`` (0 or 1) is glued, the tapered other
    half carries. ``air`` makes it larger all round, to try a place.
    """
    closure, stock = settings.closure, settings.roof
    half, reach = closure.lap_length / 2 + air, closure.lap_width + air
    if not all(panel.contains(shapely.box(at - half, air, at + half, reach)) for panel in line.panels):
        return ()
    taper = 0.0 if air else _TAPER
    ring = np.array(
        [(-half, -reach), (half, -reach), (half, 0.0), (half - taper, reach), (taper - half, reach), (-half, 0.0)]
    )
    # x along the line, y from the glued board to the free one, z into the room
    x, y = (1.0 - 2.0 * side) * line.along, (1.0 - 2.0 * side) * line.across
    stands = Pose.of(x, y, line.down, line.start + line.along * at)
    glued, free = line.parts[side], line.parts[1 - side]
    note = (
        f"Glue the half of its width without slanted ends flat under {glued}, {at - half:.1f} mm from the end of the "
        f"closure that is left as seen from the room; the other half stays bare and reaches under {free}."
    )
    label = f"Lap {name[1:]}"
    return (upright_board(name, label, PartKind.LAP, stock, Polygon(ring), stands, note),)
