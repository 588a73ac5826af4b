"""Walls that cannot be built of their board, told in one sentence before any part is made.

The reasons are those of the sections' own checks, in the words of one who chooses sizes and sees no faces yet.
"""

from __future__ import annotations

import math

import numpy as np

from ..board.wishes import HingeWishes
from ..errors import BadSettingError
from ..settings import BuildSettings
from ..solid.facets import Edge, Facets, ShellKind
from ..solid.solid import Role
from ..tolerance import SNAP
from ..unfold.cheeks import least_cheeks
from ..unfold.section_checks import short_sides
from ..unfold.setbacks import Setbacks, find_setbacks, least_axis, strained_bends

__all__ = ["refuse_unbuildable_walls", "refuse_unparted_walls"]

#: Lengths are advised in steps of half a square.
_STEP = 0.5


def refuse_unbuildable_walls(facets: Facets, settings: BuildSettings, *, square: float) -> None:
    """Raise BadSettingError where walls are too low for their corners to bend, or too short between two corners.

    square: side of a square, mm.
    """
    corners = _corners(facets)
    strained = strained_bends(facets, [edge.id for edge in corners], settings)
    if strained:
        edge = facets.edges[max(sorted(strained), key=strained.__getitem__)]
        raise BadSettingError(_too_low(facets, edge, settings))
    setbacks = find_setbacks(facets, [edge.id for edge in corners], settings)
    short = [
        (ring.lengths[side], ring.lost[side], least)
        for facet in _walls(facets)
        for ring in setbacks.facets[facet].rings[:1]
        for _, side, least in short_sides(setbacks.lattices, setbacks.facets[facet])
    ]
    if short:
        length, lost, least = max(short, key=lambda entry: entry[2] - entry[0])
        squares = math.ceil(least / square / _STEP) * _STEP
        wide = any(
            lattice.inside_radius > settings.hinge.inside_radius + SNAP for lattice in setbacks.lattices.values()
        )
        raise BadSettingError(
            f"A wall is {length:.1f} mm long, and the bends at its ends take {lost:.1f} mm in {settings.walls.label}; "
            f"make it at least {squares:g} square{'' if squares == 1.0 else 's'} long"
            f"{', or the walls higher, so that they bend tighter' if wide else ''}"
        )


def refuse_unparted_walls(facets: Facets, settings: BuildSettings, *, longest: float) -> None:
    """Raise BadSettingError that says why no choice of breaks opens a ring of walls. longest: of a part, mm."""
    setbacks = find_setbacks(facets, [edge.id for edge in _corners(facets)], settings)
    joiner = settings.joiner
    need = least_cheeks(joiner) + 2 * joiner.margin
    room = max(_level_run(setbacks, facet) for facet in _walls(facets))
    if room < need:
        raise BadSettingError(
            f"A joiner needs {need:g} mm of straight wall, and beside its bends no wall has more than {room:.1f} mm; "
            "make a wall longer, or the joiner's cheeks narrower"
        )
    raise BadSettingError(
        f"No choice of breaks keeps every section of these walls within the {longest:.0f} mm that stock and laser "
        "take; choose lower or shorter walls, or a larger sheet or laser"
    )


def _walls(facets: Facets) -> tuple[int, ...]:
    return tuple(
        facet.id for facet in facets.facets if facet.upright and facets.shell_of(facet).kind is ShellKind.WALLS
    )


def _corners(facets: Facets) -> tuple[Edge, ...]:
    """Return the upright edges that bend, all round every ring."""
    walls = set(_walls(facets))
    return tuple(edge for edge in facets.edges if edge.role is Role.FLEX and edge.left in walls and edge.right in walls)


def _too_low(facets: Facets, edge: Edge, settings: BuildSettings) -> str:
    height = facets.length(edge)
    if settings.hinge.wishes != HingeWishes():
        return (
            f"Walls {height:g} mm high do not bend in {settings.walls.label} with the hinge sizes that are fixed; "
            "free them in Hinge"
        )
    least = least_axis(settings.walls, abs(edge.angle), settings.hinge)
    cure = "choose another board for them" if least is None else f"make them at least {least:.0f} mm high"
    return f"Walls {height:g} mm high are too low for their corners to bend in {settings.walls.label}; {cure}"


def _level_run(setbacks: Setbacks, facet: int) -> float:
    """Return the run of a wall between its bends, mm; of a gable, which is no wider than its neighbours, nothing."""
    ring = setbacks.facets[facet].rings[0].points
    top = ring[ring[:, 1] > ring[:, 1].max() - SNAP, 0]
    return float(np.ptp(top))
