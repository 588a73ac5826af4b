"""Crossed outlines: no board can be cut along a line that crosses itself, so every part is looked at once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from ..findings import Finding, Location, Severity, place
from ..part import Panel, Part, frozen
from ..polygons import largest_polygon
from ..pose import Pose

__all__ = ["check_outlines", "uncrossed"]

#: GEOS names the place of what is wrong, as in "Self-intersection[12 2.8]".
_SPOT = r"\[(\S+) (\S+)\]"


def check_outlines(parts: Sequence[Part]) -> tuple[Finding, ...]:
    """Report every part whose outline, or an opening in it, crosses itself or another one, at the first such place."""
    return tuple(_finding(part, spot) for part in parts if (spot := _crossing(part)) is not None)


def uncrossed(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts with crossed outlines cut down to their largest piece, so that the others can be worked out."""
    return tuple(part if _crossing(part) is None else _cut_down(part) for part in parts)


def _crossing(part: Part) -> np.ndarray | None:
    """Return where a line of a part crosses itself first, (2,) mm in the part frame, or None."""
    shapes = [Polygon(ring) for panel in part.panels for ring in (panel.ring, *panel.holes)]
    # the outline holds every ring of its own, so that most parts are seen to be sound at once
    if part.outline.is_valid and shapely.is_valid(shapes).all():
        return None
    rings = [part.outline.exterior, *part.outline.interiors, *(shape.exterior for shape in shapes)]
    for ring in rings:
        spot = re.search(_SPOT, shapely.is_valid_reason(Polygon(ring)))
        if spot is not None:
            return np.array([float(spot[1]), float(spot[2])])
    spot = re.search(_SPOT, shapely.is_valid_reason(part.outline))
    body, holes = Polygon(part.outline.exterior), [Polygon(hole) for hole in part.outline.interiors]
    if spot is not None and all(body.covers(hole) for hole in holes):  # one that leaves the part is told elsewhere
        return np.array([float(spot[1]), float(spot[2])])
    return None


def _finding(part: Part, spot: np.ndarray) -> Finding:
    faces = part.panels[0].faces if part.panels else ()
    stands = part.panels[0].stands if part.panels else Pose.identity()
    return Finding(
        Severity.ERROR,
        "outline-crosses-itself",
        f"The outline of {part.label} crosses itself {spot[0]:.1f} mm from its left and {spot[1]:.1f} mm from its "
        f"lower end; make the wall straight and flat there.",
        Location(faces=faces, part=part.id, point=place(stands.apply(spot))),
    )


def _cut_down(part: Part) -> Part:
    panels = tuple(
        replace(panel, ring=_ring(_largest(Polygon(panel.ring))), holes=_sound_holes(panel)) for panel in part.panels
    )
    body = Polygon(_largest(Polygon(part.outline.exterior)).exterior)
    holes = [Polygon(hole) for hole in part.outline.interiors if Polygon(hole).is_valid]
    return replace(part, outline=_largest(body.difference(shapely.union_all(holes))), panels=panels)


def _largest(shape: shapely.Geometry) -> Polygon:
    """Return the largest polygon of a shape made valid, its envelope where it has none."""
    largest = largest_polygon(shapely.make_valid(shape))
    return shape.envelope if largest.is_empty else orient(largest)


def _ring(shape: Polygon) -> np.ndarray:
    return frozen(np.array(shape.exterior.coords)[:-1])


def _sound_holes(panel: Panel) -> tuple[np.ndarray, ...]:
    return tuple(hole for hole in panel.holes if Polygon(hole).is_valid)
