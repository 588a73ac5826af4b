"""Marks: what is engraved on a floor, as thin strips just above its face, so that squares are seen and counted."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..part import Part
from .mesh import FaceKind, Piece, piece_of
from .plates import Plate

__all__ = ["mark_pieces"]

#: How wide an engraved line looks, and how far above its face it is drawn so that the two do not flicker, mm.
_WIDE, _ABOVE = 0.5, 0.05


def mark_pieces(part: Part, plates: Sequence[Plate], height: float) -> list[tuple[int, Piece]]:
    """Return the engraved lines of a part of one plate as strips above z = height, with the panel they move with."""
    if len(plates) != 1 or not part.engrave:
        return []
    ends = np.concatenate([np.stack([line[:-1], line[1:]], axis=1) for line in map(np.asarray, part.engrave)])
    way = ends[:, 1] - ends[:, 0]
    size = np.linalg.norm(way, axis=1)
    ends, way = ends[size > _WIDE], (way / np.where(size > _WIDE, size, 1.0)[:, None])[size > _WIDE]
    aside = np.column_stack([-way[:, 1], way[:, 0]]) * _WIDE / 2
    flat = np.stack([ends[:, 0] - aside, ends[:, 1] - aside, ends[:, 1] + aside, ends[:, 0] + aside], axis=1)
    points = np.column_stack([flat.reshape(-1, 2), np.full(4 * len(flat), height + _ABOVE)])
    return [(plates[0].panel, piece_of(points, ((np.arange(len(points)).reshape(-1, 4), FaceKind.MARK),)))]
