"""Coats: the coloured fields of plates and strips as faces of their own, and what is drawn on them.

A face of a board shows its kind of part (``FaceKind``) or a coat: from ``COATED`` on, two numbers a coat, one for its
area and one for lines on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import ColourField, PaintRole, Part, PlacedLattice
from ..polygons import polygons_in
from .mesh import FaceKind, Piece, joined_pieces, piece_of
from .plates import Plate

__all__ = [
    "COATED",
    "Coat",
    "coat_of_strip",
    "coated_marks",
    "coated_plate",
    "coated_strip",
    "coats_of",
    "pieces_in",
    "triangles_in",
]

#: The first number of a coat among the kinds of faces.
COATED = len(FaceKind)

#: What is smaller after a plate was cut is a remainder of rounding, mm^2.
_CRUMB = 0.01

#: A line that is no farther from a field than this lies on it, mm: outlines of timbers lie on the very border.
_ON = 0.02

#: The name of a finish, and what of it.
Coat = tuple[str, PaintRole]


def coats_of(part: Part) -> tuple[Coat, ...]:
    """Return the coats of a part, each once, in the order of its fields."""
    return tuple(dict.fromkeys((field.finish, field.role) for field in part.colour_fields))


def pieces_in(field: ColourField, plate: Plate) -> list[Polygon]:
    """Return what of a field lies on a plate."""
    if field.thin:
        return []
    cut = shapely.get_parts(shapely.intersection(shapely.get_parts(field.area), plate.shape))
    return polygons_in(cut, above=_CRUMB)


def coated_plate(part: Part, plate: Plate, piece: Piece, low: float, high: float) -> Piece:
    """Return a plate with its coats in the place of its bare faces; as it is where it has none."""
    coats = coats_of(part)
    made: list[Piece] = []
    for up in (True, False):
        filled = [(field, pieces_in(field, plate)) for field in part.colour_fields if field.up is up]
        filled = [(field, areas) for field, areas in filled if areas]
        if not filled:
            continue
        kind, z = (FaceKind.UP, high) if up else (FaceKind.DOWN, low)
        whole = shapely.union_all([area for _, areas in filled for area in areas])
        bare = polygons_in(plate.shape.difference(whole), above=_CRUMB)
        piece = _without(piece, kind)
        made += [_cap(areas, z, _number(coats, field), up=up) for field, areas in filled]
        if bare:
            made.append(_cap(bare, z, int(kind), up=up))
    return joined_pieces([piece, *made]) if made else piece


def _number(coats: Sequence[Coat], field: ColourField) -> int:
    return COATED + 2 * coats.index((field.finish, field.role))


def coat_of_strip(part: Part, placed: PlacedLattice, *, up: bool) -> Coat | None:
    """Return the coat of one face of a lattice, None where it is bare."""
    middle = placed.zone.mean(axis=0)
    for field in part.colour_fields:
        if field.thin and field.up is up and shapely.contains_xy(field.area, *middle):
            return field.finish, field.role
    return None


def coated_strip(part: Part, placed: PlacedLattice, piece: Piece) -> Piece:
    """Return a strip with its coats."""
    coats, kinds = coats_of(part), piece.kinds.copy()
    for up, kind in ((True, FaceKind.UP), (False, FaceKind.DOWN)):
        coat = coat_of_strip(part, placed, up=up)
        if coat is not None:
            kinds[piece.kinds == kind] = COATED + 2 * coats.index(coat)
    return replace(piece, kinds=kinds)


def coated_marks(part: Part, middles: np.ndarray) -> np.ndarray:
    """Return the kind of face of lines with these middles, (n,): those on a coat have one of their own.

    On the border of two coats the main one of a finish counts, which the other is drawn on.
    """
    kinds = np.full(len(middles), int(FaceKind.MARK), dtype=np.int32)
    coats = coats_of(part)
    for field in sorted(part.colour_fields, key=lambda field: field.role is PaintRole.MAIN):
        if not field.up or field.thin:
            continue
        area = shapely.buffer(field.area, _ON, join_style="mitre")
        shapely.prepare(area)
        kinds[shapely.contains_xy(area, middles)] = _number(coats, field) + 1
    return kinds


def _without(piece: Piece, kind: FaceKind) -> Piece:
    """Return a piece without its faces of one kind."""
    kept = piece.kinds != kind
    return replace(
        piece, corners=piece.corners[np.repeat(kept, piece.sizes)], sizes=piece.sizes[kept], kinds=piece.kinds[kept]
    )


def _cap(areas: Sequence[Polygon], z: float, kind: int, *, up: bool) -> Piece:
    """Return areas as triangles at a height; what lies side by side shares no points."""
    flat = triangles_in(areas)
    if not up:
        flat = flat[:, ::-1]
    points = np.column_stack([flat.reshape(-1, 2), np.full(3 * len(flat), z)])
    made = piece_of(points, ((np.arange(len(points)).reshape(-1, 3), FaceKind.UP),))
    return replace(made, kinds=np.full(len(made.kinds), kind, dtype=np.int32))


def triangles_in(areas: Sequence[Polygon]) -> np.ndarray:
    """Return triangles that fill areas, (n, 3, 2) mm, counter-clockwise."""
    cut = shapely.constrained_delaunay_triangles(np.array(areas, dtype=object))
    flat = shapely.get_coordinates(cut).reshape(-1, 4, 2)[:, :3].copy()
    one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    turned = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0] < 0.0
    flat[turned] = flat[turned, ::-1]
    return flat
