"""Where a roof rests on walls: eaves lowered so that square-cut tops touch, apexes cut to the ridge's bend."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..solid.facets import Edge, Facet, Facets, ShellKind
from ..tolerance import AREA, SNAP
from .outline import corner_arc

__all__ = ["Eaves", "find_eaves"]

#: A roof whose underside passes a top edge no farther off than this is meant to rest on it, mm: above what careless
#: snapping leaves, below the thinnest board.
_RESTS = 0.5

#: Strips in which the underside of a flexed roof line is looked at.
_STRIPS = 6


@dataclass(frozen=True, slots=True, eq=False)
class _Slope:
    """A roof facet seen from below: height over the plan is ``heights @ (x, y, 1)``; shell: its roof.

    A strip of a rounded underside along a flexed line is one as well, without a facet.
    """

    facet: int | None
    shell: int
    heights: np.ndarray
    plan: shapely.Geometry


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """A flexed roof line: two model points and the radius of its underside, mm."""

    start: np.ndarray
    end: np.ndarray
    radius: float


@dataclass(frozen=True, slots=True, eq=False)
class Eaves:
    """The undersides of all roofs over a building, asked by whatever stands below them; rounds: of flexed lines."""

    slopes: tuple[_Slope, ...]
    lines: tuple[_Line, ...]
    rounds: tuple[_Slope, ...] = ()

    def ceiling(self, area: Polygon, top: float) -> float:
        """Return the least height, mm, of a roof over the plan of something that ends at ``top``; infinite without.

        Only a roof that somewhere over the plan is as high as the top rests on it; a lower one goes through,
        which the proof reports.
        """
        lowest: dict[int, float] = {}
        resting = set()
        # the plan of a very tight bend may cross itself
        area = shapely.make_valid(area)
        for under in (*self.slopes, *self.rounds):
            over = under.plan.intersection(area)
            if over.is_empty:
                continue
            corners = shapely.get_coordinates(over)
            heights = np.column_stack([corners, np.ones(len(corners))]) @ under.heights
            lowest[under.shell] = min(lowest.get(under.shell, np.inf), float(heights.min()))
            if float(heights.max()) >= top - _RESTS:
                resting.add(under.shell)
        return min((lowest[shell] for shell in resting), default=np.inf)

    def drop(self, facet: Facet, start: np.ndarray, end: np.ndarray, layer: tuple[float, float]) -> float:
        """Return by how much a top edge must be lowered so that a board under a slope touches and no more.

        start, end: model points of the edge, on the facet's plane; layer: the board's two faces as
        offsets along the facet's n, mm. A board's square-cut top touches with its outer edge, which
        lies thickness * tan(pitch) above the slope when the inner edge is on it. Zero where no roof
        rests on the edge.
        """
        middle = (np.asarray(start) + end) / 2
        under = shapely.Point(middle[0], middle[1])
        lowest = 0.0
        for slope in self.slopes:
            if slope.plan.distance(under) > SNAP:
                continue
            # noise turns an edge a little from its slope, so that one of its ends may stand higher than its middle
            for place in (middle, np.asarray(start), np.asarray(end)):
                gaps = _gaps(slope, place, facet.frame.n, (0.0, *layer))
                # a roof well above the edge does not touch; one well below goes through, which the proof reports
                if abs(gaps[0]) > _RESTS:
                    break
                lowest = min(lowest, *gaps[1:])
        return -lowest

    def slope_over(self, point: np.ndarray) -> int | None:
        """Return the id of the roof facet whose underside passes through a model point, or None."""
        for slope in self.slopes:
            if (
                slope.plan.distance(shapely.Point(point[0], point[1])) <= SNAP
                and abs(float(slope.heights @ [point[0], point[1], 1.0]) - point[2]) <= _RESTS
            ):
                return slope.facet
        return None

    def arcs(self, facet: Facet, ring: np.ndarray) -> dict[int, np.ndarray]:
        """Return points for those corners of a ring that touch a flexed roof line: the inside arc of its bend.

        ring: (k, 2) mm in the facet's plane. Only lines that meet the wall squarely are dealt with;
        what else collides, the proof reports.
        """
        found: dict[int, np.ndarray] = {}
        for line in self.lines:
            along = (line.end - line.start) / np.linalg.norm(line.end - line.start)
            if not facet.upright or abs(abs(along @ facet.frame.n) - 1.0) > SNAP:
                continue
            space = facet.frame.raise_(ring) - line.start
            off = np.linalg.norm(space - np.outer(space @ along, along), axis=1)
            for corner in np.flatnonzero(off <= SNAP):
                found[int(corner)] = corner_arc(ring, int(corner), radius=line.radius)
        return found


def _gaps(slope: _Slope, place: np.ndarray, n: np.ndarray, offsets: tuple[float, ...]) -> list[float]:
    """Return how far a slope's underside lies above points at a place, (3,) mm, moved along n by offsets, mm."""
    return [float(slope.heights @ [*(place + offset * n)[:2], 1.0]) - float(place[2]) for offset in offsets]


def find_eaves(facets: Facets, radii: Mapping[int, float]) -> Eaves:
    """Collect the roof slopes of a building; ``radii`` gives the underside radius of flexed edges by id, mm."""
    slopes = []
    lines = []
    rounds: list[_Slope] = []
    roofs = {shell.id for shell in facets.shells if shell.kind is ShellKind.ROOF}
    for facet in facets.facets:
        if facet.shell not in roofs:
            continue
        n, origin = facet.frame.n, facet.frame.origin
        heights = np.array([-n[0], -n[1], n @ origin]) / n[2]
        plan = shapely.make_valid(Polygon(facets.corners(facet)[:, :2]))
        slopes.append(_Slope(facet.id, facet.shell, heights, plan))
    for edge in facets.edges:
        if edge.id in radii and facets.left(edge).shell in roofs and edge.angle > 0:
            start, end = facets.ends(edge)
            lines.append(_Line(start, end, radii[edge.id]))
            rounds += _rounds(facets, edge, radii[edge.id])
    return Eaves(tuple(slopes), tuple(lines), tuple(rounds))


def _rounds(facets: Facets, edge: Edge, radius: float) -> list[_Slope]:
    """Return the underside of a flexed ridge or hip in strips whose chords lie on its inner arc or below it."""
    one, other = (facet.frame.n for facet in facets.pair(edge))
    middle = (one + other) / np.linalg.norm(one + other)
    ends = facets.ends(edge)
    axis = ends - middle * radius / np.cos(edge.angle / 2)
    turns = np.linspace(-0.5, 0.5, _STRIPS + 1) * edge.angle
    aside = other - (other @ middle) * middle
    aside = aside / np.linalg.norm(aside)
    rims = [axis + radius * (np.cos(turn) * middle + np.sin(turn) * aside) for turn in turns]
    shell = facets.left(edge).shell
    rounds = []
    for near, far in pairwise(rims):
        plan = Polygon(np.concatenate([near, far[::-1]])[:, :2])
        if plan.area < AREA:
            continue
        flat = np.column_stack([np.concatenate([near, far])[:, :2], np.ones(4)])
        heights = np.linalg.lstsq(flat, np.concatenate([near, far])[:, 2], rcond=None)[0]
        rounds.append(_Slope(None, shell, heights, shapely.make_valid(plan)))
    return rounds
