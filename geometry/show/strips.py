"""Strips: the boards that bend, each a lattice with its slits as real gaps.

Lines across the lattice (the sides of every row of slits) and along it (the ends of all slits) make a grid; a cell of
it is board or gap. Board between neighbouring cells of board has no faces, so that the body is closed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..part import PlacedLattice
from ..tolerance import LENGTH
from .mesh import FaceKind, Piece, piece_of

__all__ = ["Strip", "strip_of", "strip_piece"]


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """A lattice as a grid. across: (a,) mm from the first row; along: (b,) mm along the axis, both rising.

    board: (a - 1, b - 1) bool, whether a cell is board.
    """

    placed: PlacedLattice
    across: np.ndarray
    along: np.ndarray
    board: np.ndarray


def strip_of(placed: PlacedLattice) -> Strip:
    """Return the grid of a lattice: rows of slits, and links between them that run through.

    Of the first and the last row the inner halves alone; the outer ones lie in the plates.
    """
    made, slits = placed.lattice, placed.slits
    rows = np.arange(made.rows) * made.pitch
    sides = np.stack([rows - made.opening / 2, rows + made.opening / 2], axis=1).ravel()
    across = sides.clip(0.0, made.flat_width)
    ends = np.sort(np.concatenate([[0.0, made.axis_length], slits.start, slits.end]).clip(0.0, made.axis_length))
    along = ends[np.concatenate([[True], np.diff(ends) > LENGTH])]
    board = np.ones((len(across) - 1, len(along) - 1), dtype=bool)
    row = np.rint(slits.across / made.pitch).astype(int)
    middle = (along[:-1] + along[1:]) / 2
    for index, start, end in zip(row.tolist(), slits.start.tolist(), slits.end.tolist(), strict=True):
        board[2 * index, (middle > start) & (middle < end)] = False
    return Strip(placed, across, along, board)


def strip_piece(strip: Strip, low: float, high: float) -> Piece:
    """Return a strip as a closed body in the flat, from z = low to z = high of the part frame."""
    a, b = len(strip.across), len(strip.along)
    lines = np.stack(np.meshgrid(strip.across, strip.along, indexing="ij"), axis=-1).reshape(-1, 2)
    grid = strip.placed.place(lines)
    points = np.concatenate([np.column_stack([grid, np.full(len(grid), z)]) for z in (low, high)])
    number = np.arange(a * b).reshape(a, b)
    board = strip.board
    cells = np.stack([number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]], axis=-1)[board]
    # a wall stands wherever board meets none, to the right of the way from its first to its second point
    padded = np.pad(board, 1)
    inside = padded[1:-1, 1:-1]
    sides = (
        (inside & ~padded[1:-1, :-2], number[:-1, :-1], number[1:, :-1], _at_border(board, 1, 0)),
        (inside & ~padded[2:, 1:-1], number[1:, :-1], number[1:, 1:], _at_border(board, 0, -1)),
        (inside & ~padded[1:-1, 2:], number[1:, 1:], number[:-1, 1:], _at_border(board, 1, -1)),
        (inside & ~padded[:-2, 1:-1], number[:-1, 1:], number[:-1, :-1], _at_border(board, 0, 0)),
    )
    top = a * b
    faces = [(cells + top, FaceKind.UP), (cells[:, ::-1], FaceKind.DOWN)]
    for wall, start, end, border in sides:
        for kind, chosen in ((FaceKind.EDGE, wall & border), (FaceKind.SLIT, wall & ~border)):
            one, two = start[chosen], end[chosen]
            faces.append((np.stack([one, two, two + top, one + top], axis=1), kind))
    if _is_mirrored(strip.placed):
        faces = [(block[:, ::-1], kind) for block, kind in faces]
    return _without_spare_points(piece_of(points, faces))


def _at_border(board: np.ndarray, axis: int, end: int) -> np.ndarray:
    """Return which cells lie at one border of the grid."""
    border = np.zeros_like(board)
    border[(slice(None), end) if axis else (end, slice(None))] = True
    return border


def _is_mirrored(placed: PlacedLattice) -> bool:
    """Return whether along lies to the right of across, seen from z, so that faces would look inward."""
    return bool(placed.across[0] * placed.along[1] < placed.across[1] * placed.along[0])


def _without_spare_points(piece: Piece) -> Piece:
    """Return a piece without points that no face uses, such as those inside wide gaps."""
    used, corners = np.unique(piece.corners, return_inverse=True)
    return Piece(piece.points[used], corners.reshape(-1).astype(np.int32), piece.sizes, piece.kinds)
