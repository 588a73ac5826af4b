"""Caps: strips over parted lines of a roof and plates over the holes where bends meet, glued on outside.

Boards are cut square, so that a parted line stays open outside like a V, 2 t tan(angle / 2) wide seen from above; a cap
reaches over all of it. It is glued to one board alone, and the other one comes up from below, so that the roof folds as
before.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ..board.stock import Stock
from ..part import Part, PartKind, frozen
from ..pose import Pose
from ..settings import BuildSettings
from ..solid.facets import Facet, Facets, ShellKind
from ..solid.places import name_places
from ..solid.solid import Role
from ..tolerance import COPLANAR_ANGLE, SNAP
from ..unfold.peak_holes import hole_in_facet, peak_holes
from ..unfold.section import Sections, outward
from .carriers import upright_board
from .closing_line import ClosingLine, closing_line
from .taken import Taken

__all__ = ["make_caps"]

#: Width of a cap that is glued, the narrower one that is tried where there is no room, and how far a cap reaches beyond
#: what it covers, mm (common practice, no source).
_GLUED = (8.0, 5.0)
_BEYOND = 0.5

#: Scored lines end so far inside a cap, mm.
_INSET = 0.5

#: A cap shorter than this covers nothing worth gluing, mm; its ends are taken back in steps until it finds room.
_SHORTEST, _STEP, _STEPS = 15.0, 3.0, 12

#: A plate is glued over this area at least, mm^2, and reaches this far beyond its hole, one size after the other, mm.
_LEAST_AREA, _ROUND = 40.0, (3.0, 6.0)

#: A share of a hole in which no circle of this radius finds room gets no plate of its own, mm.
_LEAST_RADIUS = 0.5

#: Half of the greatest angle whose V a cap can cover: beyond it the cap would stand out farther than it is wide.
_SHARPEST = math.radians(60.0)


#: The facet that bears a cap, and what makes it.
_Try = tuple[int, Callable[[], Part]]


def make_caps(
    facets: Facets, sections: Sections, standing: Sequence[Part], settings: BuildSettings
) -> tuple[Part, ...]:
    """Cut a cap for every parted line and every hole at a peak of the roofs that has room for one.

    standing: all other parts. Caps keep clear of them, and of one another in the flat as well.
    """
    room = _Room(sections, Taken([part for part in standing if part.kind is not PartKind.FLOOR], settings))
    made: list[Part] = []
    names = name_places(facets).facets
    # strips can give way at their ends, plates cannot
    for point, width in peak_holes(facets, sections).items():
        around = [facet for facet in facets.facets if point in facet.rings[0] and _is_roof(facets, facet)]
        plate = room.first_free(
            _plates(facets, sections, around, facets.points[point], width, settings, f"CAP{len(made) + 1}", names)
        )
        made += plate
        if plate and point not in peak_holes(facets, sections, made):
            continue
        # beside a valley a plate would stand in the other slope: every slope gets a plate over its own share
        for facet in around:
            made += room.first_free(
                _plates_of_slope(facets, sections, facet, point, room, settings, f"CAP{len(made) + 1}", names)
            )
    for line in _open_lines(facets, sections, settings):
        made += room.first_free(_strips(line, settings.roof, f"CAP{len(made) + 1}", names))
    return tuple(made)


class _Room:
    """The room that caps find: on the standing building, and on the flat sections that bear them."""

    def __init__(self, sections: Sections, taken: Taken) -> None:
        self._taken = taken
        self._bearing = {
            panel.facet: (part.id, panel.stands) for part in sections.parts for panel in part.panels if panel.facet >= 0
        }
        self._flat: dict[str, list[Polygon]] = {}

    def between(self, stands: Pose, low: float, high: float) -> shapely.Geometry:
        """Return what stands between two planes; see ``Taken.between``."""
        return self._taken.between(stands, low, high)

    def glued_on(self, facet: Facet) -> shapely.Geometry:
        """Return the caps on the flat section that bears a facet, in the facet's plane, mm."""
        bearer, stands = self._bearing[facet.id]
        flats = [np.asarray(flat.exterior.coords) for flat in self._flat.get(bearer, ())]
        lifted = [np.column_stack([flat, np.zeros(len(flat))]) for flat in flats]
        return shapely.union_all([Polygon(facet.frame.flatten(stands.apply(flat))) for flat in lifted])

    def first_free(self, tries: Iterable[_Try]) -> tuple[Part, ...]:
        """Return the first cap that finds room, and take that room."""
        for facet, make in tries:
            part = make()
            bearer, stands = self._bearing[facet]
            flat = Polygon(stands.back(part.panels[0].stands.apply(part.panels[0].ring))[:, :2])
            beside = self._flat.setdefault(bearer, [])
            if all(flat.distance(other) > _BEYOND for other in beside) and self._taken.is_free((part,)):
                self._taken.take((part,))
                beside.append(flat)
                return (part,)
        return ()


