"""Walls and roofs that end at other walls: where they end, and what they take of the wall that they meet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

import numpy as np
import shapely

from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets, ShellKind
from ..tolerance import SNAP
from .corner import Bend
from .headroom import bend_plan
from .saddles import saddle_setback

__all__ = ["WallRooms", "ends_at", "met_stretches", "porch_stretches", "roof_stand_off", "stand_off"]

#: The bends of walls none of whose corners bends.
NO_BENDS: Mapping[int, Bend] = MappingProxyType({})

#: What a wall's end keeps from the wall that it stands against, so that it goes in by hand, mm (common practice).
_CLEARANCE = 0.2

#: A wall whose end reaches so many thicknesses into another one runs along it or through it and has no end there.
_DEEPEST = 4.0

#: Walls that run nearly the same way do not end at each other (sine of 15 degrees).
_ALONG = 0.26


def met_stretches(facets: Facets, facet: Facet, settings: BuildSettings) -> list[tuple[float, float]]:
    """Return the stretches of a wall's u, mm, where others end at it: walls nearer than a cheek is thick, and roofs.

    Walls that share an edge with it are its neighbours round a corner and do not count.
    """
    lamination, thickness = settings.joiners.thickness, settings.walls.thickness
    low, high = _run(facets, facet)
    band = _plan(facet, (low, high), (-lamination, thickness + lamination))
    stretches = []
    for other in _others(facets, facet):
        room = _plan(other, _run(facets, other), (0.0, thickness))
        if not band.intersects(room):
            continue
        piece = shapely.intersection(band, room)
        if piece.area > SNAP:
            along = _along(facet, shapely.get_coordinates(piece))
            stretches.append((float(along.min()), float(along.max())))
    return [*stretches, *_under_roofs(facets, facet)]


class WallRooms:
    """What walls take of the plan while none of their corners changes, each wall worked out once.

    thickness: of the walls' board, mm; bends: of edges by id. At a corner that bends a wall runs on up to the round of
    it.
    """

    def __init__(self, facets: Facets, thickness: float, bends: Mapping[int, Bend] = NO_BENDS) -> None:
        self.facets, self.thickness, self._bends = facets, thickness, bends
        self._rooms: dict[int, shapely.Geometry] = {}
        self._others: dict[int, tuple[Facet, ...]] = {}

    def of(self, wall: Facet) -> shapely.Geometry:
        """Return what a wall takes of the plan with what others keep from it, mm."""
        if wall.id not in self._rooms:
            self._rooms[wall.id] = _room(self.facets, wall, self.thickness, self._bends)
        return self._rooms[wall.id]

    def across(self, wall: Facet) -> tuple[Facet, ...]:
        """Return the other walls beside which a wall stands and that do not run nearly the same way."""
        if wall.id not in self._others:
            others = _others(self.facets, wall)
            self._others[wall.id] = tuple(o for o in others if abs(float(wall.frame.u @ o.frame.n)) >= _ALONG)
        return self._others[wall.id]


def stand_off(facet: Facet, edge: Edge, rooms: WallRooms) -> float:
    """Return how far a wall stops short of a free upright edge, so that its board stands clear of other walls, mm.

    0 where no other wall is near, or where the wall does not end at it but runs along it or through it.
    """
    facets, thickness = rooms.facets, rooms.thickness
    ends = facets.ends(edge)
    if not facets.is_wall(facet) or np.hypot(*(ends[1] - ends[0])[:2]) > SNAP:
        return 0.0
    low, high = _run(facets, facet)
    at = facets.u_of(edge, facet)
    inward = 1.0 if at - low < high - at else -1.0
    deepest = min(_DEEPEST * thickness, high - low)
    end = _plan(facet, tuple(sorted((at, at + inward * deepest))), (0.0, thickness))
    off = 0.0
    for other in rooms.across(facet):
        room = rooms.of(other)
        if not end.intersects(room):
            continue
        piece = shapely.intersection(end, room)
        if piece.area <= SNAP**2:
            continue
        reach = float((inward * (_along(facet, shapely.get_coordinates(piece)) - at)).max())
        if reach < deepest - SNAP:
            off = max(off, reach)
    return off


def porch_stretches(facets: Facets, wall: Facet) -> list[tuple[float, float]]:
    """Return the stretches of a wall's u, mm, that porches cover: no break is proposed there."""
    stretches = []
    for shell in facets.shells:
        if wall.id in shell.stands_on:
            at = _along(wall, facets.outline_points(shell)[:, :2])
            stretches.append((float(at.min()), float(at.max())))
    return stretches


def _room(facets: Facets, wall: Facet, thickness: float, bends: Mapping[int, Bend]) -> shapely.Geometry:
    """Return what a wall takes of the plan with what others keep from it; round corners that part, a board more."""
    start, stop = _run(facets, wall)
    more = thickness + _CLEARANCE
    room, rounds = [start - more, stop + more], []
    for edge in facets.edges_of(wall):
        if edge.id in bends and all(beside.upright for beside in facets.pair(edge)):
            setback, at = bends[edge.id].setback, facets.u_of(edge, wall)
            end, sign = (0, 1.0) if at - start < stop - at else (1, -1.0)
            room[end] = at + sign * setback
            rounds.append(bend_plan(facets, edge, bends[edge.id], thickness).buffer(_CLEARANCE))
    if room[1] - room[0] > SNAP:
        rounds.append(_plan(wall, tuple(room), (-_CLEARANCE, more)))
    return shapely.union_all(rounds)


def roof_stand_off(facets: Facets, facet: Facet, edge: Edge, settings: BuildSettings) -> float:
    """Return how far a slope ends short of a free edge in the plane of a wall, so that its board stands clear, mm.

    0 where the edge lies in no wall, or on the side of it to which no board grows.
    """
    if facets.shell_of(facet).kind is not ShellKind.ROOF:
        return 0.0
    wall = next((wall for wall in facets.facets if ends_at(facets, facet, edge, wall)), None)
    if wall is None:
        return 0.0
    thick = settings.walls.thickness + _CLEARANCE
    return saddle_setback(facets, facet, edge, slope=wall, board=settings.roof.thickness, roof=thick)


def ends_at(facets: Facets, slope: Facet, edge: Edge, wall: Facet) -> bool:
    """Return whether a slope ends with a free edge at a wall, on the side to which the wall's board grows."""
    if edge.right is not None or not facets.is_wall(wall):
        return False
    ends = facets.ends(edge)
    if np.abs((ends - wall.frame.origin) @ wall.frame.n).max() > SNAP:
        return False
    heights, beside = ends[:, 2], facets.corners(wall)[:, 2]
    if heights.min() > beside.max() + SNAP or heights.max() < beside.min() - SNAP:
        return False
    low, high = _run(facets, wall)
    at = _along(wall, ends[:, :2])
    if min(at.max(), high) - max(at.min(), low) <= SNAP:
        return False
    return bool(float((facets.corners(slope) - wall.frame.origin).mean(axis=0) @ wall.frame.n) > SNAP)


def _under_roofs(facets: Facets, wall: Facet) -> Iterator[tuple[float, float]]:
    """Yield the stretches of a wall's u, mm, at which roofs end."""
    for slope in facets.facets:
        if facets.shell_of(slope).kind is ShellKind.ROOF:
            for edge in facets.edges_of(slope):
                if ends_at(facets, slope, edge, wall):
                    at = _along(wall, facets.ends(edge)[:, :2])
                    yield float(at.min()), float(at.max())


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
    return shapely.polygons([facet.frame.origin[:2] + u * a + n * b for a, b in corners])
