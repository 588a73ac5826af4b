"""What the guide says of board and corners: the numbers of the beam formula, worked again here."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from stowfold.geometry.board.stock import Grain, find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.board_words import board_section
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.solid.solid import make_solid


def _outcome(name, **change):
    stock = replace(find_stock(name, read_stocks()), **change)
    block = block_out([(0, 0), (200, 0), (200, 120), (0, 120)], breaks=[(70.0, 0.0), (70.0, 120.0)])
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    return run(solid, Settings(stock, stock, stock, stock), title="shed")


def test_the_lean_is_that_of_a_beam_with_a_moment_at_one_end():
    outcome = _outcome("birch-plywood-3")
    words = board_section(outcome)
    moment, reach, lean = (
        float(re.search(pattern, words)[1])
        for pattern in (r"pushes with ([\d.]+) N", r"joiner ([\d.]+) mm away", r"lean by ([\d.]+)°")
    )
    lattice = next(lattice.lattice for part in outcome.parts for lattice in part.lattices)
    stock = outcome.settings.walls
    # slope M d / (3 E I) of a simply supported beam with a moment at one end (handbook), and play / d
    inertia = lattice.axis_length * stock.thickness**3 / 12.0
    slope = moment * reach / (3.0 * stock.elastic_modulus * inertia)
    expected = math.degrees(slope + math.atan2(outcome.settings.joiner.slide, reach))
    assert lean == pytest.approx(expected, abs=0.06)


@pytest.mark.slow
def test_both_ways_of_solid_wood_stand_side_by_side_with_their_joiners():
    outcome = _outcome("basswood-3.2", grain=Grain.LENGTH, sheet=(610.0, 305.0))
    words = board_section(outcome)
    assert "along the grain" in words and "across the grain" in words
    loop = sum(part.size[0] for part in outcome.parts if part.kind == "wall")
    # sections of a loop are as long as the sheet's way: across the grain 305 mm, along it 610 mm
    assert f"{math.ceil(loop / 305.0)} joiners" in words
    assert f"{math.ceil(loop / 610.0)} joiner" in words


@pytest.mark.slow
def test_a_board_without_grain_has_no_table():
    assert "across the grain" not in board_section(_outcome("mdf-3"))
