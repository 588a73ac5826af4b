"""Flashing lines: scored on the outside of a wall where the underside of a lower roof ends at it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..part import Way
from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets, ShellKind
from ..unfold.met_walls import ends_at
from ..unfold.section import outward
from .own import OwnDrawing

__all__ = ["find_flashings"]

#: What the lines are called where lines are listed, and what they keep from edges, openings and slits, mm.
_NAME, _EDGE = "Flashing", 0.5


def find_flashings(facets: Facets, settings: BuildSettings) -> tuple[OwnDrawing, ...]:
    """Return the lines along which lower wings' and porches' roofs meet the outside of the walls behind them.

    They show where the roof sits, on the wall's outer face, and are scored like any drawing of the maker.
    """
    strokes = tuple(
        _on_outside(facets, slope, edge, wall, settings)
        for slope in facets.facets
        if not slope.upright and _is_lower_roof(facets, slope)
        for edge in facets.edges_of(slope)
        for wall in _walls_at(facets, slope, edge)
    )
    return (OwnDrawing(_NAME, strokes, Way.SCORE, _EDGE),) if strokes else ()


def _is_lower_roof(facets: Facets, slope: Facet) -> bool:
    shell = facets.shell_of(slope)
    return facets.is_porch(shell) or (shell.kind is ShellKind.ROOF and not shell.stands_on)


def _walls_at(facets: Facets, slope: Facet, edge: Edge) -> Iterator[Facet]:
    """Yield the first of the walls at which a slope ends: one plane may hold several, parted by breaks."""
    wall = next((wall for wall in facets.facets if ends_at(facets, slope, edge, wall)), None)
    if wall is not None:
        yield wall


def _on_outside(facets: Facets, slope: Facet, edge: Edge, wall: Facet, settings: BuildSettings) -> np.ndarray:
    """Return the line where the modelled face of a slope passes the outer face of a wall, (2, 3) mm.

    It is moved into the wall's modelled face: of all faces that it might belong to it lies nearest to that one.
    """
    ends = facets.ends(edge)
    out = wall.frame.n
    off = settings.walls.thickness if outward(facets, wall, settings) > 0 else 0.0
    # away from the wall in the plane of the slope, square to its edge
    away = np.cross(ends[1] - ends[0], slope.frame.n)
    away = away if away @ out > 0.0 else -away
    return np.asarray(ends + away * off / float(away @ out) - out * off)
