"""Shells: the connected surfaces of a solid, what they are built as, and to which side their board grows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..findings import Finding, Location, Severity
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
    for label in np.unique(mesh.shell):
        faces = np.flatnonzero(mesh.shell == label)
        own = np.unique(regions.of_face[faces])
        halves = np.flatnonzero(np.isin(mesh.face, faces))
        closed = bool(np.all(mesh.mate[halves] >= 0))
        upright = np.abs(regions.normal[own, 2]) < _UPRIGHT
        findings: tuple[Finding, ...] = ()
        plan = None if closed or not upright.any() else _plan_ring(mesh, regions, own[upright], halves)
        rise = regions.normal[own, 2]
        others_level = bool(np.all(np.abs(np.abs(rise[~upright]) - 1.0) < _UPRIGHT))
        if closed:
            kind, reverse = ShellKind.SOLID, _volume(mesh, faces) < 0
        elif plan is not None and others_level and int((~upright).sum()) <= 1:
            kind, reverse = ShellKind.WALLS, plan < 0
        elif not upright.any() and (np.all(rise > 0) or np.all(rise < 0)):
            kind, reverse = ShellKind.ROOF, bool(rise[0] < 0)
        else:
            kind, reverse = ShellKind.SOLID, plan is not None and plan < 0
            if plan is None and mesh.turned[faces].any():
                findings = (_unclear(solid, mesh, faces),)
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
    standing = set(upright.tolist())
    near: dict[int, dict[int, np.ndarray]] = {region: {} for region in standing}
    for half, a, b in zip(inner.tolist(), one.tolist(), two.tolist(), strict=True):
        if a != b and a in standing and b in standing:
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


def _unclear(solid: Solid, mesh: Mesh, faces: np.ndarray) -> Finding:
    hosts = tuple(int(solid.face_ids[k]) for k in mesh.ids[faces])
    return Finding(
        Severity.ERROR,
        "unclear-board-side",
        f"The normals of neighbouring faces among {', '.join(map(str, hosts[:6]))} point to different sides, so it is "
        "unclear to which side the board grows; recalculate the normals.",
        Location(
            faces=hosts,
            source=solid.sources[solid.face_sources[int(mesh.ids[faces[0]])]],
            point=tuple(float(x) for x in mesh.centre[faces].mean(axis=0)),
        ),
    )


def lowest_level(points: np.ndarray, normal: np.ndarray, centre: np.ndarray) -> bool:
    """Return whether a region is level and lies at the bottom of ``points``, (k, 3) mm."""
    return abs(abs(float(normal[2])) - 1.0) < _UPRIGHT and float(centre[2]) < float(points[:, 2].min()) + SNAP
