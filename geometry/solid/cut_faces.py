"""Cutting faces of a solid by a plane, so that a surface parts where nothing was modelled."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from ..tolerance import SNAP
from .solid import Role, Solid

__all__ = ["cut_faces"]


def cut_faces(solid: Solid, faces: Collection[int], point: np.ndarray, normal: np.ndarray, *, role: Role) -> Solid:
    """Return the solid with those of the listed faces that a plane crosses cut in two, the cut bearing a role.

    faces: indices into ``solid.faces``. point, normal: (3,) of the plane, mm. A corner within SNAP of the
    plane counts as on it. Both pieces keep the host id of their face, both pieces of a cut edge its id
    and role; neighbours that are not cut get the new corners too. A face that the plane leaves and
    enters more than once stays whole.
    """
    side = (solid.points - point) @ (np.asarray(normal) / np.linalg.norm(normal))
    where = np.where(np.abs(side) <= SNAP, 0, np.sign(side)).astype(int)
    points = [tuple(each) for each in solid.points.tolist()]
    new: dict[tuple[int, int], int] = {}
    wanted = set(faces)

    def crossing(a: int, b: int) -> int | None:
        if where[a] * where[b] >= 0:
            return None
        key = (min(a, b), max(a, b))
        if key not in new:
            share = side[key[0]] / (side[key[0]] - side[key[1]])
            new[key] = len(points)
            one, two = solid.points[key[0]], solid.points[key[1]]
            points.append(tuple((one + share * (two - one)).tolist()))
        return new[key]

    crossed: dict[int, list[int]] = {}
    for index in sorted(wanted):
        ring = solid.faces[index]
        at = []
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
            if where[a] == 0:
                at.append(a)
            middle = crossing(a, b)
            if middle is not None:
                at.append(middle)
        if len(at) == 2 and {1, -1} <= {int(where[each]) for each in ring}:
            crossed[index] = at
    used = {corner for at in crossed.values() for corner in at}
    # a face that stays whole gives no corner of its own
    new = {key: corner for key, corner in new.items() if corner in used}

    rings: list[tuple[int, ...]] = []
    ids: list[int] = []
    sources: list[int] = []
    for index, ring in enumerate(solid.faces):
        grown = []
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
            grown.append(a)
            middle = new.get((min(a, b), max(a, b)))
            if middle is not None:
                grown.append(middle)
        pieces = [tuple(grown)]
        if index in crossed:
            first, second = sorted(grown.index(each) for each in crossed[index])
            pieces = [tuple(grown[first : second + 1]), (*grown[second:], *grown[: first + 1])]
        rings += pieces
        ids += [solid.face_ids[index]] * len(pieces)
        sources += [solid.face_sources[index]] * len(pieces)

    edges: list[tuple[int, int]] = []
    edge_ids: list[int] = []
    edge_sources: list[int] = []
    roles: list[Role] = []

    def add(pair: tuple[int, int], host: int, source: int, mark: Role) -> None:
        edges.append(pair)
        edge_ids.append(host)
        edge_sources.append(source)
        roles.append(mark)

    for k, (a, b) in enumerate(solid.edges):
        middle = new.get((min(a, b), max(a, b)))
        for pair in [(a, b)] if middle is None else [(a, middle), (middle, b)]:
            add(pair, solid.edge_ids[k], solid.edge_sources[k], solid.edge_roles[k])
    known = {(min(pair), max(pair)): k for k, pair in enumerate(edges)}
    for index, (one, two) in sorted(crossed.items()):
        key = (min(one, two), max(one, two))
        if key in known:
            roles[known[key]] = role
        else:
            add(key, -1, solid.face_sources[index], role)
    kept = np.array(points, dtype=float)
    kept.setflags(write=False)
    return replace(
        solid,
        points=kept,
        faces=tuple(rings),
        face_ids=tuple(ids),
        face_sources=tuple(sources),
        edges=tuple(edges),
        edge_ids=tuple(edge_ids),
        edge_sources=tuple(edge_sources),
        edge_roles=tuple(roles),
    )
