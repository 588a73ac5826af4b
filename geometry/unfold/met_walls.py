"""Walls that stand against other walls: where they end, and what they take of the wall that they meet."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets
from ..tolerance import SNAP

__all__ = ["met_stretches", "stand_off"]

#: What a wall's end keeps from the wall that it stands against, so that it goes in by hand, mm (common practice).
_CLEARANCE = 0.2

#: A wall whose end reaches so many thicknesses into another one runs along it or through it and has no end there.
_DEEPEST = 4.0

#: Walls that run nearly the same way do not end at each other (sine of 15 degrees).
_ALONG = 0.26


def met_stretches(facets: Facets, facet: Facet, settings: BuildSettings) -> list[tuple[float, float]]:
    """Return the stretches of a wall's u, mm, over which boards of other walls come nearer than a cheek is thick.

    Walls that share an edge with it are its neighbours round a corner and do not count.
    """
    lamination, thickness = settings.joiners.thickness, settings.walls.thickness
    low, high = _run(facets, facet)
    band = _plan(facet, (low, high), (-lamination, thickness + lamination))
    stretches = []
    for other in _others(facets, facet):
        piece = shapely.intersection(band, _plan(other, _run(facets, other), (0.0, thickness)))
        if piece.area > SNAP:
            along = _along(facet, shapely.get_coordinates(piece))
            stretches.append((float(along.min()), float(along.max())))
    return stretches


def stand_off(facets: Facets, facet: Facet, edge: Edge, settings: BuildSettings) -> float:
    """Return how far a wall stops short of a free upright edge, so that its board stands clear of other walls, mm.

    0 where no other wall is near, or where the wall does not end at it but runs along it or through it.
    """
    ends = facets.ends(edge)
    if not facets.is_wall(facet) or np.hypot(*(ends[1] - ends[0])[:2]) > SNAP:
        return 0.0
    thickness = settings.walls.thickness
    low, high = _run(facets, facet)
    at = facets.u_of(edge, facet)
    inward = 1.0 if at - low < high - at else -1.0
    deepest = min(_DEEPEST * thickness, high - low)
    end = _plan(facet, tuple(sorted((at, at + inward * deepest))), (0.0, thickness))
    off = 0.0
    for other in _others(facets, facet):
        if abs(float(facet.frame.u @ other.frame.n)) < _ALONG:
            continue
        start, stop = _run(facets, other)
        # round its corners a wall takes the room of a board more
        room = (start - thickness - _CLEARANCE, stop + thickness + _CLEARANCE)
        piece = shapely.intersection(end, _plan(other, room, (-_CLEARANCE, thickness + _CLEARANCE)))
        if piece.area <= SNAP**2:
            continue
        reach = float((inward * (_along(facet, shapely.get_coordinates(piece)) - at)).max())
        if reach < deepest - SNAP:
            off = max(off, reach)
    return off


def _others(facets: Facets, facet: Facet) -> Iterator[Facet]:
    """Yield the other walls beside which a wall stands, those left out that share an edge with it."""
    own = set(facet.ring_edges[0])
    heights = facets.corners(facet)[:, 2]
    for other in facets.facets:
        if other is facet or not facets.is_wall(other) or own & set(other.ring_edges[0]):
            continue
        beside = facets.corners(other)[:, 2]
        if beside.min() < heights.max() - SNAP and beside.max() > heights.min() + SNAP:
            yield other


def _run(facets: Facets, facet: Facet) -> tuple[float, float]:
    """Return from where to where along its u a wall runs, mm."""
    along = facets.ring(facet)[:, 0]
    return float(along.min()), float(along.max())


def _along(facet: Facet, plan: np.ndarray) -> np.ndarray:
    """Return where along a wall's u points of the plan, (k, 2) mm, lie."""
    along: np.ndarray = (plan - facet.frame.origin[:2]) @ facet.frame.u[:2]
    return along


def _plan(facet: Facet, run: tuple[float, ...], depth: tuple[float, float]) -> shapely.Polygon:
    """Return what lies over the plan between two places of a wall's u and two along its n, mm."""
    u, n = facet.frame.u[:2], facet.frame.n[:2]
    corners = ((run[0], depth[0]), (run[1], depth[0]), (run[1], depth[1]), (run[0], depth[1]))
    return shapely.Polygon([facet.frame.origin[:2] + u * a + n * b for a, b in corners])
