"""Cutting openings: each takes its piece out of the wall that it stands in, by the wall's own topology.

A window becomes a hole of its facet, a door a notch in the facet's lower side. Where bars stand in it, its panes are
cut and the bars stay. What cannot be cut becomes a finding at the opening, and the wall stays whole there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, Point, Polygon

from ..findings import Finding, Location, Severity, place
from ..sentence import Sentence
from ..tolerance import AREA, LENGTH, SNAP
from .facets import Edge, Facet, Facets
from .filling import fill
from .opening import Opening
from .solid import Role

__all__ = ["cut_openings", "wall_of"]

#: An opening as far from its wall as this still belongs to it, mm: half a common square.
_NEAR = 12.7

#: ... and turned as far as this against it, radians (about 2 degrees).
_ALIGNED = 0.035

#: Less board than this between an opening and an edge breaks in the hand, mm (common practice, no source).
_WEB = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    """An opening laid into the plane of its wall: its outline there, (k, 2) mm, counter-clockwise."""

    opening: Opening
    facet: int
    ring: np.ndarray

    @property
    def shape(self) -> Polygon:
        return Polygon(self.ring)


def wall_of(facets: Facets, opening: Opening) -> int | None:
    """Return the id of the wall facet that an opening stands in: near, alongside, and most covered by it."""
    best: tuple[float, float, int] | None = None
    for facet in facets.facets:
        if not facets.is_wall(facet):
            continue
        away = abs(float((opening.origin - facet.frame.origin) @ facet.frame.n))
        if away > _NEAR or abs(float(opening.across @ facet.frame.n)) < np.cos(_ALIGNED):
            continue
        shape = Polygon(facet.frame.flatten(opening.points))
        wall = Polygon(facets.ring(facet))
        if not shape.is_valid or shape.distance(wall) > _NEAR:
            continue
        # on a grid: sides that all but lie on each other make shapely lose the whole area without one
        score = (-shapely.intersection(shape, wall, grid_size=LENGTH).area, away, facet.id)
        if best is None or score < best:
            best = score
    return None if best is None else best[2]


def cut_openings(facets: Facets, openings: Sequence[Opening]) -> Facets:
    """Return the facets with every opening cut out of its wall, and with findings for those that cannot be.

    Openings are taken in the order of their names; one that would cross an earlier one is left out.
    """
    findings: list[Finding] = []
    cut: list[_Placed] = []
    for opening in sorted(openings, key=lambda opening: opening.name):
        facet_id = wall_of(facets, opening)
        if facet_id is None:
            findings.append(_off_every_wall(facets, opening))
            continue
        placed = _lay_in(facets, opening, facets.facets[facet_id])
        trouble = _crossing(placed, cut) or _trouble(facets, placed)
        if trouble is not None:
            findings.append(trouble)
            continue
        cut.append(placed)
        findings += _thin_webs(facets, placed)
        for piece in _panes(facets, placed):
            side = _foot_side(facets, piece)
            facets = _cut_hole(facets, piece) if side is None else _cut_notch(facets, piece, side)
    return replace(facets, findings=(*facets.findings, *findings), openings=tuple(placed.opening for placed in cut))


def _lay_in(facets: Facets, opening: Opening, facet: Facet) -> _Placed:
    """Lay an opening into its wall's plane; a foot within SNAP of the wall's own goes onto it."""
    return _Placed(opening, facet.id, _on_foot(facet.frame.flatten(opening.points), facets.ring(facet)))


def _on_foot(ring: np.ndarray, outline: np.ndarray) -> np.ndarray:
    """Return a ring, (k, 2) mm, counter-clockwise, with what is within SNAP of a wall's foot laid onto it."""
    ring = ring.copy()
    for k in np.flatnonzero(np.abs(ring[:, 1] - outline[:, 1].min()) < SNAP):
        ring[k, 1] = _foot_height(outline, ring[k, 0])
    x, y = ring.T
    if x @ np.roll(y, -1) - y @ np.roll(x, -1) < 0.0:
        ring = ring[::-1]
    return np.ascontiguousarray(ring)


