"""Round walls: walls of many shallow corners, and from which radius on a board bends at all of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..board.stock import Stock
from ..findings import Finding, Location, Severity, place
from ..settings import BuildSettings, HingeSettings
from ..solid.facets import Edge, Facets, Shell, ShellKind
from ..solid.solid import Role
from .corner import bend
from .round_seams import ROUND
from .setbacks import lattice_designer

__all__ = ["check_round_walls", "least_radius", "round_corners", "tight_walls"]

#: A wall of so many corners, all of them that shallow, is meant to be round.
_SIDES = 12


@dataclass(frozen=True, slots=True)
class TightWall:
    """A round wall that its board does not bend at every corner.

    parted: its corners that stay parted. sides; radius to its corners and the least that its board would bend to, mm.
    """

    shell: Shell
    parted: tuple[Edge, ...]
    sides: int
    radius: float
    least: float


def tight_walls(facets: Facets, settings: BuildSettings) -> tuple[TightWall, ...]:
    """Return the walls that are round but too tight for their board."""
    found = []
    for shell in facets.shells:
        corners = round_corners(facets, shell)
        parted = tuple(edge for edge in corners if edge.role is Role.CLOSURE)
        if not parted or parted[0].angle < 0.0:
            continue
        points = facets.outline_points(shell)[:, :2]
        radius = float(np.linalg.norm(points - points.mean(axis=0), axis=1).mean())
        least = least_radius(settings.walls, len(corners), facets.length(parted[0]), settings.hinge)
        if radius < least:
            found.append(TightWall(shell, parted, len(corners), radius, least))
    return tuple(found)


def round_corners(facets: Facets, shell: Shell) -> tuple[Edge, ...]:
    """Return the corners of walls that are meant to be round, whichever face is modelled; none of any other shell."""
    corners = tuple(edge for edge in facets.edges if edge.left in shell.facets and _is_corner(facets, edge))
    if shell.kind is not ShellKind.WALLS or len(corners) < _SIDES:
        return ()
    turns = [edge.angle for edge in corners]
    one_way = min(turns) > 0.0 or max(turns) < 0.0
    return corners if one_way and max(map(abs, turns)) <= ROUND else ()


def _is_corner(facets: Facets, edge: Edge) -> bool:
    return edge.right is not None and edge.angle != 0.0 and all(wall.upright for wall in facets.pair(edge))


def least_radius(
    stock: Stock, sides: int, height: float, hinge: HingeSettings, *, between: float = 0.0, outside: bool = False
) -> float:
    """Return the least radius to the corners, mm, of a round wall of so many sides that bends at every corner.

    Between two bends one link of board must stay beyond their slits (see ``section_checks.short_sides``), and
    ``between`` mm at least. outside: the outside face is the modelled one, which bends on a larger radius.
    """
    angle = 2.0 * math.pi / sides
    made = lattice_designer(hinge)(stock, angle, height, hinge.inside_radius)
    setback = bend(-angle if outside else angle, flat_width=made.flat_width, thickness=made.thickness).setback
    side = 2.0 * setback + max(made.link_width + made.opening, between)
    return side / (2.0 * math.sin(math.pi / sides))


def check_round_walls(facets: Facets, settings: BuildSettings) -> tuple[Finding, ...]:
    """Say of every round wall that its board does not bend round from which radius on it would."""
    return tuple(
        Finding(
            Severity.WARNING,
            "round-wall-too-tight",
            f"A round wall has a radius of {wall.radius:.1f} mm, and {settings.walls.label} bends round {wall.sides} "
            f"sides from {math.ceil(wall.least):.0f} mm on; make it wider, or of fewer sides",
            Location(
                faces=tuple(face for facet in wall.shell.facets for face in facets.facets[facet].faces),
                source=facets.source_of(facets.facets[wall.shell.facets[0]]),
                point=place(facets.outline_points(wall.shell).mean(axis=0)),
            ),
        )
        for wall in tight_walls(facets, settings)
    )
