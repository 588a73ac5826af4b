"""Walls without a floor: their bends are so near to one another that no tab finds room between them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ..findings import Finding, Location, Severity, place
from ..settings import BuildSettings
from ..solid.facets import Facets, Shell, ShellKind
from ..solid.solid import Role
from ..unfold.round_walls import least_radius, round_corners, tight_walls
from ..unfold.section import Foot, Sections
from ..unfold.tabs import LEAST_RUN

__all__ = ["check_floorless"]


def check_floorless(facets: Facets, sections: Sections, feet: Sequence[Foot], settings: BuildSettings) -> list[Finding]:
    """Say of every ring of walls that gets no floor, since no wall has room for a tab, from which size it would.

    feet: all that stand on floors. Walls whose bottom bends into them have a floor of another kind.
    """
    standing = {facets.facets[foot.facet].shell for foot in feet}
    tight = {wall.shell.id for wall in tight_walls(facets, settings)}
    return [
        Finding(
            Severity.NOTE,
            "no-floor",
            f"No floor is cut for the walls of '{_source(facets, shell)}': between their bends no tab finds room"
            + _cure(facets, shell, settings),
            Location(
                faces=tuple(face for facet in shell.facets for face in facets.facets[facet].faces),
                source=_source(facets, shell),
                point=place(facets.outline_points(shell).mean(axis=0)),
            ),
        )
        for shell in _bare_rings(facets, sections)
        if shell.id not in standing and shell.id not in tight  # what is too tight to bend is told by itself
    ]


def _bare_rings(facets: Facets, sections: Sections) -> Iterator[Shell]:
    """Yield the shells of walls that became boards and bend upright alone."""
    for shell in facets.shells:
        if shell.kind is not ShellKind.WALLS or shell.stands_on or not set(shell.facets) & sections.part_of.keys():
            continue
        bends = [edge for edge in facets.edges if edge.left in shell.facets and edge.role is Role.FLEX]
        if bends and all(wall.upright for edge in bends if edge.right is not None for wall in facets.pair(edge)):
            yield shell


def _cure(facets: Facets, shell: Shell, settings: BuildSettings) -> str:
    corners = round_corners(facets, shell)
    if not corners:
        return f"; make one of them {LEAST_RUN:.0f} mm longer"
    height = facets.length(corners[0])
    outside = corners[0].angle < 0.0
    least = least_radius(settings.walls, len(corners), height, settings.hinge, between=LEAST_RUN, outside=outside)
    return f"; it would from a radius of {math.ceil(least)} mm on"


def _source(facets: Facets, shell: Shell) -> str:
    return facets.source_of(facets.facets[shell.facets[0]])