def _panes(facets: Facets, placed: _Placed) -> list[_Placed]:
    """Return what is cut of an opening: all of it, or its panes where something stands in it without a leaf."""
    opening = placed.opening
    if opening.filling is None or opening.leaf is not None:
        return [placed]
    outline = facets.ring(facets.facets[placed.facet])
    panes = fill(placed.shape, opening.filling).panes
    return [replace(placed, ring=_on_foot(np.asarray(pane.exterior.coords)[:-1], outline)) for pane in panes]


def _foot_height(outline: np.ndarray, x: float) -> float:
    """Return where the foot of a wall lies at ``x``; by its corners' rounding it is not quite level."""
    low = float(outline[:, 1].min())
    for start, end in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        if max(start[1], end[1]) < low + SNAP and start[0] <= x <= end[0] and end[0] - start[0] > SNAP:
            return float(start[1] + (end[1] - start[1]) * (x - start[0]) / (end[0] - start[0]))
    return low


def _error(code: str, message: str | Sentence, placed: _Placed | Opening) -> Finding:
    return _remark(Severity.ERROR, code, message, placed)


def _remark(severity: Severity, code: str, message: str | Sentence, placed: _Placed | Opening) -> Finding:
    opening = placed.opening if isinstance(placed, _Placed) else placed
    return Finding(severity, code, message, Location(source=opening.name, point=place(opening.points.mean(axis=0))))


def _off_every_wall(facets: Facets, opening: Opening) -> Finding:
    middle = opening.points.mean(axis=0)
    walls = [facet for facet in facets.facets if facets.is_wall(facet)]
    aligned = [f for f in walls if abs(float(opening.across @ f.frame.n)) >= np.cos(_ALIGNED)]
    if not walls or not aligned:
        return _error(
            "opening-off-wall",
            f"{opening.name} stands alongside no wall; turn it so that it lies flat in one.",
            opening,
        )
    distances = [
        float(np.hypot((middle - f.frame.origin) @ f.frame.n, _outside(facets, f, f.frame.flatten(middle[None])[0])))
        for f in aligned
    ]
    return _error(
        "opening-off-wall",
        f"{opening.name} stands {min(distances):.0f} mm from the nearest wall; move it into one, "
        f"to within {_NEAR:.0f} mm.",
        opening,
    )


def _outside(facets: Facets, facet: Facet, point: np.ndarray) -> float:
    return float(Polygon(facets.ring(facet)).distance(Point(point)))


def _crossing(placed: _Placed, earlier: Sequence[_Placed]) -> Finding | None:
    for other in earlier:
        if other.facet == placed.facet and (shared := other.shape.intersection(placed.shape).area) > AREA:
            return _error(
                "openings-cross",
                f"{placed.opening.name} lies {shared:.0f} mm² on {other.opening.name}; move one of them aside.",
                placed,
            )
    return None


def _trouble(facets: Facets, placed: _Placed) -> Finding | None:
    """Return why an opening cannot be cut, or None where it can."""
    name, shape = placed.opening.name, placed.shape
    facet = facets.facets[placed.facet]
    if len(placed.ring) < 3 or not shape.is_valid or shape.area < AREA:
        return _error("opening-off-wall", f"The outline of {name} has no area or crosses itself; redo it.", placed)
    wall = Polygon(facets.ring(facet))
    # what stands out by less is laid on the foot, or told below as reaching the edge
    if shape.difference(wall.buffer(SNAP, join_style="mitre")).area > AREA:
        return _beyond_wall(facets, placed, facet, wall)
    for r in range(1, len(facet.rings)):
        hole = Polygon(facets.ring(facet, r))
        if shape.distance(hole) < SNAP:
            return _error(
                "openings-cross",
                Sentence.of(
                    f"{name} lies {shape.intersection(hole).area:.0f} mm² on another opening of ",
                    facets.ref(facet),
                    "; move one of them aside.",
                ),
                placed,
            )
    if min(shape.distance(side) for side in _sides_but_foot(facets, placed)) < SNAP:
        return _error(
            "opening-off-wall",
            Sentence.of(
                f"{name} reaches the edge of its wall at ",
                facets.ref(facet),
                f"; move it {_WEB:.0f} mm or more inside.",
            ),
            placed,
        )
    return None


