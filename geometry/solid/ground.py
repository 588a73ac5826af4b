"""The ground: what of a model lies below it, although the building will stand on its lowest point."""

from __future__ import annotations

from ..findings import Finding, Location, Severity, place
from ..tolerance import SNAP
from .facets import Facets

__all__ = ["check_ground"]


def check_ground(facets: Facets) -> tuple[Finding, ...]:
    """Say which surfaces reach below the ground (z = 0), how deep, and that nothing of them is left out."""
    found = []
    for shell in facets.shells:
        depth = -facets.lowest(shell)
        if depth <= SNAP:
            continue
        own = [facets.facets[facet] for facet in shell.facets]
        points = facets.outline_points(shell)
        source = facets.source_of(own[0])
        where = "all" if points[:, 2].max() <= SNAP else "in part"
        message = (
            f"'{source}' lies {where} below the ground, {depth:.1f} mm deep; it is cut whole and stands on its "
            "lowest point. Move it up, or cut it off at the ground"
        )
        low = Location(source=source, point=place(points[points[:, 2].argmin()]))
        found.append(Finding(Severity.NOTE, "below-ground", message, low))
    return tuple(found)
