"""The tiles of a floor of two boards are seen where they lie, in the film and in the guide's view."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from sample_solids import solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.turning import view_data
from stowfold.geometry.part import TILES, PartKind, standing_corners
from stowfold.geometry.settings import FloorTiles
from stowfold.geometry.show.film import film_of, poses_at

BIRCH, MDF = (find_stock(name, read_stocks()) for name in ("birch-plywood-3", "mdf-3"))


@pytest.fixture(scope="module")
def tiled():
    settings = Settings(
        BIRCH,
        BIRCH,
        BIRCH,
        BIRCH,
        tiles=FloorTiles(BIRCH, MDF),
        floor_finish="tiles",
        finishes={"tiles": finish_of(Pattern.CHEQUER, size=2.0)},
    )
    outcome = make_parts(solid_of("toll_house"), settings, title="Toll house").outcome
    return outcome, film_of(outcome)


def test_standing_tiles_cover_their_places_on_top_of_the_floor(tiled) -> None:
    """Their places are those of the laying plan, which shapely compares with what is shown, seen from above."""
    outcome, film = tiled
    moments = poses_at(film, 1.0)
    (floor,) = (part for part in outcome.parts if part.kind is PartKind.FLOOR)
    top = standing_corners(floor, floor.panels[0])[:, 2].max()
    for tile in outcome.tiling.tiles:
        points = moments[tile.part].pose.apply(film.boards[tile.part].points())
        assert shapely.MultiPoint(points[:, :2]).convex_hull.symmetric_difference(
            tile.outline.convex_hull
        ).area == pytest.approx(0.0, abs=1e-6)
        assert np.ptp(points[:, 2]) == pytest.approx(BIRCH.thickness)
        assert points[:, 2].min() == pytest.approx(top)


def test_tiles_go_with_their_floor_into_the_box_and_in_the_guide(tiled) -> None:
    outcome, film = tiled
    (floor,) = (part for part in outcome.parts if part.kind is PartKind.FLOOR)
    standing, stacked = poses_at(film, 1.0), poses_at(film, 2.0)
    moved = stacked[floor.id].pose.matrix @ np.vstack([standing[floor.id].pose.inverse().matrix, (0, 0, 0, 1)])
    for tile in outcome.tiling.tiles:
        at = standing[tile.part].pose.apply(np.zeros((1, 3)))
        goes = stacked[tile.part].pose.apply(np.zeros((1, 3)))
        assert goes == pytest.approx(at @ moved[:, :3].T + moved[:, 3], abs=1e-6)
    shown = [part for part in view_data(outcome, film)["parts"] if part["kind"] in TILES]
    assert len(shown) == len(outcome.tiling.tiles)
    assert all(part["ride"]["host"] == list(film.boards).index(floor.id) for part in shown)