def _beyond_wall(facets: Facets, placed: _Placed, facet: Facet, wall: Polygon) -> Finding:
    name = placed.opening.name
    for edge in facets.edges_of(facet):
        other = facets.beyond(edge, facet)
        if edge.role is not Role.BREAK or other is None:
            continue
        rest = Polygon(facet.frame.flatten(facets.corners(other)))
        if rest.intersection(placed.shape).area > AREA:
            return _error(
                "opening-over-break",
                Sentence.of(
                    f"{name} lies across the break at ", facets.ref(facet), "; move the opening or the break aside."
                ),
                placed,
            )
    ring, outline = placed.ring, facets.ring(facet)
    tops = _height_over(wall, ring)
    height, has = float(np.ptp(ring[:, 1])), tops - float(outline[:, 1].min())
    if ring[:, 1].max() > tops + SNAP and ring[:, 1].min() <= outline[:, 1].min() + SNAP:
        return _error(
            "opening-off-wall",
            Sentence.of(
                f"{name} is {height:.1f} mm high, but its wall at ",
                facets.ref(facet),
                f" is {has:.1f} mm high there; raise the wall above {height + _WEB:.1f} mm or take a lower opening.",
            ),
            placed,
        )
    out = max(float(wall.distance(Point(corner))) for corner in ring)
    return _error(
        "opening-off-wall",
        Sentence.of(
            f"{name} stands {out:.1f} mm beyond the edge of its wall at ",
            facets.ref(facet),
            "; move it back or make it smaller.",
        ),
        placed,
    )


def _height_over(wall: Polygon, ring: np.ndarray) -> float:
    """Return the least height of the wall's top over the opening's width, in the wall's plane, mm."""
    x0, y0, x1, y1 = wall.bounds
    tops = []
    for x in np.clip(np.linspace(ring[:, 0].min(), ring[:, 0].max(), 9), x0 + SNAP, x1 - SNAP):
        cut = LineString([(x, y0 - 1.0), (x, y1 + 1.0)]).intersection(wall)
        tops.append(cut.bounds[3] if not cut.is_empty else y0)
    return float(min(tops))


def _thin_webs(facets: Facets, placed: _Placed) -> list[Finding]:
    """Warn where too little board stays between an opening and the edge of its wall or another opening."""
    facet = facets.facets[placed.facet]
    sides = _sides_but_foot(facets, placed)
    holes = [Polygon(facets.ring(facet, r)) for r in range(1, len(facet.rings))]
    web = min((placed.shape.distance(line) for line in (*sides, *holes)), default=_WEB)
    if web >= _WEB - SNAP:
        return []
    return [
        _remark(
            Severity.WARNING,
            "opening-near-edge",
            Sentence.of(
                f"Only {web:.1f} mm of board stay between {placed.opening.name} and the nearest edge or opening of ",
                facets.ref(facet),
                f"; leave at least {_WEB:.0f} mm, or it breaks in the hand.",
            ),
            placed,
        )
    ]


def _sides_but_foot(facets: Facets, placed: _Placed) -> list[LineString]:
    """Return the sides of the wall's outline save the one that a door stands on by right."""
    ring = facets.ring(facets.facets[placed.facet])
    foot = _foot_side(facets, placed)
    return [LineString([ring[k], ring[(k + 1) % len(ring)]]) for k in range(len(ring)) if k != foot]


def _foot_side(facets: Facets, placed: _Placed) -> int | None:
    """Return the side of the wall's outline that a door stands on, or None for an opening above the floor."""
    ring = facets.ring(facets.facets[placed.facet])
    low = placed.ring[:, 1].min()
    feet = placed.ring[placed.ring[:, 1] < low + SNAP, 0]
    for k, (start, end) in enumerate(zip(ring, np.roll(ring, -1, axis=0), strict=True)):
        level = abs(start[1] - end[1]) < SNAP and abs(start[1] - low) < SNAP
        if level and end[0] > start[0] and start[0] + SNAP < feet.min() and feet.max() < end[0] - SNAP:
            return k
    return None


