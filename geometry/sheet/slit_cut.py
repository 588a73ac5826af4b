"""Ways of cutting a hinge: the narrowest of single lines beside the narrowest of slots, and what each costs.

Slots save room, since they let links turn further before they touch, but the laser goes all round each of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..beam.kerf import draw_slits
from ..beam.laser import Laser, Operation
from ..board.hinge import HingeSolution, solve_hinge
from ..board.lattice import lay_out_slits
from ..board.stock import Stock
from ..board.wishes import Cut, HingeWishes
from ..part import PlacedLattice
from .times import cutting_seconds

__all__ = ["WayOfCutting", "compare_cuts"]


@dataclass(frozen=True, slots=True)
class WayOfCutting:
    """One way of cutting slits for a bend. seconds: of the laser for all its slits, without hops between them."""

    cut: Cut
    solution: HingeSolution
    seconds: float


def compare_cuts(
    placed: PlacedLattice, stock: Stock, laser: Laser, fixed: HingeWishes
) -> tuple[WayOfCutting, WayOfCutting]:
    """Return the narrowest hinge of single lines and the narrowest of slots for a bend, in that order.

    fixed: other wishes; its ``cut``, ``opening``, ``inside_radius`` and ``zone_width`` are not looked at, since
    they are what the two differ in. Raises as ``solve_hinge`` does.
    """
    bend, ways = placed.lattice, []
    for cut in (Cut.LINE, Cut.SLOT):
        wishes = replace(fixed, cut=cut, opening=None, inside_radius=None, zone_width=None)
        found = solve_hinge(stock, angle=bend.angle, axis_length=bend.axis_length, fixed=wishes)
        made = replace(placed, lattice=found.lattice, slits=lay_out_slits(found.lattice))
        slits, _ = draw_slits(made, stock.kerf)
        ways.append(WayOfCutting(cut, found, cutting_seconds(slits, laser, Operation.SLITS)))
    return ways[0], ways[1]
