"""Pieces: furniture, leaves and miniatures as they stand in the way of sight."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..errors import GeometryError
from ..findings import Finding, Location, Severity, place
from ..solid.facets import Facets
from ..solid.find import find_facets
from ..solid.solid import make_solid
from ..tolerance import WELD
from .table_top import Blocker, BlockerKind, Miniature

__all__ = ["blocker_of_leaf", "blocker_of_mesh", "blocker_of_miniature"]

#: Meshes with more faces are no block-outs, nor are those with more flat faces after merging; a map of their
#: shadows would keep the maker waiting.
_MOST_FACES, _MOST_FLAT = 20_000, 2_000

#: ... or so many where the maker waits anyway and may give up: a thousand flat faces take four seats two seconds.
_PATIENT_FACES, _PATIENT_FLAT = 100_000, 10_000

#: Sides of the prism that stands for a miniature.
_SIDES = 32


def blocker_of_mesh(
    name: str, points: np.ndarray, faces: Sequence[Sequence[int]], *, patient: bool = False
) -> tuple[Blocker, tuple[Finding, ...]]:
    """Return furniture given as a mesh, coplanar faces merged.

    points: (n, 3) mm in the model's frame; faces: rings of point indices. A closed convex body is solid; any
    other mesh is taken face by face, each blocking from both sides, which is right whichever way they are turned.
    A mesh that is not closed gets a note, since light passes where faces miss. patient: take meshes that keep
    the maker waiting.
    Raises GeometryError for more faces than can be dealt with, UnreadableError for a mesh without area.
    """
    most_faces, most_flat = (_PATIENT_FACES, _PATIENT_FLAT) if patient else (_MOST_FACES, _MOST_FLAT)
    if len(faces) > most_faces:
        raise GeometryError(
            f"{name} has {len(faces)} faces and sight deals with {most_faces} at most; simplify the mesh or let a "
            "box stand for it."
        )
    points = np.asarray(points, dtype=float)
    facets = find_facets(make_solid(points, _flat_faces(points, faces), source=name))
    if len(facets.facets) > most_flat:
        raise GeometryError(
            f"{name} has {len(facets.facets)} flat faces and sight deals with {most_flat} at most; simplify the mesh "
            "or let a box stand for it."
        )
    rings = tuple(tuple(facets.points[list(ring)] for ring in facet.rings) for facet in facets.facets)
    closed = all(shell.closed for shell in facets.shells)
    findings: tuple[Finding, ...] = ()
    if not closed:
        middle = place(facets.points.mean(axis=0))
        text = (
            f"{name} is not closed, so sight passes where its faces miss; close the mesh unless it is meant to be open."
        )
        findings = (Finding(Severity.NOTE, "furniture-not-closed", text, Location(source=name, point=middle)),)
    solid = closed and len(facets.shells) == 1 and _convex(facets)
    return Blocker(name, BlockerKind.FURNITURE, rings, solid=solid), findings


def _flat_faces(points: np.ndarray, faces: Sequence[Sequence[int]]) -> list[tuple[int, ...]]:
    """Return the faces, those that are out of flat cut into triangles."""
    flat: list[tuple[int, ...]] = []
    for face in faces:
        ring = points[list(face)]
        if len(face) > 3:
            away = ring - ring.mean(axis=0)
            normal = np.cross(away, np.roll(away, -1, axis=0)).sum(axis=0)
            size = float(np.linalg.norm(normal))
            if size > 0.0 and float(np.abs(away @ normal).max()) > WELD * size:
                flat += [(face[0], face[k], face[k + 1]) for k in range(1, len(face) - 1)]
                continue
        flat.append(tuple(face))
    return flat


def _convex(facets: Facets) -> bool:
    """Return whether no point lies before any of the faces."""
    return all(float(((facets.points - facet.frame.origin) @ facet.frame.n).max()) <= WELD for facet in facets.facets)


def blocker_of_leaf(name: str, faces: Sequence[Sequence[np.ndarray]]) -> Blocker:
    """Return a door or shutter, open or shut as it stands. faces: rings of each, (k, 3) mm, outline first."""
    rings = tuple(tuple(np.asarray(ring, dtype=float) for ring in face) for face in faces)
    return Blocker(name, BlockerKind.LEAF, rings)


def blocker_of_miniature(miniature: Miniature) -> Blocker:
    """Return the upright cylinder of a miniature as a prism of 32 sides and equal section.

    Its sides lie within 0.4 % of the radius of the circle's, 0.05 mm on a 25 mm base.
    """
    step = 2.0 * math.pi / _SIDES
    radius = miniature.base / 2.0 * math.sqrt(step / math.sin(step))
    turn = step * np.arange(_SIDES)
    low = miniature.foot + radius * np.column_stack([np.cos(turn), np.sin(turn), np.zeros(_SIDES)])
    high = low + np.array([0.0, 0.0, miniature.height])
    sides = zip(low, np.roll(low, -1, axis=0), np.roll(high, -1, axis=0), high, strict=True)
    faces = ((low[::-1],), (high,), *((np.array(corners),) for corners in sides))
    return Blocker(miniature.name, BlockerKind.MINIATURE, faces, solid=True)