def _new_points(facets: Facets, facet: Facet, ring: np.ndarray) -> tuple[np.ndarray, tuple[int, ...]]:
    points = np.vstack([facets.points, facet.frame.raise_(ring)])
    points.setflags(write=False)
    return points, tuple(range(len(facets.points), len(points)))


def _free_edges(first: int, corners: Sequence[int], facet: Facet) -> list[Edge]:
    """Return edges without a neighbour along an open row of points, numbered from ``first``."""
    return [
        Edge(first + k, start, end, facet.id, None, Role.PLAIN, 0.0, (), facet.source)
        for k, (start, end) in enumerate(pairwise(corners))
    ]


def _cut_hole(facets: Facets, placed: _Placed) -> Facets:
    facet = facets.facets[placed.facet]
    points, corners = _new_points(facets, facet, placed.ring[::-1])
    edges = _free_edges(len(facets.edges), (*corners, corners[0]), facet)
    cut = replace(
        facet,
        rings=(*facet.rings, corners),
        ring_edges=(*facet.ring_edges, tuple(edge.id for edge in edges)),
    )
    return _with_facets(facets, points, (*facets.edges, *edges), {facet.id: cut})


def _cut_notch(facets: Facets, placed: _Placed, side: int) -> Facets:
    """Cut a door out of the side it stands on; what lies beyond that side ends at the door's foot."""
    facet = facets.facets[placed.facet]
    low = placed.ring[:, 1].min()
    # clockwise from the left foot over the top to the right foot
    ring = placed.ring[::-1]
    on_floor = np.flatnonzero(ring[:, 1] < low + SNAP)
    left = int(on_floor[np.argmin(ring[on_floor, 0])])
    ring = np.roll(ring, -left, axis=0)
    right = int(max(np.flatnonzero(ring[:, 1] < low + SNAP), key=lambda k: ring[k, 0]))
    ring = ring[: right + 1]
    points, corners = _new_points(facets, facet, ring)
    old = facets.edges[facet.ring_edges[0][side]]
    first, last = corners[0], corners[-1]
    beyond_id, sill_id = len(facets.edges), len(facets.edges) + 1
    if old.left == facet.id:
        near, far = replace(old, end=first), replace(old, id=beyond_id, start=last)
    else:
        near, far = replace(old, start=first), replace(old, id=beyond_id, end=last)
    other = old.beyond(facet.id)
    sill = () if other is None else (Edge(sill_id, last, first, other, None, Role.PLAIN, 0.0, (), facet.source),)
    door = _free_edges(beyond_id + 1 + len(sill), corners, facet)
    edges = [near if edge.id == old.id else edge for edge in facets.edges] + [far, *sill, *door]
    outline, ids = facet.rings[0], facet.ring_edges[0]
    changed = {
        facet.id: replace(
            facet,
            rings=((*outline[: side + 1], *corners, *outline[side + 1 :]), *facet.rings[1:]),
            ring_edges=(
                (*ids[: side + 1], *(edge.id for edge in door), beyond_id, *ids[side + 1 :]),
                *facet.ring_edges[1:],
            ),
        )
    }
    if other is not None:
        changed[other] = _with_sill(facets.facets[other], old.id, (last, first), (beyond_id, sill_id))
    return _with_facets(facets, points, tuple(edges), changed)


def _with_sill(facet: Facet, edge: int, points: tuple[int, int], new: tuple[int, int]) -> Facet:
    """Put a door's foot into the ring of the facet beyond it, which runs along the cut edge the other way."""
    rings, ring_edges = [], []
    for ring, ids in zip(facet.rings, facet.ring_edges, strict=True):
        at = ids.index(edge) if edge in ids else None
        if at is None:
            rings.append(ring)
            ring_edges.append(ids)
            continue
        rings.append((*ring[: at + 1], *points, *ring[at + 1 :]))
        ring_edges.append((*ids[:at], *new, edge, *ids[at + 1 :]))
    return replace(facet, rings=tuple(rings), ring_edges=tuple(ring_edges))


def _with_facets(facets: Facets, points: np.ndarray, edges: tuple[Edge, ...], changed: dict[int, Facet]) -> Facets:
    return replace(
        facets,
        points=points,
        edges=edges,
        facets=tuple(changed.get(facet.id, facet) for facet in facets.facets),
    )
