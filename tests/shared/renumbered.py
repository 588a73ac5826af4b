"""The same mesh as another host or another day would number it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from stowfold.geometry.solid.solid import Solid

__all__ = ["renumbered"]


def renumbered(solid: Solid, seed: int) -> Solid:
    """Return a solid with its points, faces and edges in another order, rings begun anywhere, and new host numbers."""
    chance = np.random.default_rng(seed)
    order = chance.permutation(len(solid.points))
    place = np.argsort(order)
    faces = chance.permutation(len(solid.faces)).tolist()
    edges = chance.permutation(len(solid.edges)).tolist()

    def ring(face: int) -> tuple[int, ...]:
        corners = place[list(solid.faces[face])]
        return tuple(np.roll(corners, int(chance.integers(len(corners)))).tolist())

    return replace(
        solid,
        points=np.ascontiguousarray(solid.points[order]),
        faces=tuple(ring(face) for face in faces),
        face_ids=tuple(range(len(faces))),
        face_sources=tuple(solid.face_sources[face] for face in faces),
        edges=tuple(tuple(place[list(solid.edges[edge])][:: int(chance.choice([-1, 1]))].tolist()) for edge in edges),
        edge_ids=tuple(range(len(edges))),
        edge_sources=tuple(solid.edge_sources[edge] for edge in edges),
        edge_roles=tuple(solid.edge_roles[edge] for edge in edges),
    )
