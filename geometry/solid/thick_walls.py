"""Thick walls: a building modelled with the thickness of its board has two skins; the inner one is what is meant.

The reference face of a board is the inside of the room, so the skin that faces the room stays and the outer one, the
strips between them and the reveals of openings go. The board is as thick as its stock, whatever the model shows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, Severity
from ..tolerance import UPRIGHT
from .connected import connected
from .facets import ShellKind
from .merge import Regions
from .mesh import Mesh
from .pieces import Apart, take_apart
from .shells import Side
from .solid import Solid

__all__ = ["take_inner_skins"]

#: Skins are so far apart, mm: from the thinnest card to the thickest board that anyone folds a building from.
_THINNEST, _THICKEST = 0.8, 8.0

#: Skins of one wall lie over one another with this share of the smaller one at the least.
_OVER = 0.5

#: Skins make up this share of all upright faces at the least; the rest are reveals and ends of walls.
_MOST = 0.6

#: Normals of skins are parallel within this (1 less the cosine, 1.8 degrees).
_PARALLEL = 5e-4


@dataclass(frozen=True, slots=True, eq=False)
class _Skins:
    """Pairs of upright regions that are the two skins of a wall, and how far they are apart, mm."""

    pairs: tuple[tuple[int, int, float], ...]

    @property
    def regions(self) -> np.ndarray:
        """All regions that are skins, each once."""
        return np.unique([region for one, two, _ in self.pairs for region in (one, two)])

    @property
    def thickness(self) -> float:
        """How thick walls are in the middle, mm."""
        return float(np.median([apart for *_, apart in self.pairs]))


def take_inner_skins(
    solid: Solid, mesh: Mesh, regions: Regions, sides: Sequence[Side], bodies: np.ndarray
) -> tuple[Apart | None, tuple[Finding, ...]]:
    """Return the solid with the inner skins alone where walls have two, and what to say of it; None for no change.

    bodies: (n,) number of the body of every point of the solid.
    """
    solids = [side for side in sides if side.kind is ShellKind.SOLID]
    own = np.unique(np.concatenate([np.array(side.regions, dtype=int) for side in solids])) if solids else np.zeros(0)
    upright = own[np.abs(regions.normal[own.astype(int), 2]) < UPRIGHT].astype(int)
    skins = _Skins(tuple(_pairs(mesh, regions, upright)))
    if not skins.pairs:
        return None, ()
    area = np.bincount(regions.of_face, weights=mesh.area, minlength=len(regions.normal))
    inner = _inner(mesh, regions, skins)
    if inner is None or area[skins.regions].sum() < _MOST * area[upright].sum():
        return None, tuple(_slabs(solid, mesh, regions, solids, skins, area))
    kept = _facing_the_room(regions, mesh, own.astype(int), skins, inner)
    faces = np.flatnonzero(~np.isin(regions.of_face, own) | np.isin(regions.of_face, kept))
    given = sorted(mesh.ids[faces].tolist())
    labels = [int(bodies[solid.faces[k][0]]) for k in given]
    note = _note(solid, mesh, regions, inner, skins.thickness)
    return take_apart(solid, [solid.faces[k] for k in given], given, labels), (note,)


def _pairs(mesh: Mesh, regions: Regions, upright: np.ndarray) -> Iterator[tuple[int, int, float]]:
    """Yield the upright regions that lie over one another as far apart as a board is thick, and how far, mm."""
    normal, centre = regions.normal, regions.centre
    for one, two in combinations(upright.tolist(), 2):
        apart = abs(float((centre[two] - centre[one]) @ normal[one]))
        if not _THINNEST <= apart <= _THICKEST or abs(float(normal[one] @ normal[two])) < 1.0 - _PARALLEL:
            continue
        shapes = [_seen_along(mesh, regions, region, normal[one]) for region in (one, two)]
        if shapes[0].intersection(shapes[1]).area >= _OVER * min(shape.area for shape in shapes):
            yield one, two, apart


def _seen_along(mesh: Mesh, regions: Regions, region: int, normal: np.ndarray) -> BaseGeometry:
    """Return the shape of an upright region as it is seen along a level direction, mm."""
    across = np.array([[-normal[1], normal[0], 0.0], [0.0, 0.0, 1.0]]).T
    rings = [mesh.points[mesh.start[mesh.face == face]] @ across for face in np.flatnonzero(regions.of_face == region)]
    return shapely.union_all([shapely.make_valid(Polygon(ring)) for ring in rings])


def _inner(mesh: Mesh, regions: Regions, skins: _Skins) -> np.ndarray | None:
    """Return the skins that face a room; None where skins do not fall into one outer ring and rings within it."""
    one = np.flatnonzero(mesh.mate > np.arange(len(mesh.mate)))
    a, b = regions.of_face[mesh.face[one]], regions.of_face[mesh.face[mesh.mate[one]]]
    both = np.isin(a, skins.regions) & np.isin(b, skins.regions)
    ring = connected(len(regions.normal), a[both], b[both])
    plans = {
        label: _hull(mesh, regions, np.flatnonzero(ring == label)) for label in np.unique(ring[skins.regions]).tolist()
    }
    outer = max(plans, key=lambda label: (plans[label].area, -label))
    within = all(plans[outer].contains(plan) for label, plan in plans.items() if label != outer)
    if not within or any((ring[a] == outer) == (ring[b] == outer) for a, b, _ in skins.pairs):
        return None
    return skins.regions[ring[skins.regions] != outer]


def _hull(mesh: Mesh, regions: Regions, own: np.ndarray) -> BaseGeometry:
    halves = np.isin(regions.of_face[mesh.face], own)
    return MultiPoint(mesh.points[mesh.start[halves], :2]).convex_hull


def _facing_the_room(regions: Regions, mesh: Mesh, own: np.ndarray, skins: _Skins, inner: np.ndarray) -> np.ndarray:
    """Return the inner skins and what hangs together with them without a strip or a reveal: floor, lid, slopes."""
    count = len(regions.normal)
    one = np.flatnonzero(mesh.mate >= 0)
    a, b = regions.of_face[mesh.face[one]], regions.of_face[mesh.face[mesh.mate[one]]]
    outer = np.setdiff1d(skins.regions, inner)
    others = np.setdiff1d(own, skins.regions)
    beside_outer, beside_inner = (np.zeros(count, dtype=bool) for _ in range(2))
    beside_outer[a[np.isin(b, outer)]] = True
    beside_inner[a[np.isin(b, inner)]] = True
    kept = set(inner.tolist())
    front = [int(region) for region in others if beside_inner[region] and not beside_outer[region]]
    while front:
        here = front.pop()
        if here in kept or not _is_broad(mesh, regions, here, skins.thickness):
            continue
        kept.add(here)
        front += [k for k in np.unique(b[a == here]).tolist() if k in others and not beside_outer[k]]
    return np.array(sorted(kept))


def _is_broad(mesh: Mesh, regions: Regions, region: int, thickness: float) -> bool:
    """Whether a region is wider than a strip or a reveal of a wall."""
    faces = np.flatnonzero(regions.of_face == region)
    points = mesh.points[mesh.start[np.isin(mesh.face, faces)]]
    return float(mesh.area[faces].sum()) > 2.0 * thickness * float(np.linalg.norm(np.ptp(points, axis=0)))


def _note(solid: Solid, mesh: Mesh, regions: Regions, inner: np.ndarray, thickness: float) -> Finding:
    faces = np.flatnonzero(np.isin(regions.of_face, inner))
    source = solid.sources[solid.face_sources[int(mesh.ids[faces[0]])]]
    return Finding(
        Severity.NOTE,
        "walls-of-two-faces",
        f"'{source}' has walls {thickness:.2g} mm thick: their inner faces are taken as the walls, of board as "
        "thick as its stock",
        mesh.location_of(solid, faces),
    )


def _slabs(
    solid: Solid, mesh: Mesh, regions: Regions, sides: Sequence[Side], skins: _Skins, area: np.ndarray
) -> Iterator[Finding]:
    """Yield a warning for bodies that are two skins and little else: walls modelled as boxes one beside another."""
    flat = [side for side in sides if _is_slab(side, skins, area)]
    if not flat:
        return
    faces = np.flatnonzero(np.isin(regions.of_face, [region for side in flat for region in side.regions]))
    source = solid.sources[solid.face_sources[int(mesh.ids[faces[0]])]]
    own = set(flat[0].regions)
    thickness = min(apart for one, two, apart in skins.pairs if one in own and two in own)
    walls = f"{len(flat)} walls are bodies" if len(flat) > 1 else "A wall is a body"
    yield Finding(
        Severity.WARNING,
        "walls-of-two-faces",
        f"{walls} {thickness:.2g} mm thick in '{source}', and every face would be a board; keep only the faces "
        "toward the room and join them at the corners",
        mesh.location_of(solid, faces),
    )


def _is_slab(side: Side, skins: _Skins, area: np.ndarray) -> bool:
    own = set(side.regions)
    paired = {region for one, two, _ in skins.pairs if one in own and two in own for region in (one, two)}
    return float(area[list(paired)].sum()) > _MOST * float(area[list(own)].sum()) if paired else False
