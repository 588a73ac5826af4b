"""How deep stops reach: measured on the standing boards, wall by wall, and told where a roof would slide off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from ..findings import Finding, Location, Severity
from ..part import Part, PartKind, standing_corners
from ..solid.facets import Facets
from ..tolerance import SNAP

__all__ = ["SHALLOW", "Engaged", "check_stops", "engagement"]

#: A stop that reaches less below the wall's top lets the roof slip over it, mm (common practice, no source).
SHALLOW = 1.5

#: A stop further before its wall than this belongs to another one, mm: a cheek and clearances lie between.
_BEFORE = 8.0

#: How the ids of inner cheeks end.
_INNER_CHEEK = "-inner"

#: Walls and stops whose directions differ by less than this hold in the same direction (cosine).
_SAME_WAY = 0.7


@dataclass(frozen=True, slots=True)
class Engaged:
    """A stop beside a wall part: the level direction in which it holds the roof, (x, y), and its depth, mm."""

    stop: str
    wall: str
    out: tuple[float, float]
    depth: float


def engagement(facets: Facets, parts: Sequence[Part]) -> tuple[Engaged, ...]:
    """Return for every stop and the wall that it stands before how far it reaches below that wall's top, mm.

    The inner cheek of a joiner, which stands on the wall, counts as a wall. Measured square to the top edge, at the
    corners of the stop's face toward the wall.
    """
    walls = [
        (part, panel)
        for part in parts
        if part.kind in (PartKind.WALL, PartKind.PANEL) or part.id.endswith(_INNER_CHEEK)
        for panel in part.panels
        if panel.facet >= 0 and facets.is_wall(facets.facets[panel.facet])
    ]
    found = []
    for stop in parts:
        if stop.kind is not PartKind.STOP:
            continue
        corners = standing_corners(stop, stop.panels[0])
        for part, panel in walls:
            out = facets.facets[panel.facet].frame.n
            # the face toward the room is the one that the board does not grow from, whichever was modelled
            flat = panel.stands.back(corners)
            z = flat[:, 2] * np.sign(panel.stands.z @ out)
            inner = min(0.0, part.board_side * float(np.sign(panel.stands.z @ out)) * part.thickness)
            before = inner - z
            near = before < before.min() + SNAP
            if not 0.0 < before.min() < _BEFORE:
                continue
            depths = [_below_top(panel.ring, point) for point in flat[near, :2]]
            deep = max((depth for depth in depths if depth is not None), default=None)
            if deep is not None and deep > 0.0:
                found.append(Engaged(stop.id, part.id, (float(out[0]), float(out[1])), deep))
    return tuple(found)


def _below_top(ring: np.ndarray, point: np.ndarray) -> float | None:
    """Return how far a point of a wall's plane, (2,) mm, lies below the wall's top, square to it; None beside it."""
    x, y = float(point[0]), float(point[1])
    low, high = float(ring[:, 1].min()), float(ring[:, 1].max())
    over = shapely.intersection(Polygon(ring), LineString([(x, low - 1.0), (x, high + 1.0)]))
    if over.is_empty:
        return None
    top = float(over.bounds[3])
    sides = np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)
    # the top side there, whose slope makes the way square to it shorter than the upright one
    for (ax, ay), (bx, by) in sides.tolist():
        if min(ax, bx) - SNAP <= x <= max(ax, bx) + SNAP and abs(bx - ax) > SNAP:
            height = ay + (by - ay) * (x - ax) / (bx - ax)
            if abs(height - top) < SNAP:
                return (top - y) * abs(bx - ax) / float(np.hypot(bx - ax, by - ay))
    return top - y


def check_stops(facets: Facets, parts: Sequence[Part]) -> tuple[Finding, ...]:
    """Return a warning for each direction in which walls stand and no stop holds the roof. Code: stop-shallow."""
    roofs = [part for part in parts if part.kind is PartKind.ROOF]
    held = engagement(facets, parts)
    if not roofs or not held:
        return ()
    ways: dict[tuple[float, float], str] = {}
    for part in parts:
        for panel in part.panels:
            if part.kind is PartKind.WALL and panel.facet >= 0:
                out = np.round(facets.facets[panel.facet].frame.n[:2], 3)
                ways.setdefault((float(out[0]), float(out[1])), part.id)
    findings = []
    for way, wall in ways.items():
        depths = [stop.depth for stop in held if float(np.dot(stop.out, way)) > _SAME_WAY]
        deepest = max(depths, default=0.0)
        if deepest < SHALLOW:
            findings.append(
                Finding(
                    Severity.WARNING,
                    "stop-shallow",
                    f"Toward the outside of {wall} the roof's stops reach {deepest:.1f} mm below the wall's top where "
                    f"{SHALLOW:g} mm hold; glue strips of scrap there that reach lower.",
                    Location(part=wall),
                )
            )
    return tuple(findings)
