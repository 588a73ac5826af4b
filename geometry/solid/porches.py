"""Porches: small bodies that stand on the ground against a wall of the house, cut off where they meet it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import MultiPoint

from ..tolerance import SNAP, UPRIGHT
from .cut_faces import cut_pieces
from .facets import ShellKind
from .merge import Regions
from .mesh import Mesh
from .pieces import Apart, take_apart
from .shells import Side
from .solid import Role, Solid
from .upstands import inner_point, looks_down, points_of

__all__ = ["PORCH_SHARE", "cut_porches", "lean_on_walls"]

#: A porch covers at most this share of its house's plan; what is larger is a house of its own.
PORCH_SHARE = 0.35

#: At least this share of a porch's own plan lies outside the house.
_OUTSIDE = 0.5

#: What reaches less than this before a wall is no porch, mm: a step, a plinth.
_LEAST = 10.0

#: A face is level within this, 1 less the cosine of its slope (0.8 degrees).
_LEVEL = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class _Wall:
    """A wall of a house seen from outside: its regions, outward normal and a point of its plane, (3,) each.

    Where a break parts it, it has more than one region. along: (3,) unit, level; run: from where to where it goes
    along that, mm.
    """

    regions: tuple[int, ...]
    outward: np.ndarray
    centre: np.ndarray
    along: np.ndarray
    run: tuple[float, float]

    def before(self, points: np.ndarray) -> np.ndarray:
        """Return how far points, (k, 3) mm, lie before the wall, (k,); negative behind it."""
        off: np.ndarray = (points - self.centre) @ self.outward
        return off


def cut_porches(solid: Solid, mesh: Mesh, regions: Regions, sides: Sequence[Side], bodies: np.ndarray) -> Apart | None:
    """Return the solid with every porch cut off at the wall it stands against; None where there is none to cut.

    What lies behind the wall or in its plane is left out, and so is a porch's floor: it stands on that of the house.
    bodies: (n,) number of the body of every point of the solid.
    """
    found = [(k, wall) for k, wall in _against(mesh, regions, sides)]
    if not found:
        return None
    owners, cut = list(range(len(solid.faces))), solid
    first = [int(bodies[ring[0]]) if ring else 0 for ring in solid.faces]
    dropped: set[int] = set()
    for number, (k, wall) in enumerate(found):
        faces = np.flatnonzero(np.isin(regions.of_face, sides[k].regions))
        low = float(mesh.points[mesh.start[np.isin(mesh.face, faces)], 2].min())
        given = set(mesh.ids[faces].tolist())
        floor = (np.abs(mesh.normal[faces, 2]) > 1.0 - _LEVEL) & (mesh.centre[faces, 2] < low + SNAP)
        dropped |= set(mesh.ids[faces[floor]].tolist())
        before = len(cut.faces)
        own = [face for face, owner in enumerate(owners) if owner in given]
        cut, origins = cut_pieces(cut, own, wall.centre, wall.outward, role=Role.PLAIN)
        owners += [owners[origin] for origin in origins[before:]]
        for face in [face for face, owner in enumerate(owners) if owner in given]:
            first[owners[face]] = int(bodies.max()) + 1 + number
            if wall.before(inner_point(cut, face)[None])[0] <= SNAP or owners[face] in dropped:
                dropped.add(-1 - face)
    kept = [face for face in range(len(cut.faces)) if -1 - face not in dropped]
    return take_apart(cut, [cut.faces[face] for face in kept], kept, [first[owners[face]] for face in kept])


def lean_on_walls(mesh: Mesh, regions: Regions, sides: Sequence[Side]) -> tuple[Side, ...]:
    """Return the shells, with those that end at a wall of the house told on which one they stand."""
    leaning = dict(_against(mesh, regions, sides))
    return tuple(
        replace(
            side,
            kind=ShellKind.SOLID,
            reverse=looks_down(mesh, regions, side),
            stands_on=leaning[k].regions,
        )
        if k in leaning and not side.closed and leaning[k].before(points_of(mesh, regions, side)).min() > -SNAP
        else side
        for k, side in enumerate(sides)
    )


def _against(mesh: Mesh, regions: Regions, sides: Sequence[Side]) -> Iterator[tuple[int, _Wall]]:
    """Yield the shells that are porches, each with the wall that it stands against."""
    hulls = [MultiPoint(points_of(mesh, regions, side)[:, :2]).convex_hull for side in sides]
    lows = [float(points_of(mesh, regions, side)[:, 2].min()) for side in sides]
    for k, side in enumerate(sides):
        if side.kind is ShellKind.ROOF or side.stands_on or not _has_walls(regions, side):
            continue
        for j, house in enumerate(sides):
            large = hulls[k].area <= PORCH_SHARE * hulls[j].area and abs(lows[k] - lows[j]) < SNAP
            outside = shapely.difference(hulls[k], hulls[j]).area >= _OUTSIDE * hulls[k].area > 0.0
            if j == k or house.kind is ShellKind.ROOF or house.stands_on or not large or not outside:
                continue
            points = points_of(mesh, regions, side)
            wall = next((wall for wall in _walls(mesh, regions, house) if _meets(points, wall)), None)
            if wall is not None and not _is_chain(points, regions, side, wall):
                yield k, wall
                break


def _has_walls(regions: Regions, side: Side) -> bool:
    return bool(np.any(np.abs(regions.normal[list(side.regions), 2]) < UPRIGHT))


def _is_chain(points: np.ndarray, regions: Regions, side: Side, wall: _Wall) -> bool:
    """Return whether a shell is nothing but walls that end at a wall: a wing, whose roof is a surface of its own."""
    own = list(side.regions)
    upright = np.abs(regions.normal[own, 2]) < UPRIGHT
    off = np.abs((regions.centre[own] - wall.centre) @ wall.outward)
    return bool(upright.all() and off.min() > SNAP and wall.before(points).min() > -SNAP)


def _walls(mesh: Mesh, regions: Regions, side: Side) -> Iterator[_Wall]:
    own = np.array(side.regions)
    left = own[np.abs(regions.normal[own, 2]) < UPRIGHT].tolist()
    while left:
        first = left[0]
        normal = regions.normal[first] * (-1.0 if side.reverse else 1.0)
        same = [
            region
            for region in left
            if float(regions.normal[region] @ regions.normal[first]) > 1.0 - _LEVEL
            and abs(float((regions.centre[region] - regions.centre[first]) @ normal)) < SNAP
        ]
        left = [region for region in left if region not in same]
        along = np.array([-normal[1], normal[0], 0.0])
        at = mesh.points[mesh.start[np.isin(regions.of_face[mesh.face], same)]] @ along
        yield _Wall(tuple(same), normal, regions.centre[first], along, (float(at.min()), float(at.max())))


def _meets(points: np.ndarray, wall: _Wall) -> bool:
    """Whether a shell with these corners, (k, 3) mm, reaches from a wall outward, between the wall's ends."""
    before, at = wall.before(points), points @ wall.along
    inside = at.min() > wall.run[0] - SNAP and at.max() < wall.run[1] + SNAP
    return bool(inside and before.min() <= SNAP and before.max() >= _LEAST and before.max() > -before.min())
