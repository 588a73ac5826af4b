"""Comparing: what a single blocker hides, and what the players would see without gables or with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..errors import BadSettingError
from .bodies import make_bodies
from .coverage import coverage
from .set_table import top_of
from .shadows import cast_shadows, united
from .sight import Eye, eyes_on_squares
from .table_top import Blocker, BlockerKind, Squares, TableTop

__all__ = ["Occluder", "rank_occluders", "with_gables"]


@dataclass(frozen=True, slots=True, eq=False)
class Occluder:
    """A blocker and what it alone hides: what would be seen without it.

    squares: (seats, heights) area on the squares of the room, in squares.
    """

    name: str
    squares: np.ndarray


def rank_occluders(
    blockers: Sequence[Blocker], squares: Squares, eyes: Sequence[Eye], heights: Sequence[float]
) -> tuple[Occluder, ...]:
    """Return for each blocker, most first, the hidden area that would be seen without it.

    What two blockers both hide counts for neither of them, so the areas do not add up to all that is hidden.
    """
    bodies, points = make_bodies(blockers, squares), eyes_on_squares(eyes, squares)
    extent = (squares.columns * squares.size, squares.rows * squares.size)
    count = len(blockers)
    shadows = cast_shadows(bodies, points, heights, extent).by_blocker().reshape(-1, count)
    before = _running(shadows)
    after = _running(shadows[:, ::-1])[:, ::-1]
    alone = shapely.difference(shapely.difference(shadows, before), after).reshape(-1)
    shares = coverage(alone, squares.columns, squares.rows, squares.size)[:, squares.inside].sum(axis=1)
    own = np.moveaxis(shares.reshape(len(eyes), len(heights), count), 2, 0).copy()
    own.setflags(write=False)
    order = sorted(range(count), key=lambda k: (-round(float(own[k].sum()), 9), k))
    return tuple(Occluder(blockers[k].name, own[k]) for k in order)


def _running(shadows: np.ndarray) -> np.ndarray:
    """Return for each column of (n, blockers) the union of all columns before it."""
    sums = np.full(shadows.shape, shapely.Polygon(), dtype=object)
    for k in range(1, shadows.shape[1]):
        sums[:, k] = united(np.stack([sums[:, k - 1], shadows[:, k - 1]], axis=1))
    return sums


def with_gables(top: TableTop) -> tuple[TableTop, TableTop]:
    """Return the table with level wall tops, and with end walls raised to the ridge; the roof lifted off both.

    A building that has gables loses them for the first; one that has none gets them as boards without
    thickness on the short sides of its room, up to the ridge of its roof. Raises BadSettingError where
    there is neither a gable nor a roof over a rectangle.
    """
    lifted = tuple(part for part in top.building if part.kind is not BlockerKind.ROOF)
    level = replace(top, building=tuple(part for part in lifted if part.kind is not BlockerKind.GABLE))
    if len(level.building) < len(lifted):
        return level, replace(top, building=lifted)
    squares, ridge = top.squares, top.ridge
    if ridge is None or not squares.inside.all():
        raise BadSettingError(
            "The building has neither a gable nor a roof over a rectangle; "
            "add a roof, so that there is a ridge to raise walls to"
        )
    eaves = top_of(level.building) or 0.0
    long, wide = squares.columns * squares.size * squares.u, squares.rows * squares.size * squares.v
    if squares.columns < squares.rows:
        long, wide = wide, long
    foot, up = squares.origin + (eaves - squares.origin[2]) * np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, 1.0])
    ends = tuple(
        Blocker(
            f"Gable {k + 1}", BlockerKind.GABLE, ((np.array([at, at + wide, at + wide / 2 + (ridge - eaves) * up]),),)
        )
        for k, at in enumerate((foot, foot + long))
    )
    return level, replace(top, building=(*level.building, *ends))
