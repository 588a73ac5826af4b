"""Joined roofs: a house modelled as one surface, an extruded block with a ridge or a lid, becomes walls and a roof.

A maker who looks into a room lifts its roof off. So where walls form rings that stand on the ground, what slopes or
lies above them is a roof of its own, whether the surface is closed below or open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, Severity
from ..tolerance import LENGTH, SNAP, UPRIGHT
from .facets import ShellKind
from .led_over import led_over
from .merge import Regions
from .mesh import Mesh
from .pieces import Apart, take_apart
from .shells import Side, faces_out, lowest_level
from .solid import Role, Solid

__all__ = ["House", "find_houses", "part_roofs"]

#: Plans whose areas differ by a smaller share are equally large: a roof over the house that it belongs to.
_AS_LARGE = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class House:
    """A surface that is walls and roof in one. cover: its regions that are roof; outward: whether normals look out."""

    side: Side
    cover: np.ndarray
    outward: bool


def part_roofs(
    solid: Solid, mesh: Mesh, regions: Regions, sides: Sequence[Side], bodies: np.ndarray, *, over: float
) -> tuple[Apart, tuple[Finding, ...]] | None:
    """Return the solid with the roof of every house a body of its own, and what to say of it; None without a house.

    over: how far the roof is led over the walls, mm, so that it lies on their boards. bodies: (n,) number of the
    body of every point of the solid.
    """
    houses = find_houses(mesh, regions, sides)
    if not houses:
        return None
    labels = [int(bodies[ring[0]]) if ring else 0 for ring in solid.faces]
    placed: dict[tuple[int, int], np.ndarray] = {}
    found = []
    for k, house in enumerate(houses):
        own = int(bodies.max()) + 1 + k
        faces = np.flatnonzero(np.isin(regions.of_face, house.cover))
        for given in mesh.ids[faces].tolist():
            labels[given] = own
        moved = led_over(mesh, regions, house.cover, over) if over > 0.0 else {}
        welded = mesh.weld.tolist()
        placed |= {(own, point): moved[rep] for point, rep in enumerate(welded) if rep in moved}
        found.append(_note(solid, mesh, regions, house, over if moved else 0.0))
    apart = take_apart(solid, solid.faces, range(len(solid.faces)), labels)
    return _moved(apart, solid, placed), tuple(found)


def find_houses(mesh: Mesh, regions: Regions, sides: Sequence[Side]) -> tuple[House, ...]:
    """Return the shells that are houses of walls and roof in one surface; dormers and chimneys on a roof are none."""
    found = [house for side in sides if (house := _house(mesh, regions, side)) is not None]
    if not found:
        return ()
    under = [_plan(mesh, regions, side) for side in sides if side.kind is ShellKind.ROOF]
    under += [_plan(mesh, regions, house.side) for house in found]
    return tuple(house for house in found if not _within_larger(_plan(mesh, regions, house.side), under))


def _plan(mesh: Mesh, regions: Regions, side: Side) -> BaseGeometry:
    """Return the convex hull of a shell seen from above."""
    halves = np.isin(regions.of_face[mesh.face], side.regions)
    return MultiPoint(mesh.points[mesh.start[halves], :2]).convex_hull


def _within_larger(plan: BaseGeometry, others: Sequence[BaseGeometry]) -> bool:
    """Whether half of a plan or more lies in that of something larger."""
    return any(
        other.area > plan.area * (1.0 + _AS_LARGE) and other.intersection(plan).area > 0.5 * plan.area
        for other in others
    )


def _house(mesh: Mesh, regions: Regions, side: Side) -> House | None:
    """Return what a shell is as a house: rings of walls on the ground, at most one floor, and slopes or lids above."""
    if side.kind is not ShellKind.SOLID or side.stands_on:
        return None
    own = np.array(side.regions)
    halves = np.flatnonzero(np.isin(regions.of_face[mesh.face], own))
    upright = own[np.abs(regions.normal[own, 2]) < UPRIGHT]
    outward = faces_out(mesh, regions, upright, halves) if len(upright) > 2 else None
    if outward is None or not _all_on_the_ground(mesh, regions, upright, halves):
        return None
    points = mesh.points[mesh.start[halves]]
    rest = np.setdiff1d(own, upright)
    floor = np.array([lowest_level(points, regions.normal[k], regions.centre[k]) for k in rest.tolist()], dtype=bool)
    cover = rest[~floor]
    rise = regions.normal[cover, 2] * (1.0 if outward else -1.0)
    if not len(cover) or int(floor.sum()) > 1 or not (rise > 0.0).all():
        return None
    return None if _bent_to_walls(mesh, regions, cover, halves) else House(side, cover, outward)


def _all_on_the_ground(mesh: Mesh, regions: Regions, upright: np.ndarray, halves: np.ndarray) -> bool:
    """Whether every wall reaches down to the lowest level of its surface."""
    region = regions.of_face[mesh.face[halves]]
    height = mesh.points[mesh.start[halves], 2]
    lowest = np.full(len(regions.normal), np.inf)
    np.minimum.at(lowest, region, height)
    return bool((lowest[upright] < height.min() + SNAP).all())


def _bent_to_walls(mesh: Mesh, regions: Regions, cover: np.ndarray, halves: np.ndarray) -> bool:
    """Whether the maker wants a roof to bend into its walls: then they are one piece of board."""
    inner = halves[(mesh.mate[halves] >= 0) & (mesh.role[halves] == Role.FLEX)]
    here, there = (np.isin(regions.of_face[mesh.face[k]], cover) for k in (inner, mesh.mate[inner]))
    return bool((here != there).any())


def _moved(apart: Apart, solid: Solid, placed: dict[tuple[int, int], np.ndarray]) -> Apart:
    """Return bodies with points moved. placed: new place by body and point of ``solid``."""
    if not placed:
        return apart
    new = {(body, *solid.points[point].tolist()): place_ for (body, point), place_ in placed.items()}
    points = apart.solid.points.copy()
    for k, (body, point) in enumerate(zip(apart.bodies.tolist(), apart.solid.points.tolist(), strict=True)):
        points[k] = new.get((body, *point), points[k])
    points.setflags(write=False)
    return replace(apart, solid=replace(apart.solid, points=points))


def _note(solid: Solid, mesh: Mesh, regions: Regions, house: House, over: float) -> Finding:
    faces = np.flatnonzero(np.isin(regions.of_face, house.side.regions))
    first = int(mesh.ids[faces[0]])
    source = solid.sources[solid.face_sources[first]]
    what = "is a closed body" if house.side.closed else "has walls and roof in one surface"
    reaches = f"; the roof reaches {over:.3g} mm over them" if over > LENGTH else ""
    lid = bool((np.abs(regions.normal[house.cover, 2]) > 1.0 - UPRIGHT).all())
    return Finding(
        Severity.NOTE,
        "closed-body",
        f"'{source}' {what}: its walls and its {'lid' if lid else 'roof'} are cut as parts of their own, to be lifted "
        f"off{reaches}",
        mesh.location_of(solid, faces),
    )
