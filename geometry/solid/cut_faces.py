"""Cutting faces of a solid by a plane, so that a surface parts where nothing was modelled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely

from ..arrays import read_only
from ..tolerance import AREA, COPLANAR_ANGLE, LENGTH, SNAP
from .mesh import facing
from .solid import Role, Solid

__all__ = ["cut_faces", "cut_pieces"]

_Pair = tuple[int, int]

#: A corner moves along a line onto a plane only where the line meets the plane steeper than 30 degrees: it moves no
#: farther than twice SNAP then.
_ACROSS = 0.5


def cut_faces(solid: Solid, faces: Collection[int], point: np.ndarray, normal: np.ndarray, *, role: Role) -> Solid:
    """Return the solid with the listed faces cut where a plane crosses them; see cut_pieces."""
    return cut_pieces(solid, faces, point, normal, role=role)[0]


def cut_pieces(
    solid: Solid, faces: Collection[int], point: np.ndarray, normal: np.ndarray, *, role: Role
) -> tuple[Solid, tuple[int, ...]]:
    """Return the solid with the listed faces cut where a plane crosses them, every line of the cut bearing a role.

    Also return for every face of it the face of the given solid that it is a piece of.
    faces: indices into ``solid.faces``. point, normal: (3,) of the plane, mm. A corner within SNAP of the
    plane counts as on it, and an edge on it between two of the faces bears the role as well. Pieces keep the
    host id of their face, pieces of a cut edge its id and role; faces that are not listed get the new corners
    too. The piece that the normal points away from keeps its face's place, the others come last. A corner that
    counts as on the plane moves onto it where no face changes its shape by that: in the middle of a straight line.
    """
    wanted = sorted(faces)
    normal = np.asarray(normal) / np.linalg.norm(normal)
    solid = replace(solid, points=_moved_onto(solid, wanted, point, normal))
    side = (solid.points - point) @ normal
    side[np.abs(side) <= SNAP] = 0.0
    crossed = {pair for face in wanted for pair in _sides(solid.faces[face]) if side[pair[0]] * side[pair[1]] < 0.0}
    ends = np.array(sorted(crossed), dtype=int).reshape(-1, 2)
    share = side[ends[:, :1]] / (side[ends[:, :1]] - side[ends[:, 1:]])
    points = np.concatenate([solid.points, solid.points[ends[:, 0]] * (1.0 - share) + solid.points[ends[:, 1]] * share])
    side = np.concatenate([side, np.zeros(len(ends))])
    new = {pair: (len(solid.points) + k,) for k, pair in enumerate(map(tuple, ends.tolist()))}

    rings = [_with_corners(ring, new) for ring in solid.faces]
    owners = list(range(len(rings)))
    for face in wanted:
        pieces = _pieces(rings[face], side, points)
        pieces.sort(key=lambda piece: float(side[list(piece)].sum()))
        rings[face] = pieces[0]
        rings += pieces[1:]
        owners += [face] * (len(pieces) - 1)

    lines = _cut_lines(solid, wanted, rings, owners, side)
    edges = [
        (pair, solid.edge_ids[k], solid.edge_sources[k], role if _pair(*pair) in lines else solid.edge_roles[k])
        for k, (a, b) in enumerate(solid.edges)
        for pair in pairwise((a, *new.get(_pair(a, b), ()), b))
    ]
    known = {_pair(*pair) for pair, *_ in edges}
    edges += [(pair, -1, source, role) for pair, source in lines.items() if pair not in known]
    return solid.with_mesh(points, rings, owners, edges), tuple(owners)


def _moved_onto(solid: Solid, wanted: Sequence[int], point: np.ndarray, normal: np.ndarray) -> np.ndarray:
    """Return the points, (n, 3), with those within SNAP of the plane on it that can move along a straight line.

    Else a wall that parts between two corners, each a little off the plane, would end in a line that leans.
    """
    side = (solid.points - point) @ normal
    corners = {corner for face in wanted for corner in solid.faces[face]}
    near = sorted(corner for corner in corners if LENGTH < abs(side[corner]) <= SNAP)
    if not near:
        return solid.points
    points = solid.points.copy()
    normals = facing(solid.points, solid.faces)
    for corner in near:
        lines = _lines_at(solid, corner, normals)
        way = lines[0] if len(lines) else normal
        straight = not len(lines) or np.abs(np.cross(lines, way)).max() <= COPLANAR_ANGLE
        if straight and abs(way @ normal) > _ACROSS:
            points[corner] -= way * (side[corner] / (way @ normal))
    return read_only(points)


def _lines_at(solid: Solid, corner: int, normals: np.ndarray) -> np.ndarray:
    """Return unit directions, (k, 3), of the sides at a corner that no flat surface runs on over. normals: (f, 3)."""
    beside: dict[_Pair, list[int]] = {}
    for k, ring in enumerate(solid.faces):
        if corner in ring:
            for pair in _sides(ring):
                if corner in pair:
                    beside.setdefault(pair, []).append(k)
    ends = [
        a if b == corner else b
        for (a, b), faces in beside.items()
        if len(faces) != 2 or np.linalg.norm(np.cross(*normals[faces])) > COPLANAR_ANGLE
    ]
    lines = solid.points[ends] - solid.points[corner]
    return lines / np.maximum(np.linalg.norm(lines, axis=1), AREA)[:, None]


def _pair(a: int, b: int) -> _Pair:
    return (a, b) if a < b else (b, a)


def _sides(ring: Sequence[int]) -> list[_Pair]:
    return [_pair(a, b) for a, b in pairwise((*ring, ring[0]))]


def _with_corners(ring: tuple[int, ...], new: dict[_Pair, tuple[int]]) -> tuple[int, ...]:
    """Return a ring with the new corners of those of its sides that are cut."""
    return tuple(corner for a, pair in zip(ring, _sides(ring), strict=True) for corner in (a, *new.get(pair, ())))


def _pieces(ring: tuple[int, ...], side: np.ndarray, points: np.ndarray) -> list[tuple[int, ...]]:
    """Return what a ring falls into along the plane, where corners have the ``side`` 0; itself where it stays whole."""
    off = side[list(ring)]
    on = np.flatnonzero(off == 0.0)
    if len(on) < 2 or not off.min() < 0.0 < off.max():
        return [ring]
    # how far along the line of the cut
    corners = points[list(ring)] - points[ring[on[0]]]
    line = corners[on[np.linalg.norm(corners[on], axis=1).argmax()]]
    along = corners @ (line / np.linalg.norm(line))
    on = on[np.argsort(along[on], kind="stable")]
    middles = (along[on[:-1]] + along[on[1:]]) / 2
    inside = shapely.contains_xy(shapely.polygons(np.column_stack([along, off])), middles, np.zeros(len(middles)))
    pieces = [list(range(len(ring)))]
    for a, b in zip(on[:-1][inside].tolist(), on[1:][inside].tolist(), strict=True):
        here = next(piece for piece in pieces if a in piece and b in piece)
        first, last = sorted((here.index(a), here.index(b)))
        pieces.remove(here)
        pieces += [here[first : last + 1], here[last:] + here[: first + 1]]
    return [tuple(ring[k] for k in piece) for piece in pieces]


def _cut_lines(
    solid: Solid, wanted: Sequence[int], rings: Sequence[tuple[int, ...]], owners: Sequence[int], side: np.ndarray
) -> dict[_Pair, int]:
    """Return the sides on the plane that two pieces of the wanted faces share, each with the source of its face."""
    of_source: dict[_Pair, int] = {}
    count: Counter[_Pair] = Counter()
    chosen = set(wanted)
    for ring, owner in zip(rings, owners, strict=True):
        if owner in chosen:
            for pair in _sides(ring):
                if side[pair[0]] == side[pair[1]] == 0.0:
                    count[pair] += 1
                    of_source[pair] = solid.face_sources[owner]
    return {pair: source for pair, source in of_source.items() if count[pair] > 1}
