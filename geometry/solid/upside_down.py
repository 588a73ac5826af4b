"""Upside down: a building whose roof lies below its walls, as an import with another vertical axis leaves it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..tolerance import STRAY, UPRIGHT
from .facets import ShellKind
from .joined_roofs import find_houses
from .merge import Regions, merge_faces
from .mesh import Mesh, read_mesh
from .shells import Side, sort_shells
from .solid import Role, Solid

__all__ = ["check_upside_down"]

#: Half a turn about x.
_TURNED = np.array([1.0, -1.0, -1.0])


def check_upside_down(solid: Solid, mesh: Mesh, regions: Regions, sides: Sequence[Side]) -> tuple[Finding, ...]:
    """Tell of a building whose roof lies below its walls, or that is walls and roof only when it is turned over."""
    kinds = {side.kind for side in sides}
    if {ShellKind.WALLS, ShellKind.ROOF} <= kinds:
        wrong = _hangs_below(mesh, regions, sides)
    else:
        upright = np.abs(regions.normal[:, 2]) < UPRIGHT
        wrong = ShellKind.WALLS not in kinds and bool(upright.any()) and not find_houses(mesh, regions, sides)
        wrong = wrong and not _is_house(solid) and _is_house(replace(solid, points=solid.points * _TURNED))
    if not wrong:
        return ()
    lowest = mesh.points[mesh.start[int(np.argmin(mesh.points[mesh.start, 2]))]]
    source = solid.sources[solid.face_sources[int(mesh.ids[0])]]
    return (
        Finding(
            Severity.ERROR,
            "upside-down",
            f"'{source}' is upside down: its roof lies below its walls; turn it over by 180 degrees",
            Location(source=source, point=place(lowest)),
        ),
    )


def _hangs_below(mesh: Mesh, regions: Regions, sides: Sequence[Side]) -> bool:
    """Whether roofs reach as far down as walls and end below them, as gables on their heads have it."""

    def heights(kind: ShellKind) -> np.ndarray:
        own = [region for side in sides if side.kind is kind for region in side.regions]
        return mesh.points[mesh.start[np.isin(regions.of_face[mesh.face], own)], 2]

    walls, roofs = heights(ShellKind.WALLS), heights(ShellKind.ROOF)
    return bool(roofs.min() < walls.min() + STRAY and roofs.min() + roofs.max() < walls.min() + walls.max() - STRAY)


def _is_house(solid: Solid) -> bool:
    """Whether a solid has walls and a roof as it lies; marks are left aside, which say nothing of that."""
    plain = replace(solid, edge_roles=(Role.PLAIN,) * len(solid.edges))
    mesh = read_mesh(plain)
    regions = merge_faces(plain, mesh)
    return bool(find_houses(mesh, regions, sort_shells(plain, mesh, regions)))
