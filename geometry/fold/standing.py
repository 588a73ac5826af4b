"""Standing boards: every flat region of board where it stands once the parts are folded, with its thickness."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import lru_cache

import numpy as np
from shapely.geometry import Polygon

from ..part import Part, PlacedLattice, Tab
from ..settings import BuildSettings
from .collide import Board, prisms
from .fold import bent_links, fold

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


@lru_cache(maxsize=1024)
def _folded(part: Part) -> tuple[Board, ...]:
    """Return the panels and lattices of a part as it stands; every joint of a building asks for them again."""
    folded = fold(part)
    low, high = (0.0, part.thickness) if part.board_side > 0 else (-part.thickness, 0.0)
    boards = []
    for k, (panel, stands) in enumerate(zip(part.panels, folded, strict=True)):
        shape = Polygon(panel.ring, panel.holes)
        boards.append(Board(part.id, f"{part.id}/{k}", prisms(shape, stands, low, high)))
    for k, lattice in enumerate(part.lattices):
        bottom, top = _inside_bend(lattice, part.board_side, low, high)
        links = [
            prisms(Polygon(strip), folded[lattice.parent] @ bent, bottom, top)
            for strip, bent in bent_links(lattice, part.board_side)
        ]
        boards.append(Board(part.id, f"{part.id}/lattice{k}", np.concatenate(links)))
    return tuple(boards)


def _inside_bend(placed: PlacedLattice, board_side: int, low: float, high: float) -> tuple[float, float]:
    """Return the faces of flat links that stay within the cylinder which they make up, part z, mm.

    A link's outer edges stand out from the cylinder by its sagitta, a few thousandths of a millimetre.
    """
    lattice = placed.lattice
    outer = lattice.neutral_radius + lattice.thickness / 2
    sagitta = outer - math.sqrt(outer**2 - (lattice.link_width / 2) ** 2)
    return (low, high - sagitta) if placed.angle * board_side > 0 else (low + sagitta, high)
