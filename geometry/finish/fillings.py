"""Fillings on walls: the lines of doors and shutters that are shut for good, drawn where a wall's board stands in.

What stands in a leaf is drawn with the leaf; this is for openings without one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import Dressing, Joiner, Panel, Part
from ..solid.cut_openings import wall_of
from ..solid.facets import Facets
from ..solid.filling import FILLED, fill
from ..solid.opening import Opening
from ..tolerance import SNAP
from ..unfold.section import Sections
from .lines import cut_away
from .own import OwnDrawing, draw_own

__all__ = ["draw_fillings", "without_lines"]

#: An opening stands no farther than this from the face of its wall, mm: half a common square, as for cutting it.
_NEAR = 12.7


def draw_fillings(
    facets: Facets, sections: Sections, joiners: Sequence[Joiner], parts: Sequence[Part]
) -> tuple[Part, ...]:
    """Return the parts with the lines of fillings on walls; a finish ends at a door that is shut for good."""
    filled = [opening for opening in facets.openings if opening.filling is not None and opening.leaf is None]
    drawings = [drawing for opening in filled for drawing in [_drawing(facets, opening)] if drawing is not None]
    if not drawings:
        return tuple(parts)
    cleared = [_cleared(part, filled) for part in parts]
    return draw_own(facets, sections, joiners, cleared, drawings)[0]


def _drawing(facets: Facets, opening: Opening) -> OwnDrawing | None:
    """Return the lines of a filling, and the outline of what is shut, in the model."""
    wall = wall_of(facets, opening)
    assert opening.filling is not None
    if wall is None:
        return None
    frame = facets.facets[wall].frame
    outline = Polygon(frame.flatten(opening.points))
    filled = fill(outline, opening.filling)
    if not filled.lines:
        return None
    edge = () if filled.panes else (np.asarray(outline.exterior.coords),)
    return OwnDrawing(FILLED, tuple(frame.raise_(line) for line in (*edge, *filled.lines)))


def _outline_in(panel: Panel, opening: Opening) -> Polygon | None:
    """Return an opening in the part frame of a panel, mm; None where the panel is not its wall."""
    points = panel.stands.back(opening.points)
    outline = Polygon(points[:, :2])
    flat = float(np.ptp(points[:, 2])) < _NEAR / 2 and abs(float(points[:, 2].mean())) < _NEAR
    return outline if flat and outline.is_valid and outline.intersects(Polygon(panel.ring)) else None


def _cleared(part: Part, filled: Sequence[Opening]) -> Part:
    """Return a part without the lines of finishes where a filling stands."""
    if not part.dressings:
        return part
    places = [
        place
        for panel in part.panels
        if panel.facet >= 0
        for opening in filled
        for place in [_outline_in(panel, opening)]
        if place is not None
    ]
    if not places:
        return part
    return without_lines(part, shapely.union_all(places))


def without_lines(part: Part, area: shapely.Geometry) -> Part:
    """Return a part without the lines of finishes in an area of its frame, as where a board is glued over them."""
    free = shapely.box(*part.outline.buffer(_NEAR).bounds).difference(area.buffer(SNAP, join_style="mitre"))
    kept = []
    for dressing in part.dressings:
        lines = cut_away(dressing.lines, area, free)
        if lines:
            kept.append(Dressing.of(dressing.finish, dressing.way, lines))
    return replace(part, dressings=tuple(kept))
