"""Time of the film of the grain store: ``pytest tests/bench/bench_show.py``.

The reference in the same run is what shapely takes to cut the outlines of the same parts into triangles, flat and
without slits. Report ratios, not seconds.
"""

from __future__ import annotations

import pytest
import shapely
from filmed import filmed
from stowfold.geometry.show.boards import boards_of
from stowfold.geometry.show.film import film_of, poses_at


@pytest.fixture(scope="module")
def store():
    return filmed("grain_store")


def test_reference_shapely_cuts_the_outlines_into_triangles(benchmark, store):
    outlines = [part.outline for part in store[0].parts]
    benchmark(lambda: [shapely.constrained_delaunay_triangles(outline) for outline in outlines])


def test_boards(benchmark, store):
    benchmark(lambda: [boards_of(part) for part in store[0].parts])


def test_film(benchmark, store):
    benchmark(film_of, store[0])


def test_film_again_with_the_boards_it_has(benchmark, store):
    benchmark(film_of, store[0], known=store[1].boards)


def test_poses_and_points_at_one_fold_time(benchmark, store):
    film = store[1]

    def moment():
        return [
            station.pose.apply(film.boards[name].points(station.share))
            for name, station in poses_at(film, 0.35).items()
        ]

    benchmark(moment)
