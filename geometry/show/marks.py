"""Marks: what is drawn on boards, as thin strips just above their face: squares of a floor, and finishes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from ..part import Part, PartKind
from .coats import coated_marks
from .mesh import FaceKind, Piece, piece_of
from .plates import Plate

__all__ = ["finish_pieces", "mark_pieces"]

#: How wide an engraved line looks, and one of a finish, and how far above its face it is drawn so that the two do not
#: flicker where a whole building is looked at, mm.
_WIDE, _FINE, _ABOVE = 0.5, 0.3, 0.15


def mark_pieces(part: Part, plates: Sequence[Plate], height: float) -> list[tuple[int, Piece]]:
    """Return the engraved lines of a part of one plate as strips above z = height, with the panel they move with."""
    # cuts between the shingles of a strip look like lines
    lines = (*part.engrave, *part.pricks) if part.kind is PartKind.TRIM else part.engrave
    if len(plates) != 1 or not lines:
        return []
    wide = _WIDE if part.kind is PartKind.FLOOR else _FINE
    ends = np.concatenate([np.stack([line[:-1], line[1:]], axis=1) for line in map(np.asarray, lines)])
    return [(plates[0].panel, _strips(ends, wide, height))]


def finish_pieces(part: Part, plates: Sequence[Plate], height: float) -> list[tuple[int, Piece]]:
    """Return the lines of a part's finishes as strips above z = height, with the panels they move with.

    What lies over a lattice is left out: it bends.
    """
    if not part.dressings:
        return []
    ends = np.concatenate([dressing.segments for dressing in part.dressings])
    middles = ends.mean(axis=1)
    pieces = []
    for plate in plates:
        shapely.prepare(plate.shape)
        own = ends[shapely.contains_xy(plate.shape, middles)]
        if len(own):
            pieces.append((plate.panel, _on_coats(part, _strips(own, _FINE, height))))
    return pieces


def _on_coats(part: Part, piece: Piece) -> Piece:
    """Return strips with the kinds that lines have on the coats that they lie on."""
    if not part.colour_fields:
        return piece
    return replace(piece, kinds=coated_marks(part, piece.points[piece.corners, :2].reshape(-1, 4, 2).mean(axis=1)))


def _strips(ends: np.ndarray, wide: float, height: float) -> Piece:
    """Return lines, (n, 2, 2) mm, as strips above z = height; what is shorter than wide is left out."""
    way = ends[:, 1] - ends[:, 0]
    size = np.linalg.norm(way, axis=1)
    ends, way = ends[size > wide], (way / np.where(size > wide, size, 1.0)[:, None])[size > wide]
    aside = np.column_stack([-way[:, 1], way[:, 0]]) * wide / 2
    flat = np.stack([ends[:, 0] - aside, ends[:, 1] - aside, ends[:, 1] + aside, ends[:, 0] + aside], axis=1)
    points = np.column_stack([flat.reshape(-1, 2), np.full(4 * len(flat), height + _ABOVE)])
    return piece_of(points, ((np.arange(len(points)).reshape(-1, 4), FaceKind.MARK),))
