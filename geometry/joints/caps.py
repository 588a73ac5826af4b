"""Caps: strips over parted lines of a roof and plates over the holes where bends meet, glued on outside.

Boards are cut square, so that a parted line stays open outside like a V, 2 t tan(angle / 2) wide seen from above; a cap
reaches over all of it. It is glued to one board alone, and the other one comes up from below, so that the roof folds as
before.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..board.stock import Stock
from ..part import Part, PartKind
from ..pose import Pose
from ..settings import BuildSettings
from ..solid.facets import Facets
from ..solid.places import name_places
from ..solid.solid import Role
from ..tolerance import COPLANAR_ANGLE, SNAP
from ..unfold.peak_holes import peak_holes
from ..unfold.section import Sections
from .cap import BEYOND, INSET, CapRoom, CapTry, cut_cap
from .cap_plates import Slopes, is_of_roof, plates_of_slope, plates_over
from .closing_line import ClosingLine, closing_line
from .taken import Taken

__all__ = ["make_caps"]

#: Width of a strip that is glued, and the narrower one that is tried where there is no room, mm (common practice, no
#: source).
_GLUED = (8.0, 5.0)

#: A cap shorter than this covers nothing worth gluing, mm; its ends are taken back in steps until it finds room.
_SHORTEST, _STEP, _STEPS = 15.0, 3.0, 12

#: Half of the greatest angle whose V a cap can cover: beyond it the cap would stand out farther than it is wide.
_SHARPEST = math.radians(60.0)


def make_caps(
    facets: Facets, sections: Sections, standing: Sequence[Part], settings: BuildSettings
) -> tuple[Part, ...]:
    """Cut a cap for every parted line and every hole at a peak of the roofs that has room for one.

    standing: all other parts. Caps keep clear of them, and of one another in the flat as well.
    """
    room = CapRoom(sections, Taken([part for part in standing if part.kind is not PartKind.FLOOR], settings))
    names = name_places(facets).facets
    # strips can give way at their ends, plates cannot
    made = _make_plates(Slopes.of(facets, sections, settings, names), room)
    for line in _open_lines(facets, sections, settings):
        made += room.first_free(_strips(line, settings.roof, f"CAP{len(made) + 1}", names))
    return tuple(made)


def _make_plates(slopes: Slopes, room: CapRoom) -> list[Part]:
    """Cut the plates over all holes that find room."""
    made: list[Part] = []
    for point, width in peak_holes(slopes.facets, slopes.sections).items():
        whole = room.first_free(plates_over(slopes, point, width, f"CAP{len(made) + 1}"))
        made += whole
        if whole and point not in peak_holes(slopes.facets, slopes.sections, made):
            continue
        # beside a valley a plate would stand in the other slope: every slope gets a plate over its own share
        for facet in slopes.around(point):
            made += room.first_free(plates_of_slope(slopes, facet, point, room, f"CAP{len(made) + 1}"))
    return made


def _open_lines(facets: Facets, sections: Sections, settings: BuildSettings) -> list[ClosingLine]:
    """Return the parted lines of roofs that stay open outside."""
    bent = set(sections.hinges.edges)
    lines = []
    for edge in facets.edges:
        if (
            edge.right is None
            or edge.id in bent
            or edge.role is Role.BREAK
            or not is_of_roof(facets, facets.left(edge))
        ):
            continue
        line = closing_line(facets, sections, edge, settings)
        if line is not None and COPLANAR_ANGLE < line.angle <= 2.0 * _SHARPEST:
            lines.append(line)
    return lines


def _strips(line: ClosingLine, stock: Stock, name: str, names: Mapping[int, str]) -> list[CapTry]:
    """Return strips along a line in the order in which they are wanted: the longest first."""
    assert line.edge.right is not None
    facets = (line.edge.left, line.edge.right)
    wanted: list[tuple[float, CapTry]] = []
    for width in _GLUED:
        for side in (0, 1):
            low, high = _longest_stretch(line.panels[side], line.length, width)
            for back in range(_STEPS):
                for start, end in ((back, back), (back, 0), (0, back)):
                    ends = (low + start * _STEP, high - end * _STEP)
                    if ends[1] - ends[0] >= _SHORTEST:
                        strip = _strip_at(line, stock, name, side, width, ends, names[facets[side]])
                        wanted.append((ends[1] - ends[0], CapTry(facets[side], strip)))
    return [cap for _, cap in sorted(wanted, key=lambda entry: -round(entry[0], 3))]


def _longest_stretch(panel: Polygon, length: float, width: float) -> tuple[float, float]:
    """Return from where to where along a line a board is at least so wide beside it, mm."""
    gone = shapely.box(0.0, SNAP, length, width).difference(panel)
    ends = [0.0, *(x for piece in shapely.get_parts(gone) for x in (piece.bounds[0], piece.bounds[2])), length]
    blocked = [(piece.bounds[0], piece.bounds[2]) for piece in shapely.get_parts(gone) if not piece.is_empty]
    free = [
        (a, b)
        for a in ends
        for b in ends
        if a < b and not any(low < b - SNAP and high > a + SNAP for low, high in blocked)
    ]
    return max(free, key=lambda stretch: stretch[1] - stretch[0], default=(0.0, 0.0))


def _strip_at(
    line: ClosingLine, stock: Stock, name: str, side: int, width: float, ends: tuple[float, float], bearer: str
) -> Callable[[], Part]:
    """Return what cuts a strip whose glued face lies up on the laser, with the edge of its board scored on it."""

    def cut() -> Part:
        turn = 2.0 * side - 1.0
        over = 2.0 * stock.thickness * math.tan(line.angle / 2.0) + BEYOND
        low, high = sorted(turn * end for end in ends)
        out = line.out[side]
        stands = Pose.of(turn * line.along, line.into[side], -out, line.start + 2.0 * stock.thickness * out)
        note = (
            f"Glue it flat on the outside of the {bearer} ({line.parts[side]}) alone, its scored line on that board's "
            f"edge, {ends[0]:.1f} mm from the end of the parted line that is left as seen from the room."
        )
        outline = shapely.box(low, -over, high, width)
        edge = np.array([(low + INSET, 0.0), (high - INSET, 0.0)])
        return cut_cap(name, "Roof cap", stock, outline, stands, note, (edge,))

    return cut
