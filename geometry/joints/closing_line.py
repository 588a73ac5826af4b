"""The line of a closure: where the room-side faces of two boards meet, and the directions about it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets
from ..tolerance import SNAP
from ..unfold.section import Sections, outward
from ..unfold.setbacks import stock_for

__all__ = ["ClosingLine", "closing_line"]


@dataclass(frozen=True, slots=True, eq=False)
class ClosingLine:
    """A closure seen from the room.

    start: (3,) mm, where the line begins; along: its direction; length, mm. ``out`` holds for each side
    (a, b) the unit normal of its board away from the room, ``into`` the direction in its face away from
    the line, at right angles to it. For one who looks against ``out`` side a lies left of ``along``.
    angle: bend, radians, + where the boards turn away from each other's outside. panels: per side the
    board's outline in (distance along the line, distance into the face). parts, faces: per side.
    """

    edge: Edge
    start: np.ndarray
    along: np.ndarray
    length: float
    angle: float
    out: tuple[np.ndarray, np.ndarray]
    into: tuple[np.ndarray, np.ndarray]
    panels: tuple[Polygon, Polygon]
    parts: tuple[str, str]

    @property
    def down(self) -> np.ndarray:
        """The direction in the bisecting plane, at right angles to the line, into the room."""
        both = -(self.out[0] + self.out[1])
        return both / np.linalg.norm(both)

    @property
    def across(self) -> np.ndarray:
        """The normal of the bisecting plane, from side a to side b."""
        both = self.into[1] - self.into[0]
        return both / np.linalg.norm(both)


def closing_line(facets: Facets, sections: Sections, edge: Edge, settings: BuildSettings) -> ClosingLine | None:
    """Return the line of a parted edge, or None where a side of it became no part."""
    pair = facets.pair(edge)
    if not all(facet.id in sections.part_of for facet in pair):
        return None
    side = outward(facets, pair[0], settings)
    ends = facets.ends(edge) if side > 0 else facets.ends(edge)[::-1]
    length = float(np.linalg.norm(ends[1] - ends[0]))
    along = (ends[1] - ends[0]) / length
    out = (pair[0].frame.n * side, pair[1].frame.n * side)
    into = (np.cross(out[0], along), np.cross(along, out[1]))
    start = ends[0]
    if side < 0:
        # the room-side faces lie a board's thickness from the modelled ones
        bisector = (pair[0].frame.n + pair[1].frame.n) / np.linalg.norm(pair[0].frame.n + pair[1].frame.n)
        thickness = stock_for(facets, pair[0], settings).thickness
        start = start + bisector * thickness / math.cos(edge.angle / 2)
    panels = tuple(
        _outline(sections, facet, start, along, direction) for facet, direction in zip(pair, into, strict=True)
    )
    return ClosingLine(
        edge=edge,
        start=start,
        along=along,
        length=length,
        angle=edge.angle * side,
        out=out,
        into=into,
        panels=(panels[0], panels[1]),
        parts=(sections.part_of[pair[0].id], sections.part_of[pair[1].id]),
    )


def _outline(sections: Sections, facet: Facet, start: np.ndarray, along: np.ndarray, into: np.ndarray) -> Polygon:
    """Return a moved-back facet in coordinates along the line and into the face."""
    rings = [
        (facet.frame.raise_(ring.points) - start) @ np.column_stack([along, into])
        for ring in sections.setbacks.facets[facet.id].rings
    ]
    # the parted side itself is no bound: what is glued there may reach the line
    shape: Polygon = Polygon(rings[0], rings[1:]).buffer(SNAP, join_style="mitre")
    return shape
