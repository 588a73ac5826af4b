"""Holes that stay open where roof lines meet and bends end, as seen against the outside."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ..findings import Finding, Location, Severity, place
from ..part import Part
from ..solid.facets import Facets
from .section import Sections

__all__ = ["holes_at_peaks", "peak_holes"]

#: Holes smaller than this are not worth a word, mm across: an ear of two slopes ends that near to the next one's.
_SMALLEST_HOLE = 1.5

#: So near to the end of a bend a hole is looked for, mm, beyond what the bend keeps to the point.
_BESIDE = 2.0

#: How exactly the widest circle in a hole is found, mm.
_WITHIN = 0.05


def peak_holes(facets: Facets, sections: Sections) -> dict[int, float]:
    """Return the holes that are left where bends end at an inner point of a surface, mm across by point."""
    rims = {point for edge in facets.edges if edge.right is None for point in (edge.start, edge.end)}
    reach: dict[int, float] = {}
    for edge_id, (low, high) in sections.setbacks.spans.items():
        edge = facets.edges[edge_id]
        half = sections.setbacks.bends[edge_id].flat_width / 2
        for point, gap in ((edge.start, low), (edge.end, facets.length(edge) - high)):
            if point not in rims:
                reach[point] = max(reach.get(point, 0.0), float(np.hypot(gap, half)))
    holes = {point: _widest(facets, sections.parts, point, radius) for point, radius in reach.items()}
    return {point: width for point, width in holes.items() if width >= _SMALLEST_HOLE}


def holes_at_peaks(facets: Facets, sections: Sections) -> tuple[Finding, ...]:
    """Report the holes that are left where bends meet, such as at a hip roof's peak."""
    holes = peak_holes(facets, sections)
    if not holes:
        return ()
    widest = max(sorted(holes), key=holes.__getitem__)
    alone = len(holes) == 1
    places = "At one point where bends meet, a hole" if alone else f"At {len(holes)} points where bends meet, holes"
    return (
        Finding(
            Severity.NOTE,
            "hole-at-peak",
            f"{places} up to {holes[widest]:.0f} mm wide {'stays' if alone else 'stay'} open, since bends end square; "
            "have caps cut there, or let one of the edges there be a closure.",
            Location(point=place(facets.points[widest])),
        ),
    )


def _widest(facets: Facets, parts: tuple[Part, ...], point: int, radius: float) -> float:
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
    near_it = Point(0.0, 0.0).buffer(radius + _BESIDE)
    holes = whole.intersection(near_it).difference(shapely.union_all([board.buffer(0.0) for board in boards]))
    circles = [
        shapely.maximum_inscribed_circle(hole, tolerance=_WITHIN).length
        for hole in shapely.get_parts(holes)
        if not hole.buffer(-_SMALLEST_HOLE / 4.0).is_empty
    ]
    return 2.0 * max(circles, default=0.0)
