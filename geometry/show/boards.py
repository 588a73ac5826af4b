"""Boards: a part as the bodies it is made of, plates and strips, and where their points come to lie."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ..part import Part, PartKind
from ..pose import Pose
from .bending import bend_points, lattice_angles, middle_panel, panel_poses
from .coats import coated_plate, coated_strip
from .marks import finish_pieces, mark_pieces
from .mesh import Piece, joined_pieces
from .plates import plate_piece, plates_of
from .strips import strip_of, strip_piece

__all__ = ["Boards", "boards_of", "standing_points"]


@dataclass(frozen=True, slots=True, eq=False)
class Boards:
    """A part as one mesh in the flat, and which of its points move together.

    piece: all bodies, plates first. plates: (panel, first point, end) of every body that moves with a panel;
    strips: (lattice, first point, end) of every body that bends. root: the panel that holds the others, whose part
    frame is that of the whole part.
    """

    part: Part
    piece: Piece
    plates: tuple[tuple[int, int, int], ...]
    strips: tuple[tuple[int, int, int], ...]
    root: int

    def points(self, share: float = 1.0, *, opened: float = 0.0) -> np.ndarray:
        """Return the points of the part, (n, 3) mm in its frame, bent by a share and with leaves opened by one.

        Multiplied by the pose that ``stands`` is at share 1, they lie in the model.
        """
        return self.bent(lattice_angles(self.part, share, opened=opened))

    def bent(self, angles: Sequence[float]) -> np.ndarray:
        """Return the points of the part, (n, 3) mm in its frame, with an angle for every lattice."""
        if not self.part.lattices:
            return self.piece.points
        poses = panel_poses(self.part, angles, root=self.root)
        moved = self.piece.points.copy()
        for panel, start, end in self.plates:
            moved[start:end] = poses[panel].apply(moved[start:end])
        for index, start, end in self.strips:
            placed = self.part.lattices[index]
            bent = bend_points(placed, self.part.board_side, angles[index], moved[start:end])
            moved[start:end] = poses[placed.parent].apply(bent)
        return moved

    @property
    def stands(self) -> Pose:
        """Where the part frame is when the building stands: as the root panel stands."""
        return self.part.panels[self.root].stands


def boards_of(part: Part) -> Boards:
    """Return a part as a mesh; a part without panels has none."""
    low, high = sorted((0.0, part.board_side * part.thickness))
    plates = plates_of(part) if part.panels else ()
    bodies = [(plate.panel, coated_plate(part, plate, plate_piece(plate, low, high), low, high)) for plate in plates]
    if part.kind in (PartKind.FLOOR, PartKind.TRIM, PartKind.SIGN):
        bodies += mark_pieces(part, plates, high)
    bodies += finish_pieces(part, plates, high)
    strips = [coated_strip(part, placed, strip_piece(strip_of(placed), low, high)) for placed in part.lattices]
    pieces = [piece for _, piece in bodies] + strips
    ends = np.cumsum([len(piece.points) for piece in pieces]).tolist()
    spans = list(zip([0, *ends[:-1]], ends, strict=True)) if ends else []
    return Boards(
        part=part,
        piece=joined_pieces(pieces),
        plates=tuple((panel, *span) for (panel, _), span in zip(bodies, spans, strict=False)),
        strips=tuple((index, *span) for index, span in enumerate(spans[len(bodies) :])),
        root=middle_panel(part) if part.panels else 0,
    )


def standing_points(boards: Iterable[Boards]) -> np.ndarray:
    """Return all points of boards that stand, (n, 3) mm in the model; props are loose."""
    found = [
        board.stands.apply(board.points())
        for board in boards
        if board.part.panels and board.part.kind is not PartKind.PROP
    ]
    return np.concatenate(found) if found else np.zeros((0, 3))
