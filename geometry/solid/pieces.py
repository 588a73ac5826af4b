"""Pieces of a solid: a choice of its faces, each body with corners of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .solid import Role, Solid

__all__ = ["Apart", "take_apart"]


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """A solid that consists of several bodies.

    bodies: (n,) number of the body that every point belongs to; points of different bodies are never one, wherever
    they lie, and their edges never meet.
    """

    solid: Solid
    bodies: np.ndarray


def take_apart(solid: Solid, faces: Sequence[tuple[int, ...]], owners: Sequence[int], bodies: Sequence[int]) -> Apart:
    """Return the solid with these faces alone, those of different bodies on points of their own.

    faces: rings of points of ``solid``. owners: per face, the face of ``solid`` whose host id it bears. bodies: per
    face, the number of its body. Edges keep host id and mark; a side that the solid has no edge for is a plain one.
    """
    known = {(min(pair), max(pair)): k for k, pair in enumerate(solid.edges)}
    placed: dict[tuple[int, int], int] = {}
    rings: list[tuple[int, ...]] = []
    edges: dict[tuple[int, int], tuple[int, int]] = {}
    for ring, owner, body in zip(faces, owners, bodies, strict=True):
        moved = tuple(placed.setdefault((body, point), len(placed)) for point in ring)
        rings.append(moved)
        for k, point in enumerate(ring):
            a, b = ring[k - 1], point
            pair = (min(moved[k - 1], moved[k]), max(moved[k - 1], moved[k]))
            edges.setdefault(pair, (known.get((min(a, b), max(a, b)), -1), solid.face_sources[owner]))
    points = solid.points[[point for _, point in placed]]
    marked = (
        (pair, solid.edge_ids[k], solid.edge_sources[k], solid.edge_roles[k])
        if k >= 0
        else (pair, -1, source, Role.PLAIN)
        for pair, (k, source) in edges.items()
    )
    return Apart(solid.with_mesh(points, rings, owners, marked), np.array([body for body, _ in placed]))