def _is_roof(facets: Facets, facet: Facet) -> bool:
    shell = facets.shell_of(facet)
    return shell.kind is ShellKind.ROOF and not shell.stands_on


def _open_lines(facets: Facets, sections: Sections, settings: BuildSettings) -> list[ClosingLine]:
    """Return the parted lines of roofs that stay open outside."""
    bent = set(sections.hinges.edges)
    lines = []
    for edge in facets.edges:
        if edge.right is None or edge.id in bent or edge.role is Role.BREAK or not _is_roof(facets, facets.left(edge)):
            continue
        line = closing_line(facets, sections, edge, settings)
        if line is not None and COPLANAR_ANGLE < line.angle <= 2.0 * _SHARPEST:
            lines.append(line)
    return lines


def _strips(line: ClosingLine, stock: Stock, name: str, names: Mapping[int, str]) -> list[_Try]:
    """Return what makes strips along a line, in the order in which they are wanted: the longest first."""
    assert line.edge.right is not None
    facets = (line.edge.left, line.edge.right)
    wanted: list[tuple[float, _Try]] = []
    for width in _GLUED:
        for side in (0, 1):
            low, high = _longest_stretch(line.panels[side], line.length, width)
            for back in range(_STEPS):
                for start, end in ((back, back), (back, 0), (0, back)):
                    ends = (low + start * _STEP, high - end * _STEP)
                    if ends[1] - ends[0] >= _SHORTEST:
                        strip = _strip_at(line, stock, name, side, width, ends, names[facets[side]])
                        wanted.append((ends[1] - ends[0], (facets[side], strip)))
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
    """Return what makes a strip whose glued face lies up on the laser, with the edge of its board scored on it."""

    def make() -> Part:
        turn = 2.0 * side - 1.0
        over = 2.0 * stock.thickness * math.tan(line.angle / 2.0) + _BEYOND
        low, high = sorted(turn * end for end in ends)
        out = line.out[side]
        stands = Pose.of(turn * line.along, line.into[side], -out, line.start + 2.0 * stock.thickness * out)
        note = (
            f"Glue it flat on the outside of the {bearer} ({line.parts[side]}) alone, its scored line on that board's "
            f"edge, {ends[0]:.1f} mm from the end of the parted line that is left as seen from the room."
        )
        outline = shapely.box(low, -over, high, width)
        edge = np.array([(low + _INSET, 0.0), (high - _INSET, 0.0)])
        return _cap(name, "Roof cap", stock, outline, stands, note, (edge,))

    return make


def _cap(
    name: str, words: str, stock: Stock, outline: Polygon, stands: Pose, note: str, lines: Sequence[np.ndarray]
) -> Part:
    """Return a cap; outline and scored lines in the plane of ``stands``, whose z points to the roof."""
    corner = np.array(outline.bounds[:2])
    cap = upright_board(name, f"{words} {name[3:]}", PartKind.CAP, stock, outline, stands, note)
    return replace(cap, score=tuple(frozen(line - corner) for line in lines))


