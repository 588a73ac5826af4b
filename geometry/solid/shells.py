"""Shells: the connected surfaces of a solid, what they are built as, and to which side their board grows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..tolerance import SNAP
from .facets import ShellKind
from .merge import Regions
from .mesh import Mesh
from .solid import Solid

__all__ = ["Side", "sort_shells"]

#: A facet whose normal is closer to level than this stands upright (sine of the lean).
_UPRIGHT = 1e-4


@dataclass(frozen=True, slots=True)
class Side:
    """One shell before its facets are drawn: its regions, kind, and whether its faces must be reversed."""

    regions: tuple[int, ...]
    kind: ShellKind
    closed: bool
    reverse: bool
    findings: tuple[Finding, ...]


def sort_shells(solid: Solid, mesh: Mesh, regions: Regions) -> tuple[Side, ...]:
    """Return the shells of a mesh in the order of their first faces.

    Closed shells grow outward; rings of walls away from the plan they enclose; roofs upward; other
    open shells as their faces are turned, with a finding where those disagreed.
    """
    sides = []
    for label in np.flatnonzero(mesh.shell == np.arange(len(mesh.shell))):
        faces = np.flatnonzero(mesh.shell == label)
        own = np.unique(regions.of_face[faces])
        halves = np.flatnonzero(mesh.shell[mesh.face] == label)
        closed = bool(np.all(mesh.mate[halves] >= 0))
        upright = np.abs(regions.normal[own, 2]) < _UPRIGHT
        findings: tuple[Finding, ...] = ()
        plan = None if closed or not upright.any() else _plan_ring(mesh, regions, own[upright], halves)
        rise = regions.normal[own, 2]
        points = mesh.points[mesh.start[halves]]
        floor_only = all(lowest_level(points, regions.normal[r], regions.centre[r]) for r in own[~upright])
        if closed:
            kind, reverse = ShellKind.SOLID, _volume(mesh, faces) < 0
        elif plan is not None and floor_only and int((~upright).sum()) <= 1:
            kind, reverse = ShellKind.WALLS, plan < 0
        elif not upright.any() and (np.all(rise > 0) or np.all(rise < 0)):
            kind, reverse = ShellKind.ROOF, bool(rise[0] < 0)
        else:
            kind, reverse = ShellKind.SOLID, plan is not None and plan < 0
            turned = mesh.turned[faces]
            if plan is None and turned.any():
                # the side that more of the surface was given counts until the maker has mended it
                reverse = float(mesh.area[faces[turned]].sum()) > float(mesh.area[faces[~turned]].sum())
                findings = (_unclear(solid, mesh, faces, faces[turned ^ reverse]),)
        sides.append(Side(tuple(int(r) for r in own), kind, closed, bool(reverse), findings))
    return tuple(sides)


def _volume(mesh: Mesh, faces: np.ndarray) -> float:
    """Return the signed volume of a closed shell, mm^3 (divergence theorem over flat faces)."""
    middle = mesh.centre[faces].mean(axis=0)
    return float(np.einsum("ij,ij->i", mesh.centre[faces] - middle, mesh.normal[faces]) @ mesh.area[faces]) / 3.0


def _plan_ring(mesh: Mesh, regions: Regions, upright: np.ndarray, halves: np.ndarray) -> float | None:
    """Return the plan area that a ring of upright regions encloses, positive when their normals point outward.

    None where the walls form no simple ring.
    """
    inner = halves[mesh.mate[halves] >= 0]
    one, two = regions.of_face[mesh.face[inner]], regions.of_face[mesh.face[mesh.mate[inner]]]
    corner = (one != two) & np.isin(one, upright) & np.isin(two, upright)
    near: dict[int, dict[int, np.ndarray]] = {region: {} for region in upright.tolist()}
    for half, a, b in zip(inner[corner].tolist(), one[corner].tolist(), two[corner].tolist(), strict=True):
        near[a].setdefault(b, mesh.points[mesh.start[half], :2])
    ring = _ring(near)
    if ring is None:
        return None
    corners = np.array([near[ring[k - 1]][ring[k]] for k in range(len(ring))])
    x, y = corners.T
    area = 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    # facet k runs from corner k to corner k + 1; outward lies to the right of a counter-clockwise ring
    runs = np.roll(corners, -1, axis=0) - corners
    outward = np.column_stack([runs[:, 1], -runs[:, 0]]) * np.sign(area)
    facing = np.einsum("ij,ij->i", outward, regions.normal[ring, :2]).sum()
    return abs(area) * float(np.sign(facing))


def _ring(near: Mapping[int, Mapping[int, object]]) -> list[int] | None:
    first = min(near)
    ring = [first]
    while True:
        steps = [region for region in sorted(near[ring[-1]]) if len(ring) < 2 or region != ring[-2]]
        if len(near[ring[-1]]) != 2 or not steps:
            return None
        if steps[0] == first and len(ring) > 2:
            return ring if len(ring) == len(near) else None
        if steps[0] in ring:
            return None
        ring.append(steps[0])


def _unclear(solid: Solid, mesh: Mesh, faces: np.ndarray, odd: np.ndarray) -> Finding:
    hosts = tuple(int(solid.face_ids[k]) for k in mesh.ids[odd])
    named = f"face {hosts[0]} points" if len(hosts) == 1 else f"faces {', '.join(map(str, hosts[:6]))} point"
    return Finding(
        Severity.ERROR,
        "unclear-board-side",
        f"The normal of {named} to the other side than those of the {len(faces) - len(odd)} faces joined to it, so "
        "the side of the board is unclear; recalculate the normals.",
        Location(
            faces=hosts,
            source=solid.sources[solid.face_sources[int(mesh.ids[odd[0]])]],
            point=place(mesh.centre[odd[0]]),
        ),
    )


def lowest_level(points: np.ndarray, normal: np.ndarray, centre: np.ndarray) -> bool:
    """Return whether a region is level and lies at the bottom of ``points``, (k, 3) mm."""
    return abs(abs(float(normal[2])) - 1.0) < _UPRIGHT and float(centre[2]) < float(points[:, 2].min()) + SNAP
