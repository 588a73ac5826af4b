"""A floor of two boards cut again: what changes comes with it, named after what it replaces. Sizes by the stretch."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from sample_solids import solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.flow.recut_floor import again_words, drawn_size, floor_again
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import TILES
from stowfold.geometry.settings import FloorTiles, FloorWay

STOCKS = read_stocks()
BIRCH, MDF = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "mdf-3"))
CHEQUER = {"chequer": finish_of(Pattern.CHEQUER, size=2.0)}
SQUARE, MORE = 25.4, -1.5


@pytest.fixture(scope="module")
def store():
    settings = Settings(BIRCH, BIRCH, BIRCH, BIRCH, tiles=FloorTiles(BIRCH, MDF))
    settings = replace(settings, finishes=CHEQUER, floor_finish="chequer")
    return make_parts(solid_of("grain_store"), settings, title="Store").outcome


def test_tiles_that_change_are_cut_again_under_the_names_of_those_that_they_replace(store) -> None:
    drawn = drawn_size(store)
    again = floor_again(store, (drawn[0] + MORE, drawn[1]))
    tiles = [part for part in again.parts if part.kind in TILES and "spare" not in part.id]
    # squares are counted from the front left corner, so that the whole of it falls to the six tiles at the far end
    old = {part.shared_name: part for part in store.tiling.laid}
    grown = Counter(round(sum(part.size) - sum(old[part.name.rstrip("abc")].size), 3) for part in tiles)
    assert grown[round(MORE * 9 * SQUARE / drawn[0], 3)] == 6
    # all others lie beside the cheeks of the two joiners, which moved in their squares
    assert len(tiles) < 15 < len(store.tiling.laid)
    assert all(part.name[-1] in "abc" for part in tiles)
    assert len({part.id for part in again.parts}) == len(again.parts)
    spare = sum("spare" in part.id for part in again.parts)
    assert again_words(store, again) == f"the floor, and {len(tiles) + spare} pieces to lay on it"
    assert {part.stock for part in tiles} == {BIRCH.name, MDF.name}
    assert {placed.part for placed in again.layout.placements} == {part.id for part in again.parts}


def test_tiles_stay_as_cut_where_the_walls_stand_as_drawn(store) -> None:
    again = floor_again(store, drawn_size(store))
    assert [part.id for part in again.parts] == ["F1"]
    assert again_words(store, again) == "the floor; what lies on it still fits as it was cut"


def test_pieces_of_an_inlay_keep_their_names_unless_they_change(store) -> None:
    inlaid = replace(store.settings, tiles=FloorTiles(BIRCH, MDF, FloorWay.INLAY, star=True, border=True))
    inlaid = replace(inlaid, floor_finish="")
    house = make_parts(solid_of("grain_store"), inlaid, title="Store").outcome
    drawn = drawn_size(house)
    again = floor_again(house, (drawn[0] + MORE, drawn[1] - 0.5))
    before = Counter(part.name for part in house.tiling.laid)
    after = Counter(part.name.rstrip("abcd") for part in again.parts if part.kind in TILES and "spare" not in part.id)
    assert after == before
    (star,) = {
        part.name for part in house.tiling.laid if part.size[0] == pytest.approx(part.size[1]) and part.area > 400
    }
    assert star in {part.name for part in again.parts}
