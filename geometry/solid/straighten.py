"""Straightening: a mesh as it comes, with vertices a little astray, becomes the solid that its maker means.

Vertices dragged by hand, rounded by an import or stored in single precision lie off the planes of their faces.
Faces that are flat, upright or level but for that are made so, and edges that are level or upright but for that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..findings import Finding, Location, Severity, place
from ..sentence import PointRef, Sentence
from ..tolerance import AREA, COPLANAR_ANGLE, SNAP, STRAY, STRAY_ANGLE, WELD
from .connected import connected
from .flatten import Surfaces, fit_planes, flatten
from .merge import flat_regions
from .mesh import Mesh, areas, read_mesh
from .needles import without_needles
from .noise import estimate_noise, widths
from .ordering import in_place_order
from .solid import Role, Solid, Straightened

__all__ = ["straighten"]

#: Lengths that noise of some size puts out of line, as a multiple of that size: two ends, off by up to twice it each.
_SPREAD = 4.0

#: Narrow faces turn by so much for noise alone, radians (14 degrees): less than the walls of a tower with 24 sides.
_MOST_TURN = 0.25

#: Shorter lines than this are not made level or upright, mm: they are steps of an arch, or noise alone.
_SHORTEST = 2.0

#: What is told of faces that are left out of the solid.
_LEFT_OUT = ("duplicate-face", "zero-area-face")

#: Points are never moved farther than this, mm: two planes, each within STRAY of its points, at a blunt corner.
_FARTHEST = 3.0 * STRAY


def straighten(solid: Solid) -> Solid:
    """Return a solid whose faces are flat where no vertex needs to move farther than STRAY for it.

    Nothing changes in a solid that is exact but for rounding, or that was straightened before. Raises
    UnreadableError where no face has an area.
    """
    if solid.straightened is not None:
        return solid
    solid = in_place_order(solid)
    mesh = read_mesh(solid)
    left_out = tuple(finding for finding in mesh.findings if finding.code in _LEFT_OUT)
    if left_out:
        solid = _cleaned(solid, mesh)
        mesh = read_mesh(solid)
    noise = estimate_noise(mesh)
    if noise <= WELD:
        return replace(solid, straightened=Straightened(noise, noise, left_out))
    reach = min(_SPREAD * noise, STRAY)
    turn = np.clip(reach / widths(mesh), COPLANAR_ANGLE, _MOST_TURN)
    regions, planes = flat_regions(mesh, turn=turn, reach=reach, sliver=WELD)
    found = _Astray(mesh, regions, *planes, noise=max(noise, float(planes[2].max())))
    held = flatten(mesh.points, found.surfaces())
    moved = np.linalg.norm(held.points - mesh.points, axis=1)
    if moved.max() > _FARTHEST:
        return replace(solid, straightened=Straightened(found.noise, found.usual, left_out))
    points = held.points[mesh.weld]
    points.setflags(write=False)
    stitched = tuple(finding for finding in mesh.findings if finding.code == "edges-stitched")
    done = Straightened(found.noise, found.usual, (*left_out, *stitched, *_notes(solid, mesh, moved)))
    return _without_collapsed(replace(solid, points=points, straightened=done), mesh)


@dataclass(frozen=True, slots=True, eq=False)
class _Astray:
    """A mesh, the flat regions of its faces with STRAY, and what is to become flat, level or upright.

    regions: (f,) region of every face; normal, centre, noise_of as in Regions; noise: how far points are astray
    at most, mm.
    """

    mesh: Mesh
    regions: np.ndarray
    normal: np.ndarray
    centre: np.ndarray
    noise_of: np.ndarray
    noise: float

    @property
    def flat(self) -> np.ndarray:
        """Which regions can be made flat, (r,) bool."""
        return self.noise_of <= STRAY

    @property
    def usual(self) -> float:
        """How far points lie off their planes in half of all regions, mm."""
        return float(np.sort(self.noise_of)[(len(self.noise_of) - 1) // 2])

    def _lean(self) -> tuple[np.ndarray, np.ndarray]:
        """Return by how much every region is out of plumb and out of level over its own size, (r,) mm."""
        high, wide = np.zeros(len(self.normal)), np.zeros(len(self.normal))
        corner = self.regions[self.mesh.face]
        arm = np.abs(self.mesh.points[self.mesh.start] - self.centre[corner])
        np.maximum.at(high, corner, arm[:, 2])
        np.maximum.at(wide, corner, np.hypot(arm[:, 0], arm[:, 1]))
        return np.abs(self.normal[:, 2]) * high, np.hypot(self.normal[:, 0], self.normal[:, 1]) * wide

    def _upright(self) -> np.ndarray:
        return (np.abs(self.normal[:, 2]) < STRAY_ANGLE) & (self._lean()[0] <= self._tolerance)

    def _level(self) -> np.ndarray:
        return (np.hypot(self.normal[:, 0], self.normal[:, 1]) < STRAY_ANGLE) & (self._lean()[1] <= self._tolerance)

    def surfaces(self) -> Surfaces:
        """Return what is to be flattened: the regions, the heights of level edges, the lines of upright ones."""
        mesh = self.mesh
        upright, level = self._upright(), self._level()
        walls = self._one_plane(upright)
        kept = self.flat[self.regions[mesh.face]]
        pairs = np.unique(np.column_stack([mesh.start, walls[self.regions[mesh.face]]])[kept], axis=0)
        used = np.unique(pairs[:, 1])
        normal = self.normal[used].copy()
        normal[upright[used], 2] = 0.0
        normal[level[used]] = np.sign(normal[level[used], 2])[:, None] * [0.0, 0.0, 1.0]
        normal /= np.linalg.norm(normal, axis=1)[:, None]
        pairs = np.concatenate([pairs, self._contacts(walls)])
        used, plane = np.unique(pairs[:, 1], return_inverse=True)
        facets = Surfaces(
            point=pairs[:, 0],
            plane=plane.reshape(-1),
            normal=normal,
            upright=upright[used],
            level=level[used],
            fixed=np.zeros(len(used), dtype=bool),
            ground=np.zeros(len(used), dtype=bool),
        )
        number = np.full(len(self.normal), -1)
        number[used] = np.arange(len(used))
        turned = fit_planes(mesh.points, facets, normal)[0]
        return self._with_lines(self._with_heights(facets), walls, number, turned)

    def _one_plane(self, upright: np.ndarray) -> np.ndarray:
        """Return for every region the first one that lies in the same plane beyond breaks and closures, (r,)."""
        mesh = self.mesh
        half = np.flatnonzero(mesh.mate > np.arange(len(mesh.mate)))
        half = half[np.isin(mesh.role[half], (Role.BREAK, Role.CLOSURE))]
        a, b = self.regions[mesh.face[half]], self.regions[mesh.face[mesh.mate[half]]]
        along = np.einsum("ij,ij->i", self.normal[a], self.normal[b])
        apart = np.abs(np.einsum("ij,ij->i", self.normal[a], self.centre[b] - self.centre[a]))
        same = (along > np.cos(STRAY_ANGLE)) & (apart <= self._tolerance) & (upright[a] == upright[b])
        return connected(len(self.normal), a[same], b[same])

    def _contacts(self, walls: np.ndarray) -> np.ndarray:
        """Return pairs of a point and a plane of another shell that it touches, (k, 2): a wall's top under its roof.

        walls: (r,) what stands for every region.
        """
        mesh = self.mesh
        corners = np.unique(mesh.start)
        shell = np.full(len(mesh.points), -1)
        shell[mesh.start] = mesh.shell[mesh.face]
        touching = [np.zeros((0, 2), dtype=int)]
        for region in np.flatnonzero(self.flat).tolist():
            faces = np.flatnonzero(self.regions == region)
            near = np.abs((mesh.points[corners] - self.centre[region]) @ self.normal[region]) <= self._tolerance
            near &= shell[corners] != mesh.shell[faces[0]]
            if not near.any():
                continue
            frame = np.linalg.svd(self.normal[region][None])[2][1:]
            outlines = [
                shapely.Polygon(mesh.points[mesh.start[mesh.face == face]] @ frame.T) for face in faces.tolist()
            ]
            spots = shapely.points(mesh.points[corners[near]] @ frame.T)
            hit = shapely.dwithin(spots[:, None], np.array(outlines)[None], STRAY).any(axis=1)
            touched = corners[near][hit]
            touching.append(np.column_stack([touched, np.full(len(touched), walls[region])]))
        return np.concatenate(touching)

    def _rims(self) -> np.ndarray:
        """Return the half-edges at which a region ends, (k,)."""
        own = self.regions[self.mesh.face]
        beyond = np.where(self.mesh.mate >= 0, own[self.mesh.mate], -1)
        return np.flatnonzero(own != beyond)

    @property
    def _tolerance(self) -> float:
        """How far ends of level and upright lines differ for noise alone, mm."""
        return float(np.clip(_SPREAD * self.noise, WELD, 2.0 * STRAY))

    def _with_heights(self, facets: Surfaces) -> Surfaces:
        """Add a level plane for every height at which level edges run; heights that are nearly one are one."""
        mesh, rims = self.mesh, self._rims()
        a, b = mesh.start[rims], mesh.end[rims]
        run = mesh.points[b] - mesh.points[a]
        length = np.linalg.norm(run, axis=1)
        level = (
            (np.abs(run[:, 2]) <= self._tolerance) & (np.abs(run[:, 2]) < STRAY_ANGLE * length) & (length > _SHORTEST)
        )
        a, b = a[level], b[level]
        label = connected(len(mesh.points), a, b)
        members = np.unique(np.concatenate([a, b]))
        if not len(members):
            return facets
        height = mesh.points[members, 2]
        groups, which = np.unique(label[members], return_inverse=True)
        which = which.reshape(-1)
        mean = np.bincount(which, weights=height) / np.bincount(which)
        order = np.argsort(mean, kind="stable")
        step = np.concatenate([[0], np.cumsum(np.diff(mean[order]) > self._tolerance)])
        shelf = np.empty(len(groups), dtype=int)
        shelf[order] = step
        at = shelf[which]
        count = int(step[-1]) + 1
        ground = np.abs(np.bincount(at, weights=height) / np.bincount(at)) <= self._tolerance
        yes, no = np.ones(count, dtype=bool), np.zeros(count, dtype=bool)
        return _joined(facets, Surfaces(members, at, np.tile([0.0, 0.0, 1.0], (count, 1)), no, yes, no, ground))

    def _with_lines(self, planes: Surfaces, walls: np.ndarray, number: np.ndarray, normal: np.ndarray) -> Surfaces:
        """Add an upright plane across a wall for every upright line in it: breaks, jambs and free ends.

        walls: (r,) what stands for every region; number: (r,) its plane, -1 for none; normal: (p, 3) of these.
        """
        mesh, rims = self.mesh, self._rims()
        own = walls[self.regions[mesh.face[rims]]]
        mate = mesh.mate[rims]
        beyond = np.where(mate >= 0, walls[self.regions[mesh.face[mate]]], own)
        run = np.abs(mesh.points[mesh.end[rims]] - mesh.points[mesh.start[rims]])
        aside = np.hypot(run[:, 0], run[:, 1])
        stands = self._upright()[own] & (number[own] >= 0) & (own == beyond)
        line = stands & (aside <= self._tolerance) & (aside < STRAY_ANGLE * run[:, 2]) & (run[:, 2] > _SHORTEST)
        own, a, b = own[line], mesh.start[rims][line], mesh.end[rims][line]
        if not len(own):
            return planes
        # a point counts once for every wall that it is in
        many = len(mesh.points)
        label = connected(many * len(self.normal), own * many + a, own * many + b)
        members = np.unique(np.concatenate([own * many + a, own * many + b]))
        _, which = np.unique(label[members], return_inverse=True)
        which = which.reshape(-1)
        wall = np.zeros(int(which.max()) + 1, dtype=int)
        wall[which] = members // many
        across = np.column_stack([-normal[number[wall], 1], normal[number[wall], 0], np.zeros(len(wall))])
        yes, no = np.ones(len(wall), dtype=bool), np.zeros(len(wall), dtype=bool)
        return _joined(planes, Surfaces(members % many, which, across, no, no, yes, no))


def _joined(one: Surfaces, two: Surfaces) -> Surfaces:
    """Return the planes of both, those of the second one numbered on."""
    return Surfaces(
        point=np.concatenate([one.point, two.point]),
        plane=np.concatenate([one.plane, two.plane + len(one.normal)]),
        normal=np.concatenate([one.normal, two.normal]),
        upright=np.concatenate([one.upright, two.upright]),
        level=np.concatenate([one.level, two.level]),
        fixed=np.concatenate([one.fixed, two.fixed]),
        ground=np.concatenate([one.ground, two.ground]),
    )


def _cleaned(solid: Solid, mesh: Mesh) -> Solid:
    """Return a solid without the faces that ``mesh`` leaves out: those without area, and doubles of others."""
    out = set(range(len(solid.faces))) - set(mesh.ids.tolist())
    flat = areas(solid.points, solid.faces) < AREA
    needles = {k for k in out if flat[k] and len(set(solid.faces[k])) > 2}
    kept = [k for k in range(len(solid.faces)) if k not in out or k in needles]
    rest = replace(
        solid,
        faces=tuple(solid.faces[k] for k in kept),
        face_ids=tuple(solid.face_ids[k] for k in kept),
        face_sources=tuple(solid.face_sources[k] for k in kept),
    )
    return without_needles(rest, [place_ for place_, k in enumerate(kept) if k in needles])


def _without_collapsed(solid: Solid, mesh: Mesh) -> Solid:
    """Return a straightened solid without the faces that had an area before, as ``mesh`` has it, and lost it."""
    gone = np.flatnonzero(areas(solid.points, [solid.faces[k] for k in mesh.ids.tolist()]) < AREA)
    return without_needles(solid, mesh.ids[gone].tolist())


def _notes(solid: Solid, mesh: Mesh, moved: np.ndarray) -> tuple[Finding, ...]:
    """Say per object how far its corners moved, where it is more than SNAP. moved: (n,) mm."""
    sources = np.array(solid.face_sources)[mesh.ids][mesh.face]
    found = []
    for source in np.unique(sources).tolist():
        corners = np.unique(mesh.start[sources == source])
        worst = int(corners[np.argmax(moved[corners])])
        if moved[worst] <= SNAP:
            continue
        many = int((moved[corners] > SNAP).sum())
        found.append(
            Finding(
                Severity.NOTE,
                "corners-moved",
                Sentence.of(
                    f"{many} corners of '{solid.sources[source]}' moved by up to {moved[worst]:.2f} mm to make faces "
                    "flat, upright or level: most ",
                    PointRef(place(mesh.points[worst])),
                ),
                Location(source=solid.sources[source], point=place(mesh.points[worst])),
            )
        )
    return tuple(found)
