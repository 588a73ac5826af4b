"""Ways of cutting a hinge: what slits cost at the laser, against a count by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.board.lattice import lattice
from stowfold.geometry.board.slits import lay_out_slits
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.board.wishes import Cut, HingeWishes
from stowfold.geometry.part import PlacedLattice
from stowfold.geometry.sheet.times import compare_cuts

STOCKS = read_stocks()
BASSWOOD = find_stock("basswood-3.2", STOCKS)
RIGHT_ANGLE = math.pi / 2
#: Reaches its speed at once, pierces at once: 10 mm take a second.
PLAIN = Laser(acceleration=1e12, feeds={Operation.SLITS: Feed(10.0, 0.0)})


def _placed(axis_length: float = 76.2) -> PlacedLattice:
    made = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=axis_length, link_width=1.2, opening=0.2, links=4, slits=2)
    return PlacedLattice(
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


def _drawn(made, kerf: float) -> tuple[float, int]:
    """Return length and number of all lines for the slits of a lattice, row by row: closed rows hold n slits between
    two edge bridges; open ones n - 1 and two that run off the board, each half a slit less half a bridge long."""
    drawn = []
    layout = lay_out_slits(made)
    for k in range(len(layout.start)):
        opened = int(layout.open_start[k]) + int(layout.open_end[k])
        drawn.append((layout.end[k] - layout.start[k] - kerf + 1.5 * kerf * opened, opened))
    if made.opening <= kerf + 1e-9:
        return sum(length for length, _ in drawn), len(drawn)
    return sum(2 * length + (made.opening - kerf) * (2 - opened) for length, opened in drawn), len(drawn)


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_slots_save_room_in_every_board_and_both_times_are_those_of_their_lines(stock) -> None:
    """A kerf line is followed once, a slot all round: both counted from the layout of the slits."""
    line, slot = compare_cuts(_placed(), stock, PLAIN, HingeWishes())
    assert (line.cut, slot.cut) == (Cut.LINE, Cut.SLOT)
    assert line.solution.lattice.opening == stock.kerf < slot.solution.lattice.opening
    assert slot.solution.zone_width < line.solution.zone_width
    for way in (line, slot):
        length, _ = _drawn(way.solution.lattice, stock.kerf)
        assert way.seconds == pytest.approx(length / 10.0, rel=1e-3)


def test_piercing_and_passes_are_counted() -> None:
    pierced = Laser(acceleration=1e12, feeds={Operation.SLITS: Feed(10.0, 0.5, passes=2)})
    plain, _ = compare_cuts(_placed(), BASSWOOD, PLAIN, HingeWishes())
    twice, _ = compare_cuts(_placed(), BASSWOOD, pierced, HingeWishes())
    _, lines = _drawn(plain.solution.lattice, BASSWOOD.kerf)
    assert twice.seconds == pytest.approx(2 * (plain.seconds + 0.5 * lines), rel=1e-3)


def test_wishes_in_which_the_two_differ_are_not_looked_at() -> None:
    fixed = HingeWishes(opening=0.7, cut=Cut.SLOT, bridge=4.0, zone_width=1.0, inside_radius=1.0)
    line, slot = compare_cuts(_placed(), BASSWOOD, PLAIN, fixed)
    assert line.solution.lattice.bridge == slot.solution.lattice.bridge == 4.0
    assert line.solution.lattice.opening == BASSWOOD.kerf
    assert line.solution.holds and slot.solution.holds


def test_the_bend_is_that_of_the_hinge_that_is_looked_at() -> None:
    placed = _placed(120.0)
    half = replace(placed, lattice=replace(placed.lattice, angle=RIGHT_ANGLE / 2))
    for given in (placed, half):
        for way in compare_cuts(given, BASSWOOD, PLAIN, HingeWishes()):
            assert way.solution.lattice.angle == given.lattice.angle
            assert way.solution.lattice.axis_length == 120.0
