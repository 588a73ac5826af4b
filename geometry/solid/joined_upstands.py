"""Joined upstands: dormers and chimneys that were modelled into the surface of a roof.

Their faces meet the slopes in lines where the surface folds inward, and meet one another in lines where it folds
outward. So the regions that hang together over outward folds are one body; one that has walls, and meets others
only on their slopes, is taken off, and the slopes are closed below it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from ..tolerance import AREA, COPLANAR_ANGLE, UPRIGHT
from .connected import connected
from .facets import ShellKind
from .merge import Regions
from .mesh import Mesh
from .pieces import Apart, take_apart
from .shells import Side
from .solid import Solid

__all__ = ["detach_upstands"]

#: A slope is closer to level than this, 1 less the cosine (2.6 degrees): what stands on it stands on a floor.
_LEVEL = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class _Upstand:
    """Regions to be taken off, and the half-edges, on their own side, where they meet the slopes below."""

    regions: np.ndarray
    foot: np.ndarray


def detach_upstands(
    solid: Solid, mesh: Mesh, regions: Regions, sides: Sequence[Side], bodies: np.ndarray
) -> Apart | None:
    """Return the solid with every joined upstand as a body of its own over closed slopes; None where there is none.

    bodies: (n,) number of the body of every point of the solid.
    """
    found = [upstand for side in sides for upstand in _upstands(mesh, regions, side)]
    if not found:
        return None
    number = np.zeros(len(regions.normal), dtype=int)
    for k, upstand in enumerate(found):
        number[upstand.regions] = int(bodies.max()) + 1 + k
    rings = list(solid.faces)
    owners = list(range(len(rings)))
    labels = [int(bodies[ring[0]]) if ring else 0 for ring in rings]
    for face, given in enumerate(mesh.ids.tolist()):
        own = int(number[regions.of_face[face]])
        labels[given] = own or labels[given]
    for upstand in found:
        for ring, host in _fills(mesh, regions, upstand):
            given = int(mesh.ids[host])
            rings.append(tuple(ring[::-1] if mesh.turned[host] else ring))
            owners.append(given)
            labels.append(labels[given])
    return take_apart(solid, rings, owners, labels)


def _upstands(mesh: Mesh, regions: Regions, side: Side) -> Iterator[_Upstand]:
    """Yield the bodies within one shell that stand on slopes of it."""
    if side.kind in (ShellKind.WALLS, ShellKind.ROOF):
        return
    own = np.array(side.regions)
    rise = regions.normal[own, 2]
    halves = np.flatnonzero(np.isin(regions.of_face[mesh.face], own))
    inner = halves[mesh.mate[halves] >= 0]
    here, there = regions.of_face[mesh.face[inner]], regions.of_face[mesh.face[mesh.mate[inner]]]
    inner, here, there = (values[here != there] for values in (inner, here, there))
    upward = _upward(mesh, regions, side)
    inward = upward * _fold(mesh, regions, inner, here, there) < -COPLANAR_ANGLE
    body = connected(len(regions.normal), here[~inward], there[~inward])
    sloped = np.zeros(len(regions.normal), dtype=bool)
    sloped[own] = (np.abs(rise) > UPRIGHT) & (upward * rise < 1.0 - _LEVEL) & (upward * rise > 0.0)
    crossing = body[here] != body[there]
    standing = {
        label
        for label in np.unique(body[own[np.abs(rise) < UPRIGHT]]).tolist()
        if _stands(mesh, regions, halves, body, label, inner[crossing & (body[here] == label)], sloped)
    }
    for label in sorted(standing):
        mine = crossing & (body[here] == label)
        if standing.isdisjoint(body[there[mine]].tolist()):
            yield _Upstand(np.flatnonzero(body == label), inner[mine])


def _upward(mesh: Mesh, regions: Regions, side: Side) -> float:
    """Return 1 where the normals of a shell look out of it, -1 where they look into it."""
    if side.closed:
        return -1.0 if side.reverse else 1.0
    # level faces do not tell: a floor looks down as a roof looks up
    own = np.array(side.regions)
    sloped = own[np.abs(regions.normal[own, 2]) < 1.0 - _LEVEL]
    faces = np.flatnonzero(np.isin(regions.of_face, sloped))
    return -1.0 if float(mesh.normal[faces, 2] @ mesh.area[faces]) < 0.0 else 1.0


def _fold(mesh: Mesh, regions: Regions, halves: np.ndarray, here: np.ndarray, there: np.ndarray) -> np.ndarray:
    """Return the angle between the regions on both sides of half-edges, radians, + where the far one turns away."""
    along = mesh.points[mesh.end[halves]] - mesh.points[mesh.start[halves]]
    along /= np.linalg.norm(along, axis=1)[:, None]
    one, two = regions.normal[here], regions.normal[there]
    fold: np.ndarray = np.arctan2(np.einsum("ij,ij->i", np.cross(one, two), along), np.einsum("ij,ij->i", one, two))
    return fold


def _stands(
    mesh: Mesh,
    regions: Regions,
    halves: np.ndarray,
    body: np.ndarray,
    label: int,
    foot: np.ndarray,
    sloped: np.ndarray,
) -> bool:
    """Whether a body meets others on their slopes alone, and none of its own free edges reaches down to them."""
    if not len(foot) or not sloped[regions.of_face[mesh.face[mesh.mate[foot]]]].all():
        return False
    free = halves[(mesh.mate[halves] < 0) & (body[regions.of_face[mesh.face[halves]]] == label)]
    return not np.isin([mesh.start[free], mesh.end[free]], [mesh.start[foot], mesh.end[foot]]).any()


def _fills(mesh: Mesh, regions: Regions, upstand: _Upstand) -> Iterator[tuple[tuple[int, ...], int]]:
    """Yield the faces that close the slopes under an upstand: points in order, and a face of the slope each lies in."""
    host = mesh.face[mesh.mate[upstand.foot]]
    slope = regions.of_face[host]
    for region in np.unique(slope).tolist():
        mine = upstand.foot[slope == region]
        for ring in _chains(mesh, mine):
            frame = mesh.points[list(ring)] - regions.centre[region]
            seen = [axis for axis in range(3) if axis != int(np.abs(regions.normal[region]).argmax())]
            shape = Polygon(frame[:, seen]) if len(ring) > 2 else Polygon()
            if shape.is_valid and shape.area > AREA:
                yield ring, int(host[slope == region][0])


def _chains(mesh: Mesh, halves: np.ndarray) -> Iterator[tuple[int, ...]]:
    """Yield the points of half-edges that follow one another, rows without an end as well as rings."""
    after = dict(zip(mesh.start[halves].tolist(), mesh.end[halves].tolist(), strict=True))
    firsts = sorted(set(after) - set(after.values()))
    while after:
        first = firsts.pop(0) if firsts else min(after)
        chain = [first]
        while chain[-1] in after:
            chain.append(after.pop(chain[-1]))
        yield tuple(chain[:-1] if chain[-1] == first else chain)
