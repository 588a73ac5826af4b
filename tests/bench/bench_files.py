"""20,000 slits as a cut file on the disk, against plain formatting of as many numbers in the same run.

Run: pytest tests/bench/bench_files.py -s
"""

from __future__ import annotations

import math
import time
from pathlib import Path

import numpy as np
from shapely.geometry import box
from stowfold.geometry.beam.kerf import draw_slits
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.lattice import Lattice, SlitLayout
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.part import FaceUp, Part, PartKind, PlacedLattice
from stowfold.geometry.sheet.layout import Layout, Placement, Sheet
from stowfold.geometry.sheet.svg import draw_sheet

ROWS, COLUMNS = 200, 100


def placed_slits() -> PlacedLattice:
    """One lattice of 20,000 closed slits."""
    across, start = np.repeat(1.2 * np.arange(ROWS), COLUMNS), np.tile(2.8 * np.arange(COLUMNS), ROWS)
    never = np.zeros(len(across), dtype=bool)
    lattice = Lattice(
        math.pi / 2, 280.0, 3.0, ROWS, ROWS - 1, COLUMNS, 2.0, 0.8, 0.8, 1.2, 0.8, 0.4, 1.2 * (ROWS - 1), 150.0, 148.5,
        0.01, None, 1.0, 3.0, 1.0, 5.0, 10.0,
    )  # fmt: skip
    slits = SlitLayout(across, start, start + 2.0, never, never)
    corner = np.array([5.0, 5.0])
    return PlacedLattice(0, 1, (), corner, np.array([1.0, 0.0]), np.array([0.0, 1.0]), math.pi / 2, lattice, slits)


def shortest(work, rounds=5):
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def test_a_sheet_of_20000_slits_takes_at_most_twice_plain_formatting(tmp_path: Path) -> None:
    stock, placed = find_stock("birch-plywood-3", read_stocks()), placed_slits()
    part = Part("W1", "Wall", PartKind.WALL, stock.name, 3.0, FaceUp.OUTSIDE, 1, box(0, 0, 260, 290), (), (placed,))
    layout = Layout(
        (Sheet(stock, Laser(), (600.0, 300.0), 0.0, "a.svg"),),
        (Placement("W1", 0, 0.0, np.array([5.0, 5.0])),),
        (1, ""),
        (),
    )

    def ours() -> None:
        text = draw_sheet(layout, 0, {"W1": part}, title="x")
        (tmp_path / "ours.svg").write_text(text)

    corners = draw_slits(placed, stock.kerf)[0].points.reshape(-1, 8).tolist()
    form = "M%.3f,%.3fL%.3f,%.3fL%.3f,%.3fL%.3f,%.3fZ"

    def plain() -> None:
        (tmp_path / "plain.txt").write_text("".join(form % tuple(slit) for slit in corners))

    times = shortest(ours), shortest(plain)
    sizes = [(tmp_path / name).stat().st_size for name in ("ours.svg", "plain.txt")]
    print(f"\nours {times[0] * 1e3:.0f} ms, {sizes[0]} bytes; plain {times[1] * 1e3:.0f} ms, {sizes[1]} bytes")
    assert (tmp_path / "ours.svg").read_text().count("Z") == ROWS * COLUMNS + 1
    assert sizes[0] < 1.1 * sizes[1]
    assert times[0] < 2 * times[1]
