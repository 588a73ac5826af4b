"""Where the slits of a lattice lie: rows with closed ends and, between them, rows that run off the board."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .lattice import Lattice

__all__ = ["SlitLayout", "lay_out_slits"]


@dataclass(frozen=True, slots=True, eq=False)
class SlitLayout:
    """Where the slits of a lattice lie, one entry per slit, row by row.

    across: (m,) centre line of the slit from the first row, mm, 0 .. flat_width.
    start, end: (m,) true ends along the axis, 0 .. axis_length.
    open_start, open_end: (m,) bool, whether the slit runs off the board at that end.
    """

    across: np.ndarray
    start: np.ndarray
    end: np.ndarray
    open_start: np.ndarray
    open_end: np.ndarray


def lay_out_slits(lattice: Lattice) -> SlitLayout:
    """Place every slit: even rows with closed ends, odd rows shifted by half a period with open ends.

    The layout is the same from either end of the axis and from either side; slits of an axis too
    short for them are left out.
    """
    period = lattice.slit + lattice.bridge
    closed = lattice.edge_bridge + period * np.arange(lattice.slits)
    closed_ends = closed + lattice.slit
    # The bridges of an open-ended row face the middle of the closed slits beside it.
    middle = (closed + closed_ends) / 2.0
    opened = np.concatenate(([0.0], middle + lattice.bridge / 2.0))
    opened_ends = np.concatenate((middle - lattice.bridge / 2.0, [lattice.axis_length]))

    row, start, end, at_start, at_end = [], [], [], [], []
    for number in range(lattice.rows):
        starts, ends = (opened, opened_ends) if number % 2 else (closed, closed_ends)
        row.append(np.full(len(starts), float(number)))
        start.append(starts)
        end.append(ends)
        at_start.append((np.arange(len(starts)) == 0) & bool(number % 2))
        at_end.append((np.arange(len(starts)) == len(starts) - 1) & bool(number % 2))
    starts, ends = np.concatenate(start), np.concatenate(end)
    real = ends > starts
    across = np.concatenate(row) * lattice.pitch
    columns = [column[real] for column in (across, starts, ends, np.concatenate(at_start), np.concatenate(at_end))]
    for column in columns:
        column.setflags(write=False)
    return SlitLayout(*columns)