def _plates(
    facets: Facets,
    sections: Sections,
    around: Sequence[Facet],
    point: np.ndarray,
    width: float,
    settings: BuildSettings,
    name: str,
    names: Mapping[int, str],
) -> list[_Try]:
    """Return what makes plates over a hole, the one wanted most first; point: where its bends would meet."""
    wanted: list[tuple[float, _Try]] = []
    for more in _ROUND:
        for facet in around:
            if facet.id not in sections.part_of:
                continue
            middle = facet.frame.flatten(point[None])[0]
            moved = sections.setbacks.facets[facet.id].rings
            disc = Point(middle).buffer(width / 2.0 + more, quad_segs=4)
            held = disc.intersection(Polygon(moved[0].points, [ring.points for ring in moved[1:]]))
            if held.area >= _LEAST_AREA:
                bearer = f"{names[facet.id]} ({sections.part_of[facet.id]})"
                plate = _plate_on(facets, facet, disc, held, settings, name, bearer)
                wanted.append((held.area - 1e3 * more, (facet.id, plate)))
    return [cap for _, cap in sorted(wanted, key=lambda entry: -round(entry[0], 3))]


def _plates_of_slope(
    facets: Facets,
    sections: Sections,
    facet: Facet,
    point: int,
    room: _Room,
    settings: BuildSettings,
    name: str,
    names: Mapping[int, str],
) -> list[_Try]:
    """Return what makes plates over what is open of one slope at a point, the larger first.

    They end where another board stands in their way, or a little beyond the slope.
    """
    if facet.id not in sections.part_of:
        return []
    hole = _largest(hole_in_facet(facets, sections, facet, point))
    if hole.buffer(-_LEAST_RADIUS).is_empty:
        return []
    flat = facet.frame.flatten
    panels = [panel for part in sections.parts for panel in part.panels if panel.facet == facet.id]
    board = shapely.union_all([Polygon(flat(panel.stands.apply(panel.ring))) for panel in panels])
    thickness = settings.roof.thickness
    low = thickness if outward(facets, facet, settings) > 0 else -thickness
    taken = room.between(Pose.of(facet.frame.u, facet.frame.v, facet.frame.n, facet.frame.origin), low, low + thickness)
    taken = shapely.union_all([taken, room.glued_on(facet).buffer(_BEYOND)])
    bearer = f"{names[facet.id]} ({sections.part_of[facet.id]})"
    tries: list[_Try] = []
    for more in reversed(_ROUND):
        plate = hole.buffer(more, join_style="mitre", mitre_limit=1.5)
        plate = _largest(plate.difference(taken.buffer(_BEYOND, join_style="mitre")))
        held = plate.intersection(board)
        if held.area >= _LEAST_AREA:
            tries.append((facet.id, _plate_on(facets, facet, plate, held, settings, name, bearer)))
    return tries


def _largest(shape: shapely.Geometry) -> Polygon:
    pieces = [piece for piece in shapely.get_parts(shape) if isinstance(piece, Polygon)]
    return max(pieces, key=lambda piece: piece.area, default=Polygon())


def _plate_on(
    facets: Facets, facet: Facet, disc: Polygon, held: Polygon, settings: BuildSettings, name: str, bearer: str
) -> Callable[[], Part]:
    """Return what makes a plate whose glued face lies up on the laser, with the edge of its board scored on it."""

    def make() -> Part:
        frame, side, stock = facet.frame, outward(facets, facet, settings), settings.roof
        height = 2.0 * stock.thickness if side > 0 else -stock.thickness
        stands = Pose.of(-side * frame.u, frame.v, -side * frame.n, frame.origin + frame.n * height)
        mirrored = np.array([-side, 1.0])
        note = (
            f"Glue it flat on the outside of the {bearer} alone, over the hole where bends meet, its scored line on "
            "that board's edge."
        )
        edge = shapely.intersection(held.boundary, disc.buffer(-_INSET))
        lines = [shapely.get_coordinates(line) * mirrored for line in shapely.get_parts(shapely.line_merge(edge))]
        outline = shapely.transform(disc, lambda points: points * mirrored)
        return _cap(name, "Peak cap", stock, outline, stands, note, [line for line in lines if len(line) > 1])

    return make
