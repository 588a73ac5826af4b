"""Holes that stay open where roof lines meet and bends end, as seen against the outside."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ..findings import Finding, Location, Severity, place
from ..part import Part
from ..solid.facets import Facet, Facets
from ..tolerance import LENGTH
from .section import Sections

__all__ = ["hole_in_facet", "hole_reaches", "holes_at_peaks", "peak_holes"]

#: Holes smaller than this are not worth a word, mm across: an ear of two slopes ends that near to the next one's.
_SMALLEST_HOLE = 1.5

#: So near to the end of a bend a hole is looked for, mm, beyond what the bend keeps to the point.
_BESIDE = 2.0

#: How exactly the widest circle in a hole is found, mm.
_WITHIN = 0.05


def peak_holes(facets: Facets, sections: Sections, caps: Iterable[Part] = ()) -> dict[int, float]:
    """Return the holes that are left where bends end at an inner point of a surface, mm across by point.

    caps: what covers some of them.
    """
    caps = tuple(caps)
    reaches = hole_reaches(facets, sections)
    holes = {point: _widest(facets, sections.parts, point, reach) for point, reach in reaches.items()}
    if caps:
        left = {point: _widest_left(facets, sections, point, reach, caps) for point, reach in reaches.items()}
        holes = {point: min(width, left[point]) for point, width in holes.items()}
    return {point: width for point, width in holes.items() if width >= _SMALLEST_HOLE}


def hole_in_facet(facets: Facets, sections: Sections, facet: Facet, point: int, reach: float) -> shapely.Geometry:
    """Return the part of the hole at a point that lies in one of its facets, in the facet's plane, mm.

    It is what neither the board nor half of a bend beside it covers. reach: how far it is looked for, ``hole_reaches``.
    """
    rings = [facets.ring(facet, k) for k in range(len(facet.rings))]
    taken = []
    for part in sections.parts:
        for k, panel in enumerate(part.panels):
            if panel.facet != facet.id:
                continue
            beside = [placed.zone for placed in part.lattices if k in (placed.parent, placed.child)]
            taken += [
                Polygon(facet.frame.flatten(panel.stands.apply(ring))).buffer(LENGTH) for ring in (panel.ring, *beside)
            ]
    near = Point(facet.frame.flatten(facets.points[point][None])[0])
    around = near.buffer(reach + _BESIDE)
    return Polygon(rings[0], rings[1:]).intersection(around).difference(shapely.union_all(taken))


def _widest_left(facets: Facets, sections: Sections, point: int, reach: float, caps: Sequence[Part]) -> float:
    """Return how wide a circle finds room in what caps leave open at a point, slope by slope, mm."""
    spot = facets.points[point]
    widest = 0.0
    for facet in facets.facets:
        if not any(point in ring for ring in facet.rings):
            continue
        covers = []
        for cap in caps:
            panel = cap.panels[0]
            # as it lies, and pushed down to the plane of its own slope, which holds the point
            for height in (0.0, float(panel.stands.back(spot)[2])):
                covers.append(Polygon(facet.frame.flatten(panel.stands.apply(panel.ring, height))).buffer(0.0))
        left = hole_in_facet(facets, sections, facet, point, reach).difference(shapely.union_all(covers))
        widest = max(widest, *(_circle(piece) for piece in shapely.get_parts(left)), 0.0)
    return widest


def _circle(hole: shapely.Geometry) -> float:
    """Return how wide a circle finds room in a hole, mm, 0 where it is too narrow to matter."""
    if hole.buffer(-_SMALLEST_HOLE / 4.0).is_empty:
        return 0.0
    return 2.0 * float(shapely.maximum_inscribed_circle(hole, tolerance=_WITHIN).length)


def hole_reaches(facets: Facets, sections: Sections) -> dict[int, float]:
    """Return how far from an inner point of a surface a hole is looked for where bends end at it, mm."""
    rims = {point for edge in facets.edges if edge.right is None for point in (edge.start, edge.end)}
    reaches: dict[int, float] = {}
    for edge_id, (low, high) in sections.setbacks.spans.items():
        edge = facets.edges[edge_id]
        half = sections.setbacks.bends[edge_id].flat_width / 2
        for point, gap in ((edge.start, low), (edge.end, facets.length(edge) - high)):
            if point not in rims:
                reaches[point] = max(reaches.get(point, 0.0), float(np.hypot(gap, half)))
    return reaches


def holes_at_peaks(facets: Facets, sections: Sections, caps: Sequence[Part] | None) -> tuple[Finding, ...]:
    """Report the holes that are left where bends meet, such as at a hip roof's peak.

    caps: None where the maker wants none.
    """
    holes = peak_holes(facets, sections, caps or ())
    if not holes:
        return ()
    widest = max(sorted(holes), key=holes.__getitem__)
    alone = len(holes) == 1
    cure = "no cap finds room there, so " if caps is not None else "have caps cut there, or "
    places = "At one point where bends meet, a hole" if alone else f"At {len(holes)} points where bends meet, holes"
    return (
        Finding(
            Severity.NOTE,
            "hole-at-peak",
            f"{places} up to {holes[widest]:.0f} mm wide {'stays' if alone else 'stay'} open, since bends end square; "
            f"{cure}let one of the edges there be a closure.",
            Location(point=place(facets.points[widest])),
        ),
    )


def _widest(facets: Facets, parts: Sequence[Part], point: int, reach: float) -> float:
    """Return how wide a circle finds room between the boards round a point, mm, for one who looks at it straight on."""
    around = [facet for facet in facets.facets if any(point in ring for ring in facet.rings)]
    straight = np.sum([facet.frame.n for facet in around], axis=0)
    straight = straight / np.linalg.norm(straight)
    aside = np.linalg.svd(straight[None])[2][1:]  # two directions square to it

    def seen(points: np.ndarray) -> Polygon:
        return Polygon((points - facets.points[point]) @ aside.T)

    ids = {facet.id for facet in around}
    boards = []
    for part in parts:
        near = [k for k, panel in enumerate(part.panels) if panel.facet in ids]
        boards += [seen(part.panels[k].stands.apply(part.panels[k].ring)) for k in near]
        for placed in part.lattices:
            if placed.parent in near and placed.child in near:
                zone = placed.zone
                ends = [part.panels[placed.parent].stands.apply(zone[:2])]
                boards.append(seen(np.concatenate([*ends, part.panels[placed.child].stands.apply(zone[2:])])))
    whole = shapely.union_all([seen(facets.points[list(facet.rings[0])]) for facet in around])
    near_it = Point(0.0, 0.0).buffer(reach + _BESIDE)
    holes = whole.intersection(near_it).difference(shapely.union_all([board.buffer(0.0) for board in boards]))
    return max((_circle(hole) for hole in shapely.get_parts(holes)), default=0.0)
