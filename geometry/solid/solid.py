"""The solid: what the maker blocked out, as plain points, faces and marked edges in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

__all__ = ["Role", "Solid"]


class Role(IntEnum):
    """What an edge is to become. The numbers are those stored in the edge attribute of the mesh."""

    PLAIN = 0
    FLEX = 1
    BREAK = 2
    CLOSURE = 3


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A mesh in model millimetres, z up, with the ids that the host knows it by.

    points: (n, 3) float64, read-only.
    faces: one ring of point indices per face, counter-clockwise seen from the face's front.
    face_ids, face_sources: host face index, and index into ``sources``, per face.
    edges: pairs of point indices. Every side of every face is among them.
    edge_ids, edge_sources: host edge index and source per edge; -1 for an edge the host does not have.
    edge_roles: the mark per edge.
    sources: names of the objects that the faces came from.
    """

    points: np.ndarray
    faces: tuple[tuple[int, ...], ...]
    face_ids: tuple[int, ...]
    face_sources: tuple[int, ...]
    edges: tuple[tuple[int, int], ...]
    edge_ids: tuple[int, ...]
    edge_sources: tuple[int, ...]
    edge_roles: tuple[Role, ...]
    sources: tuple[str, ...]
