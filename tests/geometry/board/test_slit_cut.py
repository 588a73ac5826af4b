"""What slits cost at the laser, against the lines as they are drawn and a count by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stowfold.geometry.beam.kerf import draw_slits
from stowfold.geometry.board.lattice import lattice, lay_out_slits
from stowfold.geometry.board.slit_cut import compare_cuts, slit_cut
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.board.wishes import Cut, HingeWishes
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.part import PlacedLattice

STOCKS = read_stocks()
BASSWOOD = find_stock("basswood-3.2", STOCKS)
RIGHT_ANGLE = math.pi / 2


def _made(opening: float, **change: float):
    sizes = {"angle": RIGHT_ANGLE, "axis_length": 76.2, "link_width": 1.2, "links": 4, "slits": 2, "bridge": 3.0}
    return lattice(BASSWOOD, opening=opening, **{**sizes, **change})


def test_single_lines_counted_by_hand() -> None:
    """Three closed rows of two slits 33.6 long, two open ones of 33.6 and twice 18.3; kerf 0.2: closed ends half a
    kerf short, open ends a kerf beyond the edge."""
    found = slit_cut(_made(0.2), 0.2)
    assert found.lines == 3 * 2 + 2 * 3
    assert found.length == pytest.approx(6 * 33.4 + 2 * (33.4 + 2 * (18.3 + 0.1)))


def test_slots_counted_by_hand() -> None:
    """Twice the length, and an end 0.4 wide at each closed end of a slot of 0.6."""
    found = slit_cut(_made(0.6), 0.2)
    assert found.lines == 12
    assert found.length == pytest.approx(2 * (6 * 33.4 + 2 * (33.4 + 2 * 18.4)) + 0.4 * (2 * 6 + 2 * (2 + 1 + 1)))


@settings(deadline=None, max_examples=60)
@given(st.floats(0.1, 1.2), st.floats(0.1, 0.4), st.integers(1, 4), st.integers(1, 5), st.floats(4.0, 300.0))
def test_agrees_with_the_lines_of_the_cut_file(
    opening: float, kerf: float, slits: int, pairs: int, axis_length: float
) -> None:
    made = _made(opening, slits=slits, links=2 * pairs, axis_length=axis_length)
    placed = PlacedLattice(
        parent=0,
        child=1,
        host_edges=(),
        origin=np.zeros(2),
        across=np.array([1.0, 0.0]),
        along=np.array([0.0, 1.0]),
        angle=RIGHT_ANGLE,
        lattice=made,
        slits=lay_out_slits(made),
    )
    lines, _ = draw_slits(placed, kerf)
    found = slit_cut(made, kerf)
    assert found.lines == len(lines)
    assert found.length == pytest.approx(lines.length, abs=1e-6)


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_slots_save_room_in_every_board(stock) -> None:
    line, slot = compare_cuts(stock, angle=RIGHT_ANGLE, axis_length=76.2)
    assert (line.cut, slot.cut) == (Cut.LINE, Cut.SLOT)
    assert line.solution.lattice.opening == stock.kerf < slot.solution.lattice.opening
    assert slot.solution.zone_width < line.solution.zone_width
    for way in (line, slot):
        assert way.slits == slit_cut(way.solution.lattice, stock.kerf)


def test_of_equal_rows_a_slot_costs_twice_the_line() -> None:
    line, slot = slit_cut(_made(0.2), 0.2), slit_cut(_made(0.201), 0.2)
    assert slot.length == pytest.approx(2 * line.length, rel=1e-3)


def test_wishes_for_the_opening_are_not_looked_at() -> None:
    fixed = HingeWishes(opening=0.7, cut=Cut.SLOT, bridge=4.0)
    line, slot = compare_cuts(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, fixed=fixed)
    assert line.solution.lattice.bridge == slot.solution.lattice.bridge == 4.0
    assert line.solution.lattice.opening == BASSWOOD.kerf


def test_a_beam_without_width_is_refused() -> None:
    with pytest.raises(BadSettingError, match="kerf is 0 mm"):
        slit_cut(_made(0.2), 0.0)
