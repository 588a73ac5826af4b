"""Meshes of parts: every board with its thickness, its slits and openings cut, as points, faces and face kinds.

A part is meshed once, in the flat. What moves it afterwards are poses: one for every plate (the board of a panel), and
a bend for every strip (the board of a lattice), see ``bending``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

__all__ = ["FaceKind", "Piece", "joined_pieces", "piece_of"]


class FaceKind(IntEnum):
    """What a face of a board is."""

    UP = 0  # lies up on the laser
    DOWN = 1  # lies on the laser's bed
    EDGE = 2  # cut by the laser along an outline or an opening
    SLIT = 3  # wall of a slit
    MARK = 4  # engraved line, a thin strip just above its face


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A body as a mesh. points: (n, 3) mm in the part frame.

    corners: (m,) indices of points, face after face, counter-clockwise seen from outside; sizes: (f,) how many of
    them a face has, 3 or 4. kinds: (f,) of ``FaceKind``.
    """

    points: np.ndarray
    corners: np.ndarray
    sizes: np.ndarray
    kinds: np.ndarray

    @property
    def starts(self) -> np.ndarray:
        """Where the corners of every face begin, (f,)."""
        starts: np.ndarray = np.concatenate([[0], np.cumsum(self.sizes)[:-1]]).astype(np.int64)
        return starts

    @property
    def board_places(self) -> np.ndarray:
        """The place on the flat board of every corner of a face, (m, 2) mm in the part frame."""
        places: np.ndarray = self.points[self.corners, :2]
        return places

    @property
    def triangles(self) -> np.ndarray:
        """All faces as triangles, (t, 3) indices of points; four-cornered faces are cut in two."""
        starts = self.starts
        cut = starts[self.sizes == 4]
        picks = np.concatenate(
            [
                np.stack([starts, starts + 1, starts + 2], axis=1),
                np.stack([cut, cut + 2, cut + 3], axis=1),
            ]
        )
        triangles: np.ndarray = self.corners[picks]
        return triangles


def piece_of(points: np.ndarray, faces: Sequence[tuple[np.ndarray, FaceKind]]) -> Piece:
    """Return a piece from points, (n, 3), and blocks of faces, (k, 3) or (k, 4) indices each, with their kind."""
    filled = [(block, kind) for block, kind in faces if len(block)]
    return Piece(
        points=np.asarray(points, dtype=float),
        corners=np.concatenate([block.ravel() for block, _ in filled] or [np.zeros(0)]).astype(np.int32),
        sizes=np.concatenate([np.full(len(block), block.shape[1]) for block, _ in filled] or [np.zeros(0)]).astype(
            np.int32
        ),
        kinds=np.concatenate([np.full(len(block), int(kind)) for block, kind in filled] or [np.zeros(0)]).astype(
            np.int32
        ),
    )


def joined_pieces(pieces: Sequence[Piece]) -> Piece:
    """Return pieces as one; points and faces keep their order."""
    if not pieces:
        return piece_of(np.zeros((0, 3)), ())
    first = np.cumsum([0] + [len(piece.points) for piece in pieces[:-1]])
    return Piece(
        points=np.concatenate([piece.points for piece in pieces]),
        corners=np.concatenate([piece.corners + shift for piece, shift in zip(pieces, first, strict=True)]).astype(
            np.int32
        ),
        sizes=np.concatenate([piece.sizes for piece in pieces]),
        kinds=np.concatenate([piece.kinds for piece in pieces]),
    )
