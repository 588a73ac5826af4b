"""Comparing: what a block-out gives its players, which board takes how much of it, and two of them side by side.

Never a single score: a maker weighs the mean against the worst seat and against squares that stay dark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..errors import BadSettingError, GeometryError
from ..tolerance import LENGTH
from .bodies import make_bodies
from .cast import cast, united
from .cover import covered
from .set_table import top_of
from .sight import NEVER_SEEN, SEEN, Eye, SightMap, eyes_on_squares
from .table_top import Blocker, BlockerKind, Squares, TableTop

__all__ = ["Account", "Taken", "account", "difference", "taken_by", "with_gables"]


@dataclass(frozen=True, slots=True, eq=False)
class Account:
    """What one design gives at one height; shares over the squares of the room, counts in squares.

    by_seat: mean visible share per seat; mean: of all seats. worst_seat: name of the seat that sees least,
    with its share. never: seen from no seat; dark: hidden from at least one; shared: seen from every one.
    """

    height: float
    by_seat: tuple[tuple[str, float], ...]
    mean: float
    worst_seat: tuple[str, float]
    never: int
    dark: int
    shared: int


def account(sight: SightMap) -> tuple[Account, ...]:
    """Return the account of a map, one per height. Raises GeometryError where there is no seat or no square."""
    room = sight.in_room
    if not room.shape[0] or not room.shape[2]:
        raise GeometryError("There is nothing to weigh; place at least one seat and a room of at least one square.")
    found = []
    for k, height in enumerate(sight.heights):
        shares = room[:, k]
        means = [(name, float(mean)) for name, mean in zip(sight.seats, shares.mean(axis=1), strict=True)]
        found.append(
            Account(
                height=height,
                by_seat=tuple(means),
                mean=float(shares.mean()),
                worst_seat=min(means, key=lambda each: each[1]),
                never=int((shares.max(axis=0) < NEVER_SEEN).sum()),
                dark=int((shares.min(axis=0) < NEVER_SEEN).sum()),
                shared=int((shares.min(axis=0) >= SEEN).sum()),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class Taken:
    """What one blocker alone hides: what would be seen without it.

    squares: (seats, heights) area on the squares of the room, in squares.
    """

    name: str
    squares: np.ndarray


def taken_by(
    blockers: Sequence[Blocker], squares: Squares, eyes: Sequence[Eye], heights: Sequence[float]
) -> tuple[Taken, ...]:
    """Return for each blocker, most first, the hidden area that would be seen without it.

    What two blockers hide both is nobody's own, so the areas do not add up to all that is hidden.
    """
    bodies, points = make_bodies(blockers, squares), eyes_on_squares(eyes, squares)
    extent = (squares.columns * squares.size, squares.rows * squares.size)
    count = len(blockers)
    shades = cast(bodies, points, heights, extent).by_blocker().reshape(-1, count)
    before = _running(shades)
    after = _running(shades[:, ::-1])[:, ::-1]
    alone = shapely.difference(shapely.difference(shades, before), after).reshape(-1)
    shares = covered(alone, squares.columns, squares.rows, squares.size)[:, squares.inside].sum(axis=1)
    own = np.moveaxis(shares.reshape(len(eyes), len(heights), count), 2, 0).copy()
    own.setflags(write=False)
    order = sorted(range(count), key=lambda k: (-round(float(own[k].sum()), 9), k))
    return tuple(Taken(blockers[k].name, own[k]) for k in order)


def _running(shades: np.ndarray) -> np.ndarray:
    """Return for each column of (n, blockers) the union of all columns before it."""
    sums = np.full(shades.shape, shapely.Polygon(), dtype=object)
    for k in range(1, shades.shape[1]):
        sums[:, k] = united(np.stack([sums[:, k - 1], shades[:, k - 1]], axis=1))
    return sums


def difference(one: SightMap, two: SightMap) -> np.ndarray:
    """Return how much more of every square is seen in ``two``, (seats, heights, rows, columns).

    Raises GeometryError where the maps are not of the same squares, seats and heights.
    """
    a, b = one.squares, two.squares
    same = (
        one.share.shape == two.share.shape
        and one.seats == two.seats
        and np.allclose(one.heights, two.heights, rtol=0.0, atol=LENGTH)
        and abs(a.size - b.size) <= LENGTH
    )
    if not same:
        raise GeometryError(
            "The two maps are not of the same squares, seats and heights; compare block-outs on one room."
        )
    more: np.ndarray = two.share - one.share
    return more


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
