"""Floors of two boards: tiles fill the room but for their play, and come out as large as drawn. Judged by shapely."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely
from sample_solids import solid_of
from shapely.geometry import Polygon
from stowfold.geometry.beam.kerf import draw_part
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.finish.tiles import Tiling, lay_tiles
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.joints.floor import Room
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.tiles import tiles_section
from stowfold.geometry.paper.work_order import order_of_work
from stowfold.geometry.part import PartKind
from stowfold.geometry.settings import TILE_PLAY as PLAY
from stowfold.geometry.settings import FloorTiles

STOCKS = read_stocks()
BIRCH, MDF, GREY = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "mdf-3", "grey-board-2"))
SQUARES = finish_of(Pattern.CHEQUER, size=2.0)
TWO = Settings(
    BIRCH, BIRCH, BIRCH, BIRCH, tiles=FloorTiles(BIRCH, MDF), floor_finish="tiles", finishes={"tiles": SQUARES}
)


@pytest.fixture(scope="module")
def house():
    return make_parts(solid_of("toll_house"), TWO, title="Toll house").outcome


def test_a_chequer_fills_the_toll_house_square_by_square(house) -> None:
    tiling = house.tiling
    # 8 x 3 and 4 x 4 squares, and the corner behind the re-entrant bend
    assert Counter(tile.dark for tile in tiling.tiles) == {False: 20, True: 21}
    whole = [tile for tile in tiling.tiles if abs(tile.outline.area - (25.4 - PLAY) ** 2) < 1e-6]
    assert len(whole) == 15  # squares that touch no wall: 6, 3 and three times 2
    for tile in tiling.tiles:
        column, row = np.floor(np.array(tile.outline.representative_point().coords[0]) / 25.4)
        assert tile.dark == bool((column + row) % 2)
    shapes = [tile.outline for tile in tiling.tiles]
    assert shapely.union_all(shapes).area == pytest.approx(sum(shape.area for shape in shapes), abs=1e-6)
    tree = shapely.STRtree(shapes)
    gaps = [shapes[a].distance(shapes[b]) for a, b in tree.query(shapes, predicate="dwithin", distance=1.0).T if a < b]
    assert min(gaps) == pytest.approx(PLAY, abs=1e-6)


def test_tiles_lie_on_the_floor_within_the_walls_and_cheeks(house) -> None:
    boards = [part for part in house.parts if part.kind is not PartKind.FLOOR]
    plans = [
        Polygon(panel.stands.apply(panel.ring, z)[:, :2]).buffer(0)
        for part in boards
        for panel in part.panels
        for z in (0.0, part.board_side * part.thickness)
    ]
    standing = shapely.union_all([plan for plan in plans if plan.area > 1.0])
    for part, tile in zip(house.tiling.laid, house.tiling.tiles, strict=True):
        (panel,) = part.panels
        low, high = (panel.stands.apply(panel.ring, z) for z in (0.0, part.board_side * part.thickness))
        assert np.ptp(low[:, 2]) == np.ptp(high[:, 2]) == 0.0
        assert (low[0, 2], high[0, 2]) == pytest.approx((0.0, 3.0))
        # cut with the upper face down, and right way round again where it lies
        assert Polygon(low[:, :2]).symmetric_difference(tile.outline).area < 1e-6
        assert not standing.intersects(tile.outline)
    assert house.stow.stack_height - make_parts(
        solid_of("toll_house"), replace(TWO, tiles=None), title="Plain"
    ).outcome.stow.stack_height == pytest.approx(3.0)


def test_the_kerf_is_made_up_for_and_names_are_on_the_tiles(house) -> None:
    for part in house.tiling.parts:
        stock = house.settings.stocks[part.stock]
        drawn = draw_part(part, stock.kerf)
        if part.area > 600.0:  # the small corner has ends too sharp for a mitre
            grown = part.outline.buffer(stock.kerf / 2, join_style="mitre")
            assert Polygon(drawn.outer.points).symmetric_difference(grown).area < 0.1
        spot = part.label_spot
        corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * [spot.length / 2, spot.height / 2]
        assert part.outline.covers(Polygon(corners + np.array(spot.centre)))
    # one spare of every tile of which there are several: see the plan in the guide
    assert sum(house.tiling.spare.values()) == len(house.tiling.parts) - len(house.tiling.tiles)
    told = tiles_section(house)
    assert "41 tiles lie on the floor and raise it by 3 mm" in told.replace("\n", " ")
    assert all(f">{tile.name}</text>" in told for tile in house.tiling.tiles)
    stages = order_of_work(house)
    assert stages.index("Floor</b>") < stages.index("Lay tiles</b>") and "sort 41 tiles" in stages
    assert "tiles" not in order_of_work(replace(house, tiling=Tiling()))


@pytest.mark.parametrize("pattern", [Pattern.BASKET, Pattern.HERRINGBONE])
def test_parquet_is_cut_from_two_boards_half_and_half(pattern: Pattern) -> None:
    floor = make_parts(solid_of("grain_store"), Settings(BIRCH, BIRCH, BIRCH, BIRCH), title="Store").outcome.parts
    part = next(part for part in floor if part.kind is PartKind.FLOOR)
    room = Room(shapely.box(0, 0, 150, 100), np.zeros(2))
    tiling = lay_tiles([part], {part.id: room}, finish_of(pattern, size=4.0), FloorTiles(BIRCH, MDF))
    area = {dark: sum(tile.outline.area for tile in tiling.tiles if tile.dark is dark) for dark in (False, True)}
    assert sum(area.values()) == pytest.approx(150 * 100, rel=0.03)
    assert area[True] == pytest.approx(area[False], rel=0.25)
    (told,) = lay_tiles([part], {part.id: room}, finish_of(pattern, size=1.2), FloorTiles(BIRCH, MDF)).findings
    assert told.code == "floor-tiles" and "more than 300" in told.message
    (told,) = lay_tiles([part], {part.id: room}, finish_of(pattern, size=0.5), FloorTiles(BIRCH, MDF)).findings
    assert "under 3 mm they break" in told.message
    (told,) = lay_tiles([part], {part.id: room}, SQUARES, FloorTiles(BIRCH, GREY)).findings
    assert "differ by 1.0 mm" in told.message
