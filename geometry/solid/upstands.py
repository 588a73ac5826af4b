"""Upstands: dormers and chimneys that stand on a roof, cut off where they meet its slopes.

A maker pushes a body through the roof, or models it into the roof's own surface. Either way the roof stays whole,
as one shell, and what stands on it becomes a shell of its own that ends on the planes of the slopes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from ..findings import Finding, Location, Severity, place
from ..tolerance import SNAP, UPRIGHT
from .cut_faces import cut_pieces
from .facets import ShellKind
from .merge import Regions
from .mesh import Mesh
from .pieces import Apart, take_apart
from .roof_surface import RoofSurface, roof_surface
from .shells import Side
from .solid import Role, Solid

__all__ = ["cut_upstands", "inner_point", "leave_out_tips", "looks_down", "points_of", "stand_on_roofs"]

#: What rises less than this above a roof is no upstand, mm: less than the thinnest board is thick.
_RISE = 1.0

#: Share of its own plan with which an upstand lies over the roof at the least; a dormer's front may stand before it.
_OVER = 0.5

#: ... and what is no body but a small roof of its own, as over a dormer's walls, lies over it as good as wholly.
_ROOF_OVER = 0.95

#: A second piece of one upstand with less than this share of the largest one's area is a tip that came out by chance.
_TIP = 0.15

#: What reaches down to the ground is a tower where it covers more than this share of the roof's plan, else a chimney.
_STACK = 0.2


def cut_upstands(solid: Solid, mesh: Mesh, regions: Regions, sides: Sequence[Side], bodies: np.ndarray) -> Apart | None:
    """Return the solid with every upstand cut off at the slopes it stands on; None where there is none to cut.

    What lies below the roof is left out. Faces of an upstand face outward as its shell does.
    bodies: (n,) number of the body of every point of the solid.
    """
    found = list(_through(mesh, regions, sides))
    if not found:
        return None
    upstand = np.full(len(sides), -1)
    for number, (at, _) in enumerate(found):
        upstand[at] = number
    of_region = np.zeros(len(regions.normal), dtype=int)
    for k, side in enumerate(sides):
        of_region[list(side.regions)] = k
    number_of = upstand[of_region[regions.of_face]]
    given = {int(mesh.ids[face]): int(number_of[face]) for face in np.flatnonzero(number_of >= 0)}
    reverse = {
        int(mesh.ids[face])
        for face in np.flatnonzero(number_of >= 0)
        if mesh.turned[face] ^ sides[of_region[regions.of_face[face]]].reverse
    }
    rings = [ring[::-1] if k in reverse else ring for k, ring in enumerate(solid.faces)]
    cut, owners = replace(solid, faces=tuple(rings)), list(range(len(rings)))
    for number, (_, roof) in enumerate(found):
        own = [face for face in range(len(owners)) if given.get(owners[face], -1) == number]
        cut, owners = _cut_along(cut, owners, own, roof)
    new = int(bodies.max()) + 1
    kept = [
        face
        for face, owner in enumerate(owners)
        if owner not in given or found[given[owner]][1].over(inner_point(cut, face)[None])[0] > SNAP
    ]
    first = [int(bodies[ring[0]]) if ring else 0 for ring in solid.faces]
    labels = [new + given[owners[face]] if owners[face] in given else first[owners[face]] for face in kept]
    return take_apart(cut, [cut.faces[face] for face in kept], kept, labels)


def leave_out_tips(
    solid: Solid, mesh: Mesh, bodies: np.ndarray, *, above: int
) -> tuple[Apart, tuple[Finding, ...]] | None:
    """Return the solid without the tips of upstands that come out of a roof beyond it once more; None where none does.

    bodies: (n,) number of the body of every point, greater than ``above`` for those that a roof has cut.
    """
    body = bodies[mesh.start[np.searchsorted(mesh.face, np.arange(len(mesh.area)))]]
    dropped: set[int] = set()
    findings = []
    for number in np.unique(body[body > above]).tolist():
        labels, at = np.unique(mesh.shell[body == number], return_inverse=True)
        sizes = np.bincount(at, weights=mesh.area[body == number])
        tips = labels[sizes < _TIP * sizes.max()]
        faces = np.flatnonzero((body == number) & np.isin(mesh.shell, tips))
        if len(faces):
            dropped |= set(mesh.ids[faces].tolist())
            findings.append(_tip_note(solid, mesh, faces))
    if not dropped:
        return None
    kept = [face for face in range(len(solid.faces)) if face not in dropped]
    labels_of = [int(bodies[solid.faces[face][0]]) if solid.faces[face] else 0 for face in kept]
    return take_apart(solid, [solid.faces[face] for face in kept], kept, labels_of), tuple(findings)


def _tip_note(solid: Solid, mesh: Mesh, faces: np.ndarray) -> Finding:
    source = solid.sources[solid.face_sources[int(mesh.ids[faces[0]])]]
    points = mesh.points[mesh.start[np.isin(mesh.face, faces)]]
    long = float(np.ptp(points, axis=0).max())
    return Finding(
        Severity.NOTE,
        "upstand-tip-left-out",
        f"'{source}' comes out of the roof a second time, {long:.0f} mm long; that tip is left out, so make it shorter",
        Location(source=source, point=place(points.mean(axis=0))),
    )


def _through(mesh: Mesh, regions: Regions, sides: Sequence[Side]) -> Iterator[tuple[int, RoofSurface]]:
    """Yield the shells that pass through a roof or lie on it with faces of their own, each with its roof."""
    roofs = list(_roofs(mesh, regions, sides))
    # the largest first, so that what stands on a small roof and on the main one is cut by the main one
    roofs.sort(key=lambda roof: -roof[1].plan.area)
    ground = float(mesh.points[mesh.start, 2].min())
    for k, side in enumerate(sides):
        points = points_of(mesh, regions, side)
        for j, roof in roofs:
            if j != k and _stands_through(points, side, roof, ground):
                yield k, roof
                break


def _roofs(mesh: Mesh, regions: Regions, sides: Sequence[Side]) -> Iterator[tuple[int, RoofSurface]]:
    """Yield all that something can stand on, with the number of its shell: roofs, and the slopes of other bodies."""
    for k, side in enumerate(sides):
        own = np.array(side.regions)
        if side.kind is not ShellKind.ROOF:
            rise = regions.normal[own, 2] * (-1.0 if side.reverse else 1.0)
            own = own[(rise > UPRIGHT) & (rise < 1.0 - UPRIGHT)]
        if len(own):
            yield k, roof_surface(mesh, regions, own.tolist())


def _stands_through(points: np.ndarray, side: Side, roof: RoofSurface, ground: float) -> bool:
    """Whether a shell with these corners, (k, 3) mm, rises from below or from the surface of a roof."""
    over = roof.over(points)
    if over.max() < _RISE or over.min() > SNAP:
        return False
    own, plan = MultiPoint(points[:, :2]).convex_hull, roof.plan
    if own.area <= 0.0 or own.area >= plan.area:
        return False
    share = shapely.intersection(own, plan).area / own.area
    if side.kind is ShellKind.ROOF:
        return bool(share >= _ROOF_OVER and over.min() < -SNAP)
    if float(points[:, 2].min()) < ground + SNAP:
        return bool(share >= _ROOF_OVER and own.area < _STACK * plan.area)
    return bool(share >= _OVER)


def points_of(mesh: Mesh, regions: Regions, side: Side) -> np.ndarray:
    """Return the corners of the faces of a shell, (k, 3) mm."""
    own = np.isin(regions.of_face[mesh.face], side.regions)
    points: np.ndarray = mesh.points[np.unique(mesh.start[own])]
    return points


def _cut_along(solid: Solid, owners: Sequence[int], faces: Sequence[int], roof: RoofSurface) -> tuple[Solid, list[int]]:
    """Cut faces along the planes of all slopes below or above them; also return which face every face was at first."""
    corners = solid.points[sorted({point for face in faces for point in solid.faces[face]})]
    hull = MultiPoint(corners[:, :2]).convex_hull
    owners, wanted = list(owners), list(faces)
    near = shapely.distance(roof.plans, hull) <= SNAP
    # a body wholly beyond the edge of a roof stands before the nearest slope
    slopes = np.flatnonzero(near) if near.any() else np.unique(roof.nearest(corners))
    for slope in slopes.tolist():
        before = len(solid.faces)
        solid, origins = cut_pieces(solid, wanted, roof.centres[slope], roof.normals[slope], role=Role.PLAIN)
        owners += [owners[origin] for origin in origins[before:]]
        wanted += range(before, len(solid.faces))
    return solid, owners


def inner_point(solid: Solid, face: int) -> np.ndarray:
    """Return a point inside a face, (3,) mm, also where the face is not convex."""
    ring = solid.points[list(solid.faces[face])]
    middle = ring.mean(axis=0)
    ahead = np.roll(ring, -1, axis=0)
    normal = np.cross(ring - middle, ahead - middle).sum(axis=0)
    down = int(np.abs(normal).argmax())
    seen = [axis for axis in range(3) if axis != down]
    spot = Polygon(ring[:, seen]).buffer(0).representative_point()
    point = middle.copy()
    point[seen] = spot.x, spot.y
    point[down] -= (point - middle) @ normal / normal[down]
    return point


def stand_on_roofs(mesh: Mesh, regions: Regions, sides: Sequence[Side]) -> tuple[Side, ...]:
    """Return the shells, with those that end on slopes of a roof told on which ones they stand.

    Whatever ring its walls make, an upstand is no ring of walls on the ground: it has neither floor nor joiners.
    """
    roofs = list(_roofs(mesh, regions, sides))
    return tuple(_standing(mesh, regions, side, [roof for j, roof in roofs if j != k]) for k, side in enumerate(sides))


def _standing(mesh: Mesh, regions: Regions, side: Side, roofs: Sequence[RoofSurface]) -> Side:
    if side.closed:
        return side
    own = np.isin(regions.of_face[mesh.face], side.regions)
    rim = np.flatnonzero(own & (mesh.mate < 0))
    points = mesh.points[np.unique(mesh.start[own])]
    middles = (mesh.points[mesh.start[rim]] + mesh.points[mesh.end[rim]]) / 2.0
    for roof in roofs:
        over = roof.over(points)
        if over.min() < -SNAP or over.max() < _RISE:
            continue
        on = np.abs(roof.over(middles)) <= SNAP
        near = shapely.distance(roof.plan, shapely.points(middles[:, :2])) <= SNAP
        if not np.any(on & near):
            continue
        slopes = sorted({roof.regions[k] for k in roof.nearest(middles[on & near])})
        kind = side.kind if side.kind is ShellKind.ROOF else ShellKind.SOLID
        return replace(side, kind=kind, reverse=looks_down(mesh, regions, side), stands_on=tuple(slopes))
    return side


def looks_down(mesh: Mesh, regions: Regions, side: Side) -> bool:
    """Whether the faces of an upstand must be reversed: its slopes look up, walls alone look out."""
    faces = np.flatnonzero(np.isin(regions.of_face, side.regions))
    rise = float(mesh.normal[faces, 2] @ mesh.area[faces])
    sloped = bool(np.any(np.abs(regions.normal[list(side.regions), 2]) > UPRIGHT))
    return rise < 0.0 if sloped else side.reverse
