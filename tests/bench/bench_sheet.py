"""Cut files of many slits, against plain formatting of as many numbers. Run: pytest tests/bench/bench_sheet.py"""

from __future__ import annotations

import math

import numpy as np
import pytest
from stowfold.geometry.board.lattice import Lattice, SlitLayout
from stowfold.geometry.flat.part import PlacedLattice
from stowfold.geometry.sheet.kerf import draw_slits
from stowfold.geometry.sheet.svg import path_data

ROWS, COLUMNS = 200, 100


@pytest.fixture(scope="module")
def placed() -> PlacedLattice:
    """One lattice of 20,000 closed slits."""
    across, start = np.repeat(1.2 * np.arange(ROWS), COLUMNS), np.tile(3.0 * np.arange(COLUMNS), ROWS)
    never = np.zeros(len(across), dtype=bool)
    lattice = Lattice(
        math.pi / 2, 300.0, 3.0, ROWS, ROWS - 1, COLUMNS, 2.0, 1.0, 1.0, 1.2, 0.8, 0.4, 1.2 * (ROWS - 1), 150.0, 148.5,
        0.01, None, 1.0, 3.0, 1.0, 5.0, 10.0,
    )  # fmt: skip
    slits = SlitLayout(across, start, start + 2.0, never, never)
    return PlacedLattice(0, 1, (), np.zeros(2), np.array([1.0, 0.0]), np.array([0.0, 1.0]), math.pi / 2, lattice, slits)


@pytest.mark.benchmark(group="20,000 slits")
def test_draw_slits(benchmark, placed):
    lines, _ = benchmark(draw_slits, placed, 0.2)
    assert len(lines) == ROWS * COLUMNS


@pytest.mark.benchmark(group="20,000 slits")
def test_path_data(benchmark, placed):
    lines, _ = draw_slits(placed, 0.2)
    assert benchmark(path_data, lines).count("Z") == ROWS * COLUMNS


@pytest.mark.benchmark(group="20,000 slits")
def test_plain_formatting(benchmark, placed):
    """The floor: the same numbers as text, one format string per slit."""
    lines, _ = draw_slits(placed, 0.2)
    slits = lines.points.reshape(-1, 8).tolist()
    form = "M%.3f,%.3fL%.3f,%.3fL%.3f,%.3fL%.3f,%.3fZ"
    assert benchmark(lambda: "".join(form % tuple(slit) for slit in slits)).count("Z") == ROWS * COLUMNS
