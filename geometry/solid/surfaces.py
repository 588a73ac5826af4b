"""Surfaces: a solid read as the shells that it consists of, what stands on a roof parted from it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..findings import Finding
from .joined_roofs import part_roofs
from .joined_upstands import detach_upstands
from .merge import Regions, merge_faces
from .mesh import Mesh, read_mesh
from .porches import cut_porches, lean_on_walls
from .shells import Side, sort_shells
from .solid import Solid
from .thick_walls import take_inner_skins
from .upside_down import check_upside_down
from .upstands import cut_upstands, leave_out_tips, stand_on_roofs

__all__ = ["Surfaces", "read_surfaces"]


@dataclass(frozen=True, slots=True, eq=False)
class Surfaces:
    """A solid as its parts are made from it, with its mesh, flat regions and shells, and what was noticed."""

    solid: Solid
    mesh: Mesh
    regions: Regions
    sides: tuple[Side, ...]
    findings: tuple[Finding, ...] = ()


def read_surfaces(solid: Solid, *, over: float | None = None) -> Surfaces:
    """Read the shells of a solid; what stands on a roof is a shell of its own that ends on its slopes.

    What stands against a wall is one that ends at the wall.
    over: how far a roof that is one surface with its walls, and is parted from them, is led over them, mm; None leaves
    it where it is.
    Raises UnreadableError where no face has an area.
    """
    bodies = np.zeros(len(solid.points), dtype=int)
    read = _read(solid, bodies)
    findings: tuple[Finding, ...] = ()
    if over is not None:
        skin, findings = take_inner_skins(read.solid, read.mesh, read.regions, read.sides, bodies)
        if skin is not None:
            bodies = skin.bodies
            read = _read(skin.solid, bodies)
        findings += check_upside_down(read.solid, read.mesh, read.regions, read.sides)
    # a porch first, since with its back wall it looks like a house of its own
    for part in (detach_upstands, cut_porches):
        apart = part(read.solid, read.mesh, read.regions, read.sides, bodies)
        if apart is not None:
            bodies = apart.bodies
            read = _read(apart.solid, bodies)
    houses = None
    if over is not None:
        houses = part_roofs(read.solid, read.mesh, read.regions, read.sides, bodies, over=over)
    if houses is not None:
        apart, told = houses
        findings += told
        bodies = apart.bodies
        read = _read(apart.solid, bodies)
    known = int(bodies.max())
    apart = cut_upstands(read.solid, read.mesh, read.regions, read.sides, bodies)
    if apart is not None:
        bodies = apart.bodies
        read = _read(apart.solid, bodies)
    shorter = leave_out_tips(read.solid, read.mesh, bodies, above=known)
    if shorter is not None:
        bodies = shorter[0].bodies
        read = _read(shorter[0].solid, bodies)
        findings += shorter[1]
    sides = stand_on_roofs(read.mesh, read.regions, read.sides)
    return replace(read, sides=lean_on_walls(read.mesh, read.regions, sides), findings=findings)


def _read(solid: Solid, bodies: np.ndarray) -> Surfaces:
    mesh = read_mesh(solid, bodies)
    regions = merge_faces(solid, mesh)
    return Surfaces(solid, mesh, regions, sort_shells(solid, mesh, regions))
