"""How wide the cheeks of a joiner are: as set, or narrower where bends, openings or walls beside it leave less."""

from __future__ import annotations

import math
from dataclasses import replace

from ..settings import BuildSettings, JoinerSettings
from ..solid.facets import Edge, Facets
from ..tolerance import SNAP
from .clear_wall import taken_stretches
from .met_walls import met_stretches
from .setbacks import Setbacks

__all__ = ["clear_beside", "joiner_at", "least_cheeks"]

#: Cheeks are made narrower as long as they hold this much of every wall end, mm (common practice, no source).
_LEAST_HOLD = 5.0

#: Widths of narrower cheeks are whole multiples of this, mm, so that a rule can tell them.
_WIDTH_STEP = 0.5


def least_cheeks(joiner: JoinerSettings) -> float:
    """Return the least width of cheeks that still hold both walls, mm; no more than they are set to."""
    return min(joiner.cheek_width, joiner.core_width + 2 * (joiner.gap + _LEAST_HOLD))


def clear_beside(setbacks: Setbacks, facets: Facets, edge: Edge, settings: BuildSettings) -> float:
    """Return the distance from a break line to what a joiner must not meet, mm; infinite where nothing is near."""
    near = math.inf
    for facet in facets.pair(edge):
        moved = setbacks.facets[facet.id]
        at = facets.u_of(edge, facet)
        taken = [*taken_stretches(moved, but=moved.side_of(edge)), *met_stretches(facets, facet, settings)]
        near = min([near, *(max(low - at, at - high, 0.0) for low, high in taken)])
    return near


def joiner_at(setbacks: Setbacks, facets: Facets, edge: Edge, settings: BuildSettings) -> JoinerSettings:
    """Return the joiner for a break line: the one that is set, its cheeks narrower where there is less room.

    Where even the least cheeks find no room it is the one that is set; ``check_break_lines`` says so.
    """
    joiner = settings.joiner
    room = 2 * (clear_beside(setbacks, facets, edge, settings) - joiner.margin)
    if room >= joiner.cheek_width - SNAP or room < least_cheeks(joiner) - SNAP:
        return joiner
    width = math.floor((room + SNAP) / _WIDTH_STEP) * _WIDTH_STEP
    return replace(joiner, cheek_width=max(width, least_cheeks(joiner)))
