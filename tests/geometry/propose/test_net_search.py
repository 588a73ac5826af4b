"""What a search for nets ends with: by construction every piece finds room on its sheet and lies flat."""

from __future__ import annotations

import pytest
from convex_solids import hull, random_hull
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.outcome import Settings
from stowfold.geometry.propose.net import search_for
from stowfold.geometry.solid.find import find_facets


@pytest.mark.slow
def test_every_piece_still_finds_room_when_its_first_facet_went_to_another_piece() -> None:
    """Swaps take the first facet away from a piece of this hull: in the frame of the next one its box is larger."""
    facets = find_facets(hull(random_hull(243)))
    (shell,) = facets.shells
    birch = find_stock("birch-plywood-3", read_stocks())
    search = search_for(facets, shell, Settings(birch, birch, birch, birch).as_cut, largest=(593.8, 293.8))
    forest = search.best()
    assert len(forest.drawn) < len(shell.facets) / 4
    assert [search.excess(piece) for piece in forest.drawn.values()] == [0.0] * len(forest.drawn)
    assert sorted(node for first in forest.drawn for node in forest.piece(first)[0]) == list(shell.facets)
