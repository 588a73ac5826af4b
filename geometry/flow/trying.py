"""Trying nets with the maker's settings: other nets of roofs and bodies, and what overruling an edge costs."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from ..outcome import Settings
from ..progress import SILENT, Progress
from ..propose.alternatives import Cost, HostEdge, ShellNets, cost_of, try_nets
from ..solid.solid import Role, Solid
from .limits import check_settings, check_size, largest_piece

__all__ = ["costs_of_overruling", "nets_to_try"]


def nets_to_try(
    solid: Solid, settings: Settings, given: Collection[HostEdge] = (), progress: Progress = SILENT
) -> tuple[ShellNets, ...]:
    """Return the nets of every roof and other body, the proposed one first (see ``try_nets``).

    given: edges whose marks the tool gave. Raises BadSettingError for settings or a size that nothing is cut with.
    """
    check_settings(settings)
    check_size(solid)
    largest = largest_piece(settings.walls, settings.lasers)
    return try_nets(
        solid, settings.as_cut, largest=largest, wall_face=settings.face.value, given=given, progress=progress
    )


def costs_of_overruling(
    solid: Solid, settings: Settings, edges: Collection[HostEdge], roles: Sequence[Role], given: Collection[HostEdge]
) -> tuple[Cost, ...]:
    """Return for each role what changes where the maker gives it to edges (see ``cost_of``).

    Raises BadSettingError as ``nets_to_try`` does.
    """
    check_settings(settings)
    check_size(solid)
    largest = largest_piece(settings.walls, settings.lasers)
    costs: list[Cost] = []
    for role in roles:
        before = costs[0].before if costs else None
        costs.append(
            cost_of(
                solid,
                edges,
                role,
                settings.as_cut,
                largest=largest,
                wall_face=settings.face.value,
                given=given,
                before=before,
            )
        )
    return tuple(costs)
