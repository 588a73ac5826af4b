"""Hinges: time of a search, and the cell of a lattice by finite elements on meshes twice and four times as fine.

Run: pytest tests/bench/bench_hinge.py -s (the study takes some minutes and prints the table of DEVELOPERS.md).
"""

from __future__ import annotations

import math

import cell_by_elements as cell
import numpy as np
import pytest
from stowfold.geometry.board.hinge import solve_hinge
from stowfold.geometry.board.lattice_design import design_lattice
from stowfold.geometry.board.links import restraint
from stowfold.geometry.board.stock import find_stock, read_stocks

BIRCH = find_stock("birch-plywood-3", read_stocks())

#: Elements across the link, half a slit, along half a bridge, the free length, half the thickness.
MESHES = ((2, 1, 1, 8, 2), (3, 1, 1, 12, 3), (4, 2, 2, 20, 4))

BOARDS = {
    "basswood": cell.BASSWOOD,
    "plywood": cell.Elastic((3000.0, 12000.0, 1500.0), (0.05, 0.3, 0.3), (650.0, 200.0, 650.0)),
    "MDF": cell.isotropic(2080.0, 0.3),
    "acrylic": cell.isotropic(3200.0, 0.37),
}

#: link width, opening, slit, bridge of 3 mm board: one kerf line, slots of growing width, a short link, a long one.
SHAPES = (
    (1.2, 0.2, 33.6, 3.0),
    (0.8, 0.4, 33.6, 3.0),
    (1.0, 0.5, 45.5, 3.0),
    (0.8, 0.2, 20.0, 2.1),
    (1.6, 1.2, 30.0, 2.1),
    (0.8, 0.4, 72.0, 2.1),
)


@pytest.mark.benchmark(group="one hinge")
def test_solve(benchmark):
    assert benchmark(solve_hinge, BIRCH, angle=math.pi / 2, axis_length=76.2).holds


@pytest.mark.benchmark(group="one hinge")
def test_design(benchmark):
    assert benchmark(design_lattice, BIRCH, angle=math.pi / 2, axis_length=76.2).links


def test_study():
    """Free bar and held bar over the finest mesh, and what the next finer mesh changes."""
    print("\n| board | link | opening | slit | bridge | free bar | held bar | last refinement |")
    print("|---|---|---|---|---|---|---|---|")
    for name, board in BOARDS.items():
        for width, opening, slit, bridge in SHAPES:
            free = (slit - bridge) / 2
            rigidity = cell.torsional_rigidity(width, 3.0, across=board.shear[0], through=board.shear[2])
            factor = restraint(
                np.asarray(width),
                np.asarray(opening),
                3.0,
                free=np.asarray(free),
                bridge=np.asarray(bridge),
                rigidity=rigidity,
                along=board.moduli[1],
                across=board.moduli[0],
            )
            sizes = {"slit": slit, "bridge": bridge, "board": board}
            found = [cell.twisting_stiffness(width, opening, 3.0, fine=fine, **sizes) for fine in MESHES]
            bar, held = float(rigidity / free) / found[-1], float(rigidity / free * factor) / found[-1]
            change = found[-1] / found[-2] - 1
            print(f"| {name} | {width} | {opening} | {slit} | {bridge} | {bar:.3f} | {held:.3f} | {change:+.1%} |")
            assert held == pytest.approx(1.0, abs=0.04)
            assert abs(change) < 0.01
