"""Plates: caps over the holes where bends meet, one for all slopes round a point or one for each of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ..part import Part
from ..polygons import largest_polygon
from ..pose import Pose
from ..settings import BuildSettings
from ..solid.facets import Facet, Facets, ShellKind
from ..unfold.peak_holes import hole_in_facet, hole_reaches
from ..unfold.section import Sections, outward
from .cap import BEYOND, INSET, CapRoom, CapTry, cut_cap

__all__ = ["Slopes", "is_of_roof", "plates_of_slope", "plates_over"]

#: A plate is glued over this area at least, mm^2, and reaches this far beyond its hole, one size after the other, mm.
_LEAST_AREA, _ROUND = 40.0, (3.0, 6.0)

#: A share of a hole in which no circle of this radius finds room gets no plate of its own, mm.
_LEAST_RADIUS = 0.5

#: What a plate that reaches 1 mm farther must gain in area to be wanted more, mm^2: more than it ever gains.
_RATHER_SMALL = 1e3


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """The slopes that bear plates.

    names: what the maker calls a facet; reaches: how far round a point its hole is looked for, mm.
    """

    facets: Facets
    sections: Sections
    settings: BuildSettings
    names: Mapping[int, str]
    reaches: Mapping[int, float]

    @classmethod
    def of(cls, facets: Facets, sections: Sections, settings: BuildSettings, names: Mapping[int, str]) -> Slopes:
        """Return the slopes of these sections."""
        return cls(facets, sections, settings, names, hole_reaches(facets, sections))

    def around(self, point: int) -> list[Facet]:
        """Return the slopes of roofs that meet in a point and are cut."""
        return [
            facet
            for facet in self.facets.facets
            if point in facet.rings[0] and is_of_roof(self.facets, facet) and facet.id in self.sections.part_of
        ]

    def board(self, facet: Facet) -> shapely.Geometry:
        """Return the board of a slope in the plane of its facet, mm."""
        panels = [panel for part in self.sections.parts for panel in part.panels if panel.facet == facet.id]
        return shapely.union_all([Polygon(facet.frame.flatten(panel.stands.apply(panel.ring))) for panel in panels])

    def hole(self, facet: Facet, point: int) -> Polygon:
        """Return what is open of a slope at a point, in the plane of its facet, mm."""
        return largest_polygon(hole_in_facet(self.facets, self.sections, facet, point, self.reaches[point]))


def is_of_roof(facets: Facets, facet: Facet) -> bool:
    """Whether a facet belongs to a roof, and not to what stands on one."""
    shell = facets.shell_of(facet)
    return shell.kind is ShellKind.ROOF and not shell.stands_on


def plates_over(slopes: Slopes, point: int, width: float, name: str) -> list[CapTry]:
    """Return plates over the whole hole at a point, the one wanted most first. width: of the hole, mm."""
    wanted: list[tuple[float, CapTry]] = []
    for more in _ROUND:
        for facet in slopes.around(point):
            middle = facet.frame.flatten(slopes.facets.points[point][None])[0]
            moved = slopes.sections.setbacks.facets[facet.id].rings
            disc = Point(middle).buffer(width / 2.0 + more, quad_segs=4)
            held = disc.intersection(Polygon(moved[0].points, [ring.points for ring in moved[1:]]))
            if held.area >= _LEAST_AREA:
                plate = CapTry(facet.id, _plate_on(slopes, facet, disc, held, name))
                wanted.append((held.area - _RATHER_SMALL * more, plate))
    return [plate for _, plate in sorted(wanted, key=lambda entry: -round(entry[0], 3))]


def plates_of_slope(slopes: Slopes, facet: Facet, point: int, room: CapRoom, name: str) -> list[CapTry]:
    """Return plates over what is open of one slope at a point, the larger first.

    They end where another board stands in their way, or a little beyond the slope.
    """
    hole = slopes.hole(facet, point)
    if hole.buffer(-_LEAST_RADIUS).is_empty:
        return []
    taken = _taken_over(slopes, facet, room).buffer(BEYOND, join_style="mitre")
    board = slopes.board(facet)
    tries: list[CapTry] = []
    for more in reversed(_ROUND):
        plate = largest_polygon(hole.buffer(more, join_style="mitre", mitre_limit=1.5).difference(taken))
        held = plate.intersection(board)
        if held.area >= _LEAST_AREA:
            tries.append(CapTry(facet.id, _plate_on(slopes, facet, plate, held, name)))
    return tries


def _taken_over(slopes: Slopes, facet: Facet, room: CapRoom) -> shapely.Geometry:
    """Return what stands where a plate on a slope would, and the caps that lie on its board, in its plane, mm."""
    frame, thickness = facet.frame, slopes.settings.roof.thickness
    low = thickness if outward(slopes.facets, facet, slopes.settings) > 0 else -thickness
    standing = room.between(Pose.of(frame.u, frame.v, frame.n, frame.origin), low, low + thickness)
    return shapely.union_all([standing, room.glued_on(facet).buffer(BEYOND)])


def _plate_on(slopes: Slopes, facet: Facet, plate: Polygon, held: Polygon, name: str) -> Callable[[], Part]:
    """Return what cuts a plate whose glued face lies up on the laser, with the edge of its board scored on it.

    plate: its outline, and ``held`` what of it lies on the board of its slope, in the plane of the facet, mm.
    """

    def cut() -> Part:
        frame, side, stock = facet.frame, outward(slopes.facets, facet, slopes.settings), slopes.settings.roof
        height = 2.0 * stock.thickness if side > 0 else -stock.thickness
        stands = Pose.of(-side * frame.u, frame.v, -side * frame.n, frame.origin + frame.n * height)
        mirrored = np.array([-side, 1.0])
        bearer = f"{slopes.names[facet.id]} ({slopes.sections.part_of[facet.id]})"
        note = (
            f"Glue it flat on the outside of the {bearer} alone, over the hole where bends meet, its scored line on "
            "that board's edge."
        )
        edge = shapely.intersection(held.boundary, plate.buffer(-INSET))
        lines = [shapely.get_coordinates(line) * mirrored for line in shapely.get_parts(shapely.line_merge(edge))]
        outline = shapely.transform(plate, lambda points: points * mirrored)
        return cut_cap(name, "Peak cap", stock, outline, stands, note, [line for line in lines if len(line) > 1])

    return cut
