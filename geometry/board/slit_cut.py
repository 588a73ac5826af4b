"""The cut of a lattice: how far the beam travels for its slits, one pass for a line and all round for a slot.

``slit_cut`` measures one lattice; ``compare_cuts`` sets the narrowest of single lines beside the
narrowest of slots for the same bend, so that the room saved can be weighed against the time at the laser.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..errors import BadSettingError
from ..tolerance import LENGTH
from .hinge import MARGIN, HingeSolution, solve_hinge
from .lattice import Lattice, lay_out_slits
from .stock import Stock
from .wishes import Cut, HingeWishes

__all__ = ["SlitCut", "WayOfCutting", "compare_cuts", "slit_cut"]


@dataclass(frozen=True, slots=True)
class SlitCut:
    """length: of all lines that the beam cuts, mm; lines: how often it pierces the board."""

    length: float
    lines: int


@dataclass(frozen=True, slots=True)
class WayOfCutting:
    """One way of cutting slits for a bend: the solution, and what it costs at the laser."""

    cut: Cut
    solution: HingeSolution
    slits: SlitCut


def slit_cut(made: Lattice, kerf: float) -> SlitCut:
    """Return what the slits of a lattice cost the beam, drawn as the cut files draw them.

    An opening no wider than ``kerf``, mm, is one line, a wider one a closed rectangle on the slot's inside.
    Lines end half a kerf before a slit's end and one kerf beyond the edge of the board, where a slot has no end.
    """
    if not kerf > 0.0:
        raise BadSettingError(f"The kerf is {kerf:g} mm; it must be larger than 0.")
    layout = lay_out_slits(made)
    opened = layout.open_start.astype(np.int64) + layout.open_end
    drawn = layout.end - layout.start - kerf + 1.5 * kerf * opened
    opened, drawn = opened[drawn > LENGTH], drawn[drawn > LENGTH]
    if made.opening <= kerf + LENGTH:
        return SlitCut(float(drawn.sum()), len(drawn))
    across = (made.opening - kerf) * (2 - opened)
    return SlitCut(float((2.0 * drawn + across).sum()), len(drawn) + int((opened == 2).sum()))


def compare_cuts(
    stock: Stock, *, angle: float, axis_length: float, fixed: HingeWishes | None = None, margin: float = MARGIN
) -> tuple[WayOfCutting, WayOfCutting]:
    """Return the narrowest hinge of single lines and the narrowest of slots, in that order, with their cuts.

    fixed: other wishes, whose ``cut`` and ``opening`` are not looked at. Raises as ``solve_hinge`` does.
    """
    fixed = HingeWishes() if fixed is None else fixed
    ways = []
    for cut in (Cut.LINE, Cut.SLOT):
        wishes = replace(fixed, cut=cut, opening=None)
        found = solve_hinge(stock, angle=angle, axis_length=axis_length, fixed=wishes, margin=margin)
        ways.append(WayOfCutting(cut, found, slit_cut(found.lattice, stock.kerf)))
    return ways[0], ways[1]
