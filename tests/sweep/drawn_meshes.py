"""From faces as corners in space to a mesh as a maker's file holds it: shared points, variants of drawing, rounding."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from hooded_roofs import SAME
from mesh_changes import Mesh
from stowfold.geometry.solid.solid import Solid, make_solid

__all__ = ["Drawing", "Stored", "Variant", "draw_solid", "draw_variant"]

Point = tuple[float, float, float]
Chance = np.random.Generator

#: Side of a square, and so of one unit of Blender's scene, mm: what positions are stored in.
_UNIT = 25.4

#: How far vertices lie off, mm, with weights: not at all, as single precision leaves them, snapped with little
#: care, and moved by hand.
_NOISES: Mapping[float, float] = {0.0: 0.4, 1e-5: 0.2, 1e-3: 0.25, 0.02: 0.15}

#: Where a building stands that is modelled far away, mm.
_FAR = np.array([2_000.0, -1_500.0, 0.0])

#: Buildings are turned by up to this about z, and stand up to so many mm from the origin.
_TURN, _OFFSET = np.pi, 300.0


@dataclass
class Drawing:
    """Surfaces of a block-out: each is a list of faces, and a face is its corners, counter-clockwise from its front."""

    kind: str
    surfaces: list[list[Sequence[Point]]] = field(default_factory=list)


class Stored(StrEnum):
    """What became of a mesh on its way.

    imported: every triangle has points of its own, as files of bare triangles have; turned over: all fronts look
    inward, as after a mirror; far: it stands some metres from the origin, where single precision is coarser.
    """

    USUAL = "usual"
    IMPORTED = "imported"
    TURNED_OVER = "turned-over"
    FAR = "far"


@dataclass(frozen=True)
class Variant:
    """How a block-out is drawn and stored."""

    triangles: bool
    shuffled: bool
    noise: float
    turn: float
    offset: tuple[float, float]
    stored: Stored = Stored.USUAL


def draw_variant(chance: Chance) -> Variant:
    """Draw how a block-out is stored."""
    noises = list(_NOISES)
    noise = noises[int(chance.choice(len(noises), p=list(_NOISES.values())))]
    turn = float(chance.uniform(-_TURN, _TURN)) if chance.random() < 0.5 else 0.0
    x, y = chance.uniform(-_OFFSET, _OFFSET, 2).tolist() if chance.random() < 0.5 else (0.0, 0.0)
    return Variant(bool(chance.random() < 0.35), bool(chance.random() < 0.5), noise, turn, (x, y))


def draw_solid(drawing: Drawing, variant: Variant, chance: Chance, *, source: str) -> Solid:
    """Return a block-out as Blender would hand it over: single precision in units of the scene, then mm."""
    mesh = Mesh()
    for faces in drawing.surfaces:
        _add_surface(mesh, faces)
    if variant.triangles or variant.stored is Stored.IMPORTED:
        mesh.triangulate(chance, 1.0)
    cos, sin = np.cos(variant.turn), np.sin(variant.turn)
    turn = np.array([(cos, -sin, 0.0), (sin, cos, 0.0), (0.0, 0.0, 1.0)])
    far = _FAR if variant.stored is Stored.FAR else 0.0
    mesh.points = list(np.array(mesh.points) @ turn.T + np.array([*variant.offset, 0.0]) + far)
    if variant.stored is Stored.TURNED_OVER:
        mesh.flip()
    if variant.noise:
        mesh.jitter(chance, variant.noise)
    if variant.shuffled:
        mesh.renumber(chance)
    if variant.stored is Stored.IMPORTED:
        mesh.points = [mesh.points[point] for face in mesh.faces for point in face]
        ends = np.cumsum([len(face) for face in mesh.faces]).tolist()
        mesh.faces = [list(range(end - len(face), end)) for face, end in zip(mesh.faces, ends, strict=True)]
    stored = (np.array(mesh.points) / _UNIT).astype(np.float32).astype(np.float64) * _UNIT
    return make_solid(stored, mesh.faces, source=source)


def _add_surface(mesh: Mesh, faces: Sequence[Sequence[Point]]) -> None:
    """Add faces that share their points; a point on a side of another face becomes a corner of that face as well."""
    first = len(mesh.points)
    rings = [[_point(mesh, corner, first) for corner in face] for face in faces]
    for ring in rings:
        ring = [point for k, point in enumerate(ring) if point != ring[k - 1]]
        mesh.faces.append(_with_points_between(mesh, ring, first))


def _point(mesh: Mesh, corner: Point, first: int) -> int:
    """Return the point of the surface at a corner, a new one where there is none."""
    here = np.array(corner, dtype=float)
    for k in range(first, len(mesh.points)):
        if np.abs(mesh.points[k] - here).max() < SAME:
            return k
    mesh.points.append(here)
    return len(mesh.points) - 1


def _with_points_between(mesh: Mesh, ring: list[int], first: int) -> list[int]:
    """Return a ring with all points of the surface that lie on its sides."""
    own, points = set(ring), np.array(mesh.points)
    whole: list[int] = []
    for one, two in zip(ring, [*ring[1:], ring[0]], strict=True):
        side = points[two] - points[one]
        length = float(np.linalg.norm(side))
        way = (points - points[one]) @ side / length
        off = np.linalg.norm(points - points[one] - way[:, None] * side / length, axis=1)
        between = [k for k in range(first, len(points)) if off[k] < SAME and SAME < way[k] < length - SAME]
        whole += [one, *sorted((k for k in between if k not in own), key=lambda k: float(way[k]))]
    return whole
