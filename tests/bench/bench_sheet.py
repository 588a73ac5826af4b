"""Cut files of many slits, against plain formatting of as many numbers. Run: pytest tests/bench/bench_sheet.py"""

from __future__ import annotations

import numpy as np
import pytest
from many_slits import COLUMNS, ROWS, place_slits
from shapely.geometry import box
from stowfold.geometry.beam.kerf import draw_slits
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.part import FaceUp, Part, PartKind, PlacedLattice
from stowfold.geometry.sheet.by_hand import Fit, InHand
from stowfold.geometry.sheet.layout import Layout, Placement, Sheet
from stowfold.geometry.sheet.preview import draw_figures, figure_of, spread_out
from stowfold.geometry.sheet.svg import path_data


@pytest.fixture(scope="module")
def placed() -> PlacedLattice:
    """One lattice of 20,000 closed slits."""
    return place_slits(bridge=1.0)


@pytest.mark.benchmark(group="20,000 slits")
def test_draw_slits(benchmark, placed):
    lines, _ = benchmark(draw_slits, placed, 0.2)
    assert len(lines) == ROWS * COLUMNS


@pytest.mark.benchmark(group="20,000 slits")
def test_path_data(benchmark, placed):
    lines, _ = draw_slits(placed, 0.2)
    assert benchmark(path_data, lines).count("Z") == ROWS * COLUMNS


@pytest.fixture(scope="module")
def sheet(placed):
    """A wall with these slits and a strip beside it, on one sheet."""
    stock = find_stock("birch-plywood-3", read_stocks())
    outlines = {"W1": box(-5, -5, 245, 300), "S1": box(0, 0, 80, 20)}
    lattices = {"W1": (placed,)}
    parts = {
        name: Part(name, name, PartKind.WALL, stock.name, 3.0, FaceUp.OUTSIDE, 1, outline, (), lattices.get(name, ()))
        for name, outline in outlines.items()
    }
    lying = Placement("W1", 0, 0.0, np.array([10.0, 20.0])), Placement("S1", 0, 0.0, np.array([400.0, 100.0]))
    return Layout((Sheet(stock, Laser(), (600.0, 330.0), 0.0, "a.svg"),), lying, (1, ""), ()), parts


@pytest.mark.benchmark(group="20,000 slits")
def test_preview_for_the_window(benchmark, sheet):
    layout, parts = sheet

    def preview():
        figures = {name: figure_of(part) for name, part in parts.items()}
        return draw_figures(layout.placements, parts, figures, spread_out(layout, (0.0, 0.0)))

    assert len(benchmark(preview).slits) == ROWS * COLUMNS


@pytest.mark.benchmark(group="20,000 slits")
def test_one_step_of_a_part_moved_by_hand(benchmark, sheet):
    layout, parts = sheet
    hand = InHand(layout, parts, "S1")
    hand.bear(0, (400.0, 100.0), snap=10.0)  # what lies there is worked out once
    assert benchmark(lambda: hand.bear(0, (257.0, 100.0), snap=10.0)).fit is Fit.FREE


@pytest.mark.benchmark(group="20,000 slits")
def test_plain_formatting(benchmark, placed):
    """The floor: the same numbers as text, one format string per slit."""
    lines, _ = draw_slits(placed, 0.2)
    slits = lines.points.reshape(-1, 8).tolist()
    form = "M%.3f,%.3fL%.3f,%.3fL%.3f,%.3fL%.3f,%.3fZ"
    assert benchmark(lambda: "".join(form % tuple(slit) for slit in slits)).count("Z") == ROWS * COLUMNS
