"""Ears on slopes: boards of a roof run on beside the ends of their bends, so that no hole stays open there.

A bend ends square where the first of its two boards turns away, and both boards end at their tangent lines. Between the
end of a bend and the point where roof lines meet, or the eaves, a hole stays open. Each board runs on there as it does
beside a parted edge, up to the roof line itself, where the boards touch once they stand; flat, they lie a little apart.
For an ear to hang on its board by more than a corner, the bend gives a few millimetres of its length away.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from ..part import Panel, Part, PartKind, frozen
from ..polygons import polygons_in
from ..settings import BuildSettings
from ..solid.facets import Edge, Facets, ShellKind
from ..tolerance import AREA, LENGTH, LIGHT, SNAP
from .corner import parted_setback
from .outline import clean_ring, move_sides
from .setbacks import Setbacks, refitted, stock_for, strain

__all__ = ["SlopeEar", "ear_room", "ears_between", "run_on", "with_ears"]

#: A bend gives away at least and at most so much of its length at an end, mm, less in these steps.
_LEAST_GIVEN, _MOST_GIVEN, _STEP = 2.0, 8.0, 0.5

#: Beside an end of a bend that lies nearer than this to the end of its roof line there is no hole worth an ear, mm.
_NEAREST = 1.5

#: An ear hangs on its board over this width where the bend can give so much away, and over no less than the other, mm:
#: as much as a usual board is thick, and two thirds of it (common practice, no source).
_NECK, _LEAST_NECK = 3.0, 2.0

#: What lies between an ear and the board beside it is this much wider than two of a laser's lines, mm: both are cut and
#: do not burn the same place.
_BETWEEN = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class SlopeEar:
    """By what a panel runs on beside the end of a bend, in the part frame, mm."""

    panel: int
    shape: Polygon


def ear_room(facets: Facets, setbacks: Setbacks, settings: BuildSettings) -> Setbacks:
    """Return the setbacks with bends of roofs shortened where ears may run on beside their ends.

    Rows and links of a bend stay as they were; one that its board would not bear any shorter keeps its length.
    """
    lattices, spans = dict(setbacks.lattices), dict(setbacks.spans)
    for edge_id, (low, high) in setbacks.spans.items():
        edge = facets.edges[edge_id]
        if not _on_roof(facets, edge):
            continue
        gaps = low, facets.length(edge) - high
        given = [_wanted(facets, setbacks, edge, k) if gap > _NEAREST else 0.0 for k, gap in enumerate(gaps)]
        stock = stock_for(facets, facets.left(edge), settings)
        while max(given) >= _LEAST_GIVEN:
            span = low + given[0], high - given[1]
            if span[1] - span[0] > lattices[edge_id].least_axis:
                made = refitted(lattices[edge_id], stock, abs(edge.angle), span[1] - span[0])
                if strain(made) <= 1.0:
                    lattices[edge_id], spans[edge_id] = made, span
                    break
            given = [max(less - _STEP, 0.0) for less in given]
    return replace(setbacks, lattices=lattices, spans=spans)


def _wanted(facets: Facets, setbacks: Setbacks, edge: Edge, end: int) -> float:
    """Return how much a bend should give away at its start or end, mm, for the ears there to have a neck."""
    point = (edge.start, edge.end)[end]
    here, there = facets.points[[point, (edge.end, edge.start)[end]]]
    along = (there - here) / np.linalg.norm(there - here)
    wanted = 0.0
    for facet in facets.pair(edge):
        for other in facets.edges_of(facet):
            if other.id == edge.id or point not in (other.start, other.end):
                continue
            away = facets.points[other.start if other.end == point else other.end] - here
            cosine = float(away @ along / np.linalg.norm(away))
            # between two bends a neck runs from end to end, beside any other side square to it
            bent = other.id in setbacks.bends
            share = math.sqrt(2.0 * (1.0 - cosine)) if bent else math.sqrt(1.0 - max(cosine, 0.0) ** 2)
            wanted = max(wanted, (_NECK + 2.0 * LIGHT) / max(share, LENGTH))
    return min(wanted, _MOST_GIVEN)


def run_on(facets: Facets, setbacks: Setbacks, parts: Sequence[Part], settings: BuildSettings) -> tuple[Part, ...]:
    """Return the parts with ears on the slopes of roofs, beside the ends of their bends."""
    apart = max(LIGHT, 2.0 * settings.roof.kerf + _BETWEEN)
    return tuple(
        _with_ears(facets, setbacks, part, apart) if part.kind is PartKind.ROOF and part.lattices else part
        for part in parts
    )


def ears_between(plain: Part, eared: Part) -> tuple[SlopeEar, ...]:
    """Return what panels of a part gained by their ears, without slivers of rounding, which join ears to one."""
    return tuple(
        SlopeEar(index, piece)
        for index, (before, after) in enumerate(zip(plain.panels, eared.panels, strict=True))
        for gained in (Polygon(after.ring).difference(Polygon(before.ring)),)
        for piece in polygons_in(_grown(_grown(gained, -SNAP), SNAP).intersection(gained), above=AREA)
    )


def with_ears(part: Part, ears: Sequence[SlopeEar]) -> Part:
    """Return a part with some of its ears; one that would make its outline close round a hole or cross is left out."""
    for ear in ears:
        body = Polygon(part.panels[ear.panel].ring, part.panels[ear.panel].holes)
        grown = shapely.union_all([body, _grown(ear.shape, 2.0 * LENGTH)], grid_size=LENGTH)
        if isinstance(grown, Polygon):
            part = _in_place(part, ear.panel, orient(grown)) or part
    return part


def _on_roof(facets: Facets, edge: Edge) -> bool:
    shell = facets.shell_of(facets.left(edge))
    return shell.kind is ShellKind.ROOF and not shell.stands_on


def _with_ears(facets: Facets, setbacks: Setbacks, part: Part, apart: float) -> Part:
    """Return a section with ears; apart: what they keep to bends and to other panels in the flat, mm."""
    bends = shapely.union_all([_grown(Polygon(placed.zone), apart) for placed in part.lattices])
    for index, panel in enumerate(part.panels):
        body = Polygon(panel.ring, panel.holes)
        if not body.is_valid:
            continue
        others = [_grown(Polygon(other.ring), apart) for k, other in enumerate(part.panels) if k != index]
        room = _up_to_lines(facets, setbacks, panel, part.thickness).difference(shapely.union_all([bends, *others]))
        grown = _hanging_on(body, room)
        if grown is None:
            continue
        whole = _without_wedges(part, body, grown, apart)
        placed = _in_place(part, index, whole)
        if placed is None:
            # one ear spoils the outline: the others may stay
            ears = shapely.get_parts(whole.difference(body))
            part = with_ears(part, [SlopeEar(index, ear) for ear in ears if ear.area > AREA])
        else:
            part = placed
    return part


def _up_to_lines(facets: Facets, setbacks: Setbacks, panel: Panel, thickness: float) -> shapely.Geometry:
    """Return a panel as it would be if all its bends were parted, in the part frame."""
    moved = setbacks.facets[panel.facet]
    facet = moved.facet
    ring = facets.ring(facet)
    distances = []
    for point, side, edge in zip(ring, moved.rings[0].sides, facets.edges_of(facet), strict=False):
        along = side[1] - side[0]
        inward = np.array([-along[1], along[0]]) / np.hypot(*along)
        bent = edge.id in setbacks.bends
        distances.append(parted_setback(edge.angle, thickness=thickness) if bent else float((side[0] - point) @ inward))
    whole = move_sides(ring, np.array(distances)).points
    return Polygon(panel.stands.back(facet.frame.raise_(whole))[:, :2]).buffer(0.0)


def _hanging_on(body: Polygon, room: shapely.Geometry) -> Polygon | None:
    """Return a panel with all of the room that hangs on it by a neck wide enough, None where nothing does."""
    both = shapely.union_all([body, room], grid_size=LENGTH)
    thick = max(shapely.get_parts(both.buffer(-_LEAST_NECK / 2.0)), key=lambda piece: piece.area, default=Polygon())
    kept = _grown(thick, _LEAST_NECK / 2.0).intersection(room)
    ears = [_grown(piece, 2.0 * LENGTH) for piece in polygons_in(kept, above=_LEAST_NECK**2 / 2.0)]
    grown = shapely.union_all([body, *ears], grid_size=LENGTH)
    return orient(grown) if isinstance(grown, Polygon) and grown.area > body.area + AREA else None


def _without_wedges(part: Part, body: Polygon, grown: Polygon, apart: float) -> Polygon:
    """Return a panel with ears that also fill corners beside them that run out narrower than a laser's line.

    body: the panel without ears.
    """
    bends = shapely.union_all([Polygon(placed.zone) for placed in part.lattices])
    outline = shapely.union_all([part.outline, grown], grid_size=LENGTH)
    radius = apart / 2.0 - LENGTH
    closed = _grown(_grown(outline, radius), -radius)
    beside = _grown(grown.difference(body), apart)
    wedges = [
        _grown(piece, LENGTH)
        for piece in shapely.get_parts(closed.difference(outline).difference(bends))
        if 0.0 < piece.area < apart**2
        and piece.intersects(beside)
        and piece.distance(grown) < LENGTH
        # a sliver of rounding may run along a whole board
        and not _grown(piece, -SNAP).is_empty
    ]
    openings = len(outline.interiors) if isinstance(outline, Polygon) else 0
    for filling in (wedges, *([wedge] for wedge in wedges)):
        filled = shapely.union_all([grown, *filling], grid_size=LENGTH)
        around = shapely.union_all([outline, *filling], grid_size=LENGTH)
        # a wedge at the mouth of what lies between an ear and a bend would shut it
        if isinstance(filled, Polygon) and isinstance(around, Polygon) and len(around.interiors) == openings:
            grown, outline = orient(filled), around
            if filling is wedges:
                break
    return grown


def _in_place(part: Part, index: int, grown: Polygon) -> Part | None:
    """Return a part whose panel is larger, None where its outline would close round a hole or touch itself."""
    outline = shapely.union_all([part.outline, grown], grid_size=LENGTH)
    if not isinstance(outline, Polygon) or len(outline.interiors) != len(part.outline.interiors):
        return None
    ring = frozen(clean_ring(np.asarray(grown.exterior.coords)[:-1]))
    outline = orient(Polygon(clean_ring(np.asarray(outline.exterior.coords)[:-1]), outline.interiors))
    if not (outline.is_valid and Polygon(ring).is_valid):
        return None
    panels = tuple(replace(panel, ring=ring) if k == index else panel for k, panel in enumerate(part.panels))
    return replace(part, outline=outline, panels=panels)


def _grown(shape: Polygon, by: float) -> Polygon:
    """Return a shape grown all round, its corners sharp."""
    return shape.buffer(by, join_style="mitre")
