"""Shells: the connected surfaces of a solid, what they are built as, and to which side their board grows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..sentence import FaceRef, Listed, Sentence
from ..tolerance import AREA, SNAP, UPRIGHT
from .facets import ShellKind
from .merge import Regions
from .mesh import Mesh
from .solid import Solid

__all__ = ["Side", "faces_out", "lowest_level", "sort_shells"]

#: A facet whose normal is closer to upright than this is level (1 less the cosine of its slope, 0.8 degrees).
_LEVEL = 1e-4


@dataclass(frozen=True, slots=True)
class Side:
    """One shell before its facets are drawn: its regions, kind, and whether its faces must be reversed.

    stands_on: the regions that it ends on, as a dormer does on slopes and a porch at a wall.
    """

    regions: tuple[int, ...]
    kind: ShellKind
    closed: bool
    reverse: bool
    findings: tuple[Finding, ...]
    stands_on: tuple[int, ...] = ()


def sort_shells(solid: Solid, mesh: Mesh, regions: Regions) -> tuple[Side, ...]:
    """Return the shells of a mesh in the order of their first faces.

    Closed shells grow outward; rings of walls away from the plan they enclose; roofs upward; open walls
    and other open shells as their faces are turned, with a finding where those disagreed.
    """
    sides = []
    for label in np.flatnonzero(mesh.shell == np.arange(len(mesh.shell))):
        faces = np.flatnonzero(mesh.shell == label)
        own = np.unique(regions.of_face[faces])
        halves = np.flatnonzero(mesh.shell[mesh.face] == label)
        closed = bool(np.all(mesh.mate[halves] >= 0))
        upright = np.abs(regions.normal[own, 2]) < UPRIGHT
        findings: tuple[Finding, ...] = ()
        outward = None if closed or not upright.any() else faces_out(mesh, regions, own[upright], halves)
        rise = regions.normal[own, 2]
        points = mesh.points[mesh.start[halves]]
        floor_only = all(lowest_level(points, regions.normal[r], regions.centre[r]) for r in own[~upright])
        if closed:
            kind, reverse = ShellKind.SOLID, _volume(mesh, faces) < 0
        elif outward is not None and floor_only and int((~upright).sum()) <= 1:
            kind, reverse = ShellKind.WALLS, not outward
        elif not upright.any() and (np.all(rise > 0) or np.all(rise < 0)):
            kind, reverse = ShellKind.ROOF, bool(rise[0] < 0)
        else:
            # walls that close no ring, such as those of a ruin or between rooms, are walls all the same
            kind, reverse = ShellKind.WALLS if upright.all() else ShellKind.SOLID, outward is False
            turned = mesh.turned[faces]
            if outward is None and turned.any():
                # the side that more of the surface was given counts until the maker has mended it
                reverse = float(mesh.area[faces[turned]].sum()) > float(mesh.area[faces[~turned]].sum())
                findings = (_unclear(solid, mesh, faces, faces[turned ^ reverse]),)
        sides.append(Side(tuple(int(r) for r in own), kind, closed, bool(reverse), findings))
    return tuple(sides)


def _volume(mesh: Mesh, faces: np.ndarray) -> float:
    """Return the signed volume of a closed shell, mm^3 (divergence theorem over flat faces)."""
    middle = mesh.centre[faces].mean(axis=0)
    return float(np.einsum("ij,ij->i", mesh.centre[faces] - middle, mesh.normal[faces]) @ mesh.area[faces]) / 3.0


def faces_out(mesh: Mesh, regions: Regions, upright: np.ndarray, halves: np.ndarray) -> bool | None:
    """Return whether the normals of upright regions point away from the plan that they enclose.

    None where the walls form no rings. Several rings count together: round a courtyard the normals
    that point away from the rooms point into the court.
    """
    joints = _joints(mesh, regions, upright, halves)
    middle = regions.centre[upright].mean(axis=0)
    flux = 0.0
    for region in upright.tolist():
        normal = regions.normal[region]
        along = np.array([places @ (-normal[1], normal[0]) for places in joints[region]])
        if len(along) < 2 or float(np.ptp(along)) < SNAP:
            return None
        # a wall that others meet between its ends is part of no ring
        if len(along) > 2 and np.any((along > along.min() + SNAP) & (along < along.max() - SNAP)):
            return None
        flux += float((regions.centre[region] - middle) @ normal) * float(np.ptp(along))
    # twice the enclosed plan area (divergence theorem), negative where the normals point inward
    return None if abs(flux) < AREA else flux > 0.0


def _joints(mesh: Mesh, regions: Regions, upright: np.ndarray, halves: np.ndarray) -> dict[int, list[np.ndarray]]:
    """Return for each upright region the plan points, (2,) mm, where it meets other ones in a rising line."""
    inner = halves[mesh.mate[halves] > halves]
    one, two = regions.of_face[mesh.face[inner]], regions.of_face[mesh.face[mesh.mate[inner]]]
    meet = (one != two) & np.isin(one, upright) & np.isin(two, upright)
    pair = np.sort(np.column_stack([one[meet], two[meet]]), axis=1)
    ends = np.stack([mesh.points[mesh.start[inner[meet]]], mesh.points[mesh.end[inner[meet]]]])
    run, middle = np.abs(ends[1] - ends[0]), ends.mean(axis=0)
    joints: dict[int, list[np.ndarray]] = {region: [] for region in upright.tolist()}
    lines, which = np.unique(pair, axis=0, return_inverse=True)
    for k, (a, b) in enumerate(lines.tolist()):
        own = which.reshape(-1) == k
        level, rise = np.hypot(run[own, 0], run[own, 1]).sum(), run[own, 2].sum()
        if rise > level:
            place_ = middle[own, :2].mean(axis=0)
            joints[a].append(place_)
            joints[b].append(place_)
    return joints


def _unclear(solid: Solid, mesh: Mesh, faces: np.ndarray, odd: np.ndarray) -> Finding:
    hosts = tuple(int(solid.face_ids[k]) for k in mesh.ids[odd])
    source = solid.sources[solid.face_sources[int(mesh.ids[odd[0]])]]
    return Finding(
        Severity.ERROR,
        "unclear-board-side",
        Sentence.of(
            "The normal of ",
            Listed(tuple(FaceRef(host, source) for host in hosts)),
            f" point{'s' if len(hosts) == 1 else ''} to the other side than those of the {len(faces) - len(odd)} "
            "faces joined to it, so the side of the board is unclear; recalculate the normals.",
        ),
        Location(faces=hosts, source=source, point=place(mesh.centre[odd[0]])),
    )


def lowest_level(points: np.ndarray, normal: np.ndarray, centre: np.ndarray) -> bool:
    """Return whether a region is level and lies at the bottom of ``points``, (k, 3) mm."""
    return abs(abs(float(normal[2])) - 1.0) < _LEVEL and float(centre[2]) < float(points[:, 2].min()) + SNAP
