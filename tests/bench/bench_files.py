"""20,000 slits as a cut file on the disk, against plain formatting of as many numbers in the same run.

Run: pytest tests/bench/bench_files.py -s
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from many_slits import COLUMNS, ROWS, place_slits, shortest
from shapely.geometry import box
from stowfold.geometry.beam.kerf import draw_slits
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.part import FaceUp, Part, PartKind
from stowfold.geometry.sheet.layout import Layout, Placement, Sheet
from stowfold.geometry.sheet.svg import draw_sheet


def test_a_sheet_of_20000_slits_takes_at_most_twice_plain_formatting(tmp_path: Path) -> None:
    stock, placed = find_stock("birch-plywood-3", read_stocks()), place_slits(bridge=0.8, corner=(5.0, 5.0))
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

    times = shortest(ours, rounds=5), shortest(plain, rounds=5)
    sizes = [(tmp_path / name).stat().st_size for name in ("ours.svg", "plain.txt")]
    print(f"\nours {times[0] * 1e3:.0f} ms, {sizes[0]} bytes; plain {times[1] * 1e3:.0f} ms, {sizes[1]} bytes")
    assert (tmp_path / "ours.svg").read_text().count("Z") == ROWS * COLUMNS + 1
    assert sizes[0] < 1.1 * sizes[1]
    assert times[0] < 2 * times[1]
