"""Lines of the standing building: what a viewport shows over the model of lattices, joiners, tabs and slots."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from ..part import Part, PartKind, PlacedLattice, Tab
from ..pose import Pose
from .fold import bend_pose, fold

__all__ = ["standing_lines"]

#: Chords by which the outline of a bent zone is drawn.
_CHORDS = 12


def standing_lines(parts: Sequence[Part], tabs: Iterable[Tab]) -> Mapping[str, np.ndarray]:
    """Return line pieces in model mm, (k, 2, 3), by what they show: "lattice", "joiner", "tab" and "slot".

    Lattices are drawn slit by slit on the face that the maker modelled, folded as they will stand.
    """
    lattice: list[np.ndarray] = []
    joiner: list[np.ndarray] = []
    for part in parts:
        if part.kind in (PartKind.CORE, PartKind.CHEEK):
            panel = part.panels[0]
            for height in (0.0, part.thickness):
                joiner.append(_ring(panel.stands.apply(panel.ring, height)))
        stands = fold(part)
        for placed in part.lattices:
            lattice.append(_slits(placed, stands[placed.parent], part.board_side))
            lattice.append(_rim(placed, stands[placed.parent], part.board_side))
    found = {
        "lattice": lattice,
        "joiner": joiner,
        "tab": [_ring(tab.tab) for tab in tabs],
        "slot": [_ring(tab.slot) for tab in tabs],
    }
    return {kind: np.concatenate(pieces) if pieces else np.zeros((0, 2, 3)) for kind, pieces in found.items()}


def _ring(points: np.ndarray) -> np.ndarray:
    pieces: np.ndarray = np.stack([points, np.roll(points, -1, axis=0)], axis=1)
    return pieces


def _slits(placed: PlacedLattice, stands: Pose, board_side: int) -> np.ndarray:
    """Return every slit of a lattice as one line, bent into place, (m, 2, 3)."""
    across, lines = placed.slits.across, placed.slit_lines
    pieces = np.empty((len(lines), 2, 3))
    for row in np.unique(across):
        pieces[across == row] = _bent(placed, stands, board_side, float(row), lines[across == row])
    return pieces


def _rim(placed: PlacedLattice, stands: Pose, board_side: int) -> np.ndarray:
    """Return the two bent ends of a lattice's zone, (k, 2, 3)."""
    made = placed.lattice
    rows = np.linspace(0.0, made.flat_width, _CHORDS + 1)
    arcs = np.stack(
        [
            _bent(placed, stands, board_side, float(row), placed.place([(row, 0.0), (row, made.axis_length)]))
            for row in rows
        ],
        axis=1,
    )
    pieces: np.ndarray = np.stack([arcs[:, :-1], arcs[:, 1:]], axis=2).reshape(-1, 2, 3)
    return pieces


def _bent(placed: PlacedLattice, stands: Pose, board_side: int, row: float, flat: np.ndarray) -> np.ndarray:
    """Return where flat points on the line ``row`` mm from the first row come to lie, (..., 3)."""
    return (stands @ bend_pose(placed, board_side, at=row)).apply(flat)
