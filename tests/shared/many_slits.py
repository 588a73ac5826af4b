"""A lattice of 20,000 closed slits, and the shortest of several runs: what benchmarks of cut files need."""

from __future__ import annotations

import math
import time
from collections.abc import Callable

import numpy as np
from stowfold.geometry.board.lattice import Lattice
from stowfold.geometry.board.slits import SlitLayout
from stowfold.geometry.part import PlacedLattice

ROWS, COLUMNS = 200, 100


def place_slits(*, bridge: float, corner: tuple[float, float] = (0.0, 0.0)) -> PlacedLattice:
    """Return rows of slits of 2 mm with bridges between them, upright over a corner; all in mm."""
    period = 2.0 + bridge
    across, start = np.repeat(1.2 * np.arange(ROWS), COLUMNS), np.tile(period * np.arange(COLUMNS), ROWS)
    never = np.zeros(len(across), dtype=bool)
    lattice = Lattice(
        math.pi / 2, period * COLUMNS, 3.0, ROWS, ROWS - 1, COLUMNS, 2.0, bridge, bridge, 1.2, 0.8, 0.4,
        1.2 * (ROWS - 1), 150.0, 148.5, 0.01, None, 1.0, 3.0, 1.0, 5.0, 10.0,
    )  # fmt: skip
    slits = SlitLayout(across, start, start + 2.0, never, never)
    right, up = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    return PlacedLattice(0, 1, (), np.array(corner), right, up, math.pi / 2, lattice, slits)


def shortest(work: Callable[[], object], rounds: int) -> float:
    """Return the seconds of the shortest of several runs."""
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)
