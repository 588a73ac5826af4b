"""The solid: what the maker blocked out, as plain points, faces and marked edges in millimetres."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from itertools import chain

import numpy as np

from ..arrays import read_only
from ..errors import UnreadableError
from ..findings import Finding
from .opening import Opening

__all__ = ["Role", "Solid", "Straightened", "join_solids", "make_solid"]


class Role(IntEnum):
    """What an edge is to become. The numbers are those stored in the edge attribute of the mesh."""

    PLAIN = 0
    FLEX = 1
    BREAK = 2
    CLOSURE = 3


@dataclass(frozen=True, slots=True)
class Straightened:
    """What was done to a solid's points so that its faces are flat.

    noise: how far points lay off the planes of their faces before, mm, at most; usual: in half of all faces.
    """

    noise: float
    usual: float
    findings: tuple[Finding, ...] = ()


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
    openings: doors and windows that stand in the walls as things of their own.
    finishes: name of the finish by (source, host face id); faces without one are left out.
    straightened: what was done to the points so that faces are flat; None for points as the host has them.
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
    openings: tuple[Opening, ...] = ()
    finishes: Mapping[tuple[str, int], str] = field(default_factory=dict)
    straightened: Straightened | None = None

    def is_same(self, other: Solid) -> bool:
        """Return whether both are the same model: shape to the last bit, marks, openings and finishes."""
        return (
            self.faces == other.faces
            and self.edges == other.edges
            and self.edge_roles == other.edge_roles
            and self.openings == other.openings
            and self.finishes == other.finishes
            and np.array_equal(self.points, other.points)
        )

    def with_mesh(
        self,
        points: np.ndarray,
        faces: Sequence[tuple[int, ...]],
        owners: Sequence[int],
        edges: Iterable[tuple[tuple[int, int], int, int, Role]],
    ) -> Solid:
        """Return the same model with another mesh, whose faces are those of the host, whole or in pieces.

        points: (n, 3) mm, made read-only. owners: the face of this solid that every face comes from. edges: pair of
        points, host id, source and role.
        """
        pairs, ids, sources, roles = zip(*edges, strict=True)
        return replace(
            self,
            points=read_only(points),
            faces=tuple(faces),
            face_ids=tuple(self.face_ids[owner] for owner in owners),
            face_sources=tuple(self.face_sources[owner] for owner in owners),
            edges=pairs,
            edge_ids=ids,
            edge_sources=sources,
            edge_roles=roles,
        )


def make_solid(
    points: np.ndarray,
    faces: Sequence[Sequence[int]],
    *,
    roles: Mapping[tuple[int, int], Role] | None = None,
    edges: Sequence[tuple[int, int]] | None = None,
    edge_ids: Sequence[int] | None = None,
    face_ids: Sequence[int] | None = None,
    source: str = "solid",
) -> Solid:
    """Return a solid from points, (n, 3) mm, and rings of point indices, with marks by point pair.

    Without ``edges`` the sides of the faces are used, in the order in which they are met; sides that
    ``edges`` leave out are added as edges that the host does not have.
    Raises UnreadableError where there are no faces, a coordinate is not a number, a face names a
    point that does not exist, a mark no edge, or numbers are missing.

    >>> square = [(0, 0, 0), (50, 0, 0), (50, 50, 0), (0, 50, 0)]
    >>> solid = make_solid(square, [(0, 1, 2, 3)])
    >>> len(solid.faces), len(solid.edges)
    (1, 4)
    """
    kept = np.array(points, dtype=float)
    if kept.ndim != 2 or kept.shape[1] != 3:
        raise UnreadableError(f"The vertices of {source} are not points in space; give three coordinates for each.")
    kept.setflags(write=False)
    rings = tuple(tuple(map(int, face)) for face in faces)
    if not rings:
        raise UnreadableError(f"{source} has no faces; model the walls as faces first.")
    if not np.isfinite(kept).all():
        bad = int(np.flatnonzero(~np.isfinite(kept).all(axis=1))[0])
        raise UnreadableError(f"Vertex {bad} of {source} lies at no usable place; delete or move it.")
    if any(ring and (min(ring) < 0 or max(ring) >= len(kept)) for ring in rings):
        raise UnreadableError(f"A face of {source} names a vertex that it does not have; repair the mesh.")
    if face_ids is not None and len(face_ids) != len(rings):
        raise UnreadableError(f"{source} has {len(rings)} faces but {len(face_ids)} face numbers; give one for each.")
    listed = edges is not None
    if edges is None:
        edges = _sides(rings)
        edge_ids = edge_ids if edge_ids is not None else range(len(edges))
    ids = tuple(edge_ids) if edge_ids is not None else (-1,) * len(edges)
    if len(ids) != len(edges):
        raise UnreadableError(f"{source} has {len(edges)} edges but {len(ids)} edge numbers; give one for each.")
    marks = {(min(pair), max(pair)): Role(role) for pair, role in (roles or {}).items()}
    pairs = tuple((int(a), int(b)) for a, b in edges)
    if listed:
        there = {(min(pair), max(pair)) for pair in pairs}
        missing = tuple(side for side in _sides(rings) if side not in there)
        pairs, ids = (*pairs, *missing), (*ids, *(-1,) * len(missing))
    known = set(pairs) if marks else set()
    strangers = sorted((a, b) for a, b in marks if (a, b) not in known and (b, a) not in known)
    if strangers:
        a, b = strangers[0]
        raise UnreadableError(f"{source} has no edge between vertices {a} and {b} to be marked; mark edges of faces.")
    return Solid(
        points=kept,
        faces=rings,
        face_ids=tuple(face_ids) if face_ids is not None else tuple(range(len(rings))),
        face_sources=(0,) * len(rings),
        edges=pairs,
        edge_ids=ids,
        edge_sources=(0,) * len(pairs),
        edge_roles=tuple(marks.get((min(a, b), max(a, b)), Role.PLAIN) for a, b in pairs)
        if marks
        else (Role.PLAIN,) * len(pairs),
        sources=(source,),
    )


def _sides(rings: Sequence[Sequence[int]]) -> tuple[tuple[int, int], ...]:
    """Return the sides of faces, the smaller point first, each once, in the order in which they are met."""
    sides = chain.from_iterable(zip(ring, (*ring[1:], *ring[:1]), strict=True) for ring in rings)
    return tuple(dict.fromkeys((a, b) if a < b else (b, a) for a, b in sides))


def join_solids(solids: Sequence[Solid]) -> Solid:
    """Return several objects of one building as one solid; ids and names stay those of the host."""
    if not solids:
        raise UnreadableError("There is nothing to read; choose at least one mesh object.")
    starts = np.cumsum([0, *(len(solid.points) for solid in solids)])
    names = np.cumsum([0, *(len(solid.sources) for solid in solids)])
    points = np.concatenate([solid.points for solid in solids])
    points.setflags(write=False)
    each = list(zip(solids, starts, names, strict=False))
    return Solid(
        points=points,
        faces=tuple(tuple(int(i + start) for i in face) for solid, start, _ in each for face in solid.faces),
        face_ids=tuple(i for solid in solids for i in solid.face_ids),
        face_sources=tuple(int(s + name) for solid, _, name in each for s in solid.face_sources),
        edges=tuple((int(a + start), int(b + start)) for solid, start, _ in each for a, b in solid.edges),
        edge_ids=tuple(i for solid in solids for i in solid.edge_ids),
        edge_sources=tuple(int(s + name) for solid, _, name in each for s in solid.edge_sources),
        edge_roles=tuple(role for solid in solids for role in solid.edge_roles),
        sources=tuple(name for solid in solids for name in solid.sources),
        openings=tuple(opening for solid in solids for opening in solid.openings),
        finishes={face: finish for solid in solids for face, finish in solid.finishes.items()},
    )
