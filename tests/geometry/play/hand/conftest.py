"""The room of 14 x 10 squares that hands reach into, in the middle of a table of 6 x 4 feet."""

from __future__ import annotations

import numpy as np
import pytest
from stowfold.geometry.play.stature import read_statures
from stowfold.geometry.play.table_top import Blocker, BlockerKind, Squares, Table

_HALF_LENGTH, _HALF_WIDTH = 177.8, 127.0
_CRATE = ((3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))


def _sheet(name, outline, *holes, kind=BlockerKind.WALL):
    rings = tuple(np.array(ring, dtype=float) for ring in (outline, *holes))
    return Blocker(name, kind, (rings,))


def _crate(name, low, size, *, kind=BlockerKind.FURNITURE, turn=0.0):
    unit = np.array([(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0), (0, 0, 1), (1, 0, 1), (1, 1, 1), (0, 1, 1)])
    points = unit * np.array(size, dtype=float)
    spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
    points = points @ spin.T + np.array(low, dtype=float)
    return Blocker(name, kind, tuple((points[list(face)],) for face in _CRATE), solid=True)


@pytest.fixture(scope="session")
def sheet():
    """Make a blocker of one flat face: name, outline, holes."""
    return _sheet


@pytest.fixture(scope="session")
def crate():
    """Make a box: name, lowest corner, size; turned about that corner."""
    return _crate


@pytest.fixture(scope="session")
def walls():
    """Make the four walls on the lines of the squares, of one height."""

    def make(height=62.0):
        corners = [(-_HALF_LENGTH, -_HALF_WIDTH), (_HALF_LENGTH, -_HALF_WIDTH)]
        corners += [(_HALF_LENGTH, _HALF_WIDTH), (-_HALF_LENGTH, _HALF_WIDTH)]
        ends = zip(("south", "east", "north", "west"), corners, corners[1:] + corners[:1], strict=True)
        return [_sheet(f"the {side} wall", [(*a, 0), (*b, 0), (*b, height), (*a, height)]) for side, a, b in ends]

    return make


@pytest.fixture(scope="session")
def grid():
    """Make a grid of columns x rows squares whose lower left corner lies at a place."""

    def make(columns=14, rows=10, *, origin=(-_HALF_LENGTH, -_HALF_WIDTH, 0.0), size=25.4):
        right, up = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
        return Squares(np.array(origin, dtype=float), right, up, size, np.ones((rows, columns), dtype=bool))

    return make


@pytest.fixture(scope="session")
def spot(grid):
    """Make a grid of the one square whose middle is a plan point."""
    return lambda x, y, size=25.4: grid(1, 1, origin=(x - size / 2, y - size / 2, 0.0), size=size)


@pytest.fixture(scope="session")
def table():
    return Table(np.zeros(3))


@pytest.fixture(scope="session")
def statures():
    return read_statures()
