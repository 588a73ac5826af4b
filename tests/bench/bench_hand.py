"""Time of the hand's half of play: ``pytest tests/bench/bench_hand.py``.

A room of 14 x 10 squares with four walls of 62 and twelve pieces of furniture in the middle of a table with eight
seats. The reference in the same run is what shapely takes for one distance of all squares from the same
faces in plan; a whole map asks for some two hundred of these. Report ratios, not seconds.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box
from stowfold.geometry.play.hand import check_hands, map_hands, measure_for, probes_of
from stowfold.geometry.play.reach import map_reach
from stowfold.geometry.play.standing_room import find_standing_room
from stowfold.geometry.play.stature import find_stature, read_statures
from stowfold.geometry.play.table import propose_seats, shoulder_of
from stowfold.geometry.play.table_top import Bend, Blocker, BlockerKind, Squares, Table

SIZE = 25.4
COLUMNS, ROWS = 14, 10


def _upright(name: str, start: tuple[float, float], end: tuple[float, float], height: float) -> Blocker:
    outline = np.array([(*start, 0.0), (*end, 0.0), (*end, height), (*start, height)])
    return Blocker(name, BlockerKind.WALL, ((outline,),))


def _crate(name: str, x: float, y: float, side: float, height: float) -> Blocker:
    low = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
    sides = [_upright(name, a, b, height).faces[0] for a, b in zip(low, low[1:] + low[:1], strict=True)]
    bottom = np.array([(*point, 0.0) for point in low[::-1]])
    top = np.array([(*point, height) for point in low])
    return Blocker(name, BlockerKind.FURNITURE, (*sides, (bottom,), (top,)), solid=True)


@pytest.fixture(scope="module")
def room():
    """Squares, blockers, table, seats and statures."""
    x, y = COLUMNS * SIZE / 2, ROWS * SIZE / 2
    corners = [(-x, -y), (x, -y), (x, y), (-x, y)]
    blockers = [
        _upright(f"wall {k}", a, b, 62.0)
        for k, (a, b) in enumerate(zip(corners, corners[1:] + corners[:1], strict=True))
    ]
    chance = np.random.default_rng(1)
    for k, cell in enumerate(chance.choice(COLUMNS * ROWS, 12, replace=False)):
        left, low = cell % COLUMNS * SIZE - x + 2.0, cell // COLUMNS * SIZE - y + 2.0
        blockers.append(_crate(f"crate {k}", float(left), float(low), 21.4, float(chance.uniform(10.0, 25.0))))
    right, up = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    squares = Squares(np.array([-x, -y, 0.0]), right, up, SIZE, np.ones((ROWS, COLUMNS), dtype=bool))
    table = Table(np.zeros(3))
    return squares, blockers, table, propose_seats(table, 8, stature="small"), read_statures()


def test_reference_shapely_measures_all_squares_once(benchmark, room):
    squares, blockers, *_ = room
    faces = [Polygon(rings[0][:, :2]) for blocker in blockers for rings in blocker.faces]
    shapes = shapely.GeometryCollection([face if face.area > 0 else box(*face.bounds) for face in faces])
    points = shapely.points(squares.centres.reshape(-1, 3)[:, :2])
    benchmark(shapely.distance, shapes, points)


def test_whole_hand_map_of_eight_seats(benchmark, room):
    squares, blockers, table, seats, statures = room
    probes = probes_of(find_stature("large", statures))

    def whole():
        shoulders = np.array([shoulder_of(seat, table, statures) for seat in seats])
        hands = map_hands(measure_for(probes, squares, blockers), probes, shoulders)
        return hands, check_hands(hands)

    hands, _ = benchmark(whole)
    assert hands.margin.shape == (2, 8, ROWS, COLUMNS)
    assert benchmark.stats.stats.median < 0.25


def test_one_seat_moved(benchmark, room):
    squares, blockers, table, seats, statures = room
    probes = probes_of(find_stature("large", statures))
    clearance = measure_for(probes, squares, blockers)
    shoulder = np.array([shoulder_of(seats[0], table, statures)])
    benchmark(map_hands, clearance, probes, shoulder)


def test_one_crate_dragged(benchmark, room):
    """A frame while one piece moves: it alone is measured and laid beside the rest, for all seats."""
    squares, blockers, table, seats, statures = room
    probes = probes_of(find_stature("large", statures))
    still = measure_for(probes, squares, blockers[:-1])
    shoulders = np.array([shoulder_of(seat, table, statures) for seat in seats])
    benchmark(lambda: map_hands(still.beside(measure_for(probes, squares, blockers[-1:])), probes, shoulders))


def test_reach_map_of_eight_seats(benchmark, room):
    squares, _, table, seats, statures = room
    benchmark(map_reach, squares, seats, table, statures)


def test_standing_room(benchmark, room):
    squares, blockers, *_ = room
    along = np.array([(1.0, 0.0, 0.0), (0.0, 1.0, 0.0)])
    benchmark(find_standing_room, squares, blockers, bends=[Bend("corner", squares.origin, along, 15.0)])
