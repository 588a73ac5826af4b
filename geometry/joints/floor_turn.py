"""Squares askew: those of a floor lie along x and y, so that walls which stand turned cut through them."""

from __future__ import annotations

import math

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..settings import BuildSettings
from ..solid.facets import Facets
from .stretch import plan_turn

__all__ = ["check_turn"]

#: Walls that are turned by less lie along the squares, radians: over 250 mm their ends differ by 0.4 mm, the width
#: of an engraved line.
_ALONG = 0.4 / 250.0

_QUARTER = math.pi / 2.0


def check_turn(facets: Facets, settings: BuildSettings) -> list[Finding]:
    """Say where the walls of a right-angled plan cross the squares of its floor at an angle.

    Of any other plan no turn puts all walls along the squares, and the maker has laid it as it is.
    """
    walls = [facet for facet in facets.facets if facets.is_wall(facet)]
    if not settings.ground.square or not walls:
        return []
    turn = plan_turn(facets)
    ways = np.array([math.atan2(float(wall.frame.u[1]), float(wall.frame.u[0])) - turn for wall in walls])
    right_angled = bool((np.abs(ways - np.round(ways / _QUARTER) * _QUARTER) < _ALONG).all())
    askew = turn - round(turn / _QUARTER) * _QUARTER
    if not right_angled or abs(askew) < _ALONG:
        return []
    return [
        Finding(
            Severity.NOTE,
            "squares-askew",
            f"The floor's squares lie {abs(math.degrees(askew)):.0f} degrees askew to the walls: set the rotation of "
            "the building to 0 (Alt R) to cut them along the walls.",
            Location(
                faces=tuple(face for wall in walls for face in wall.faces),
                source=facets.source_of(walls[0]),
                point=place(np.vstack([facets.corners(wall) for wall in walls]).mean(axis=0)),
            ),
        )
    ]
