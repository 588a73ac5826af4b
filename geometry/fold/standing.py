"""Standing boards: every flat region of board where it stands once the parts are folded, with its thickness."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import lru_cache

import numpy as np
from shapely.geometry import Polygon

from ..part import Part, PlacedLattice, SameBoards, Tab
from ..settings import BuildSettings
from .collide import Board, prisms, strip_prisms
from .fold import fold, links_at

__all__ = ["standing_boards"]


def standing_boards(parts: Iterable[Part], tabs: Iterable[Tab], settings: BuildSettings) -> Iterator[Board]:
    """Yield every flat region of board where it stands once its part is folded: panels, links of lattices, tabs."""
    for part in parts:
        yield from _folded(part)
    depth = settings.floor.thickness - settings.ground.tab_short
    for tab in tabs:
        foot = tab.tab + (np.array([0.0, 0.0, -depth]) if tab.reach is None else tab.reach)
        halves = [np.concatenate([tab.tab[pick], foot[pick]]) for pick in ([0, 1, 2], [0, 2, 3])]
        yield Board(tab.part, f"{tab.part}/tabs", np.array(halves))


def _folded(part: Part) -> tuple[Board, ...]:
    """Return the panels and lattices of a part as it stands; what is drawn on the part does not change them."""
    return _boards(SameBoards(part))


@lru_cache(maxsize=1024)
def _boards(same: SameBoards) -> tuple[Board, ...]:
    """Return the boards of a part; every joint of a building asks for them again."""
    part = same.part
    folded = fold(part)
    low, high = (0.0, part.thickness) if part.board_side > 0 else (-part.thickness, 0.0)
    boards = []
    for k, (panel, stands) in enumerate(zip(part.panels, folded, strict=True)):
        outline = Polygon(panel.ring, panel.holes)
        boards.append(Board(part.id, f"{part.id}/{k}", prisms(outline, stands, low, high)))
    for k, lattice in enumerate(part.lattices):
        bottom, top = _inside_bend(lattice, part.board_side, low, high)
        strips, bent = links_at(lattice, part.board_side)
        parent = folded[lattice.parent]
        bent = parent.turn @ bent
        bent[:, :, 3] += parent.origin
        boards.append(Board(part.id, f"{part.id}/lattice{k}", strip_prisms(strips, bent, bottom, top)))
    return tuple(boards)


def _inside_bend(placed: PlacedLattice, board_side: int, low: float, high: float) -> tuple[float, float]:
    """Return the faces of flat links that stay within the cylinder which they make up, part z, mm.

    A link's outer edges stand out from the cylinder by its sagitta, a few thousandths of a millimetre.
    """
    lattice = placed.lattice
    outer = lattice.neutral_radius + lattice.thickness / 2
    sagitta = outer - math.sqrt(outer**2 - (lattice.link_width / 2) ** 2)
    return (low, high - sagitta) if placed.angle * board_side > 0 else (low + sagitta, high)
