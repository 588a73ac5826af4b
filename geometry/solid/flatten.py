"""Flattening: points moved as little as possible so that faces are flat, upright faces upright and level edges level.

Planes are fitted to the points of each flat region by least squares; points then go to where their planes meet, and
both are repeated until they agree (by Anderson's acceleration, Journal of the ACM 12, 1965: 20 rounds where plain
repetition takes thousands). What no plane holds stays where it was.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

__all__ = ["Holds", "Surfaces", "flatten"]

#: How strongly a point is kept where it is, against its planes: so weak that planes at right angles decide at once,
#: so strong that planes within a few degrees of one another do not throw a point far along their line.
_STAY = 1e-2

#: How many earlier rounds are used: with fewer it takes more rounds, with more no fewer (measured on noisy samples).
_LOOK_BACK = 8

#: Points nearer than this to their planes lie on them, mm: rounding of double precision at building size,
#: with a margin.
_DONE = 1e-10

#: Points spread less than this across a line, as a share of their spread along it (both squared), are on that line.
_ON_A_LINE = 1e-9

#: Rounds at most; a building takes 3 to 40, and what has not come together by then is told as it is.
_ROUNDS = 200


@dataclass(frozen=True, slots=True, eq=False)
class Surfaces:
    """Planes to be fitted: which points lie on which, and how every plane may turn.

    point, plane: (k,) every pair of a point and a plane that holds it. normal: (p, 3) unit, to begin with.
    upright, level, fixed: (p,) whether the plane is to be upright, level, or to keep its normal.
    ground: (p,) whether the plane lies at height 0.
    """

    point: np.ndarray
    plane: np.ndarray
    normal: np.ndarray
    upright: np.ndarray
    level: np.ndarray
    fixed: np.ndarray
    ground: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Holds:
    """Points as their planes hold them, (n, 3) mm, and how far they still lie off them at most, mm."""

    points: np.ndarray
    off: float


def flatten(points: np.ndarray, surfaces: Surfaces) -> Holds:
    """Return points, (n, 3) mm, moved onto their planes, which are fitted to the points round after round."""
    place = points.copy()
    normal = surfaces.normal
    tried: list[np.ndarray] = []
    came: list[np.ndarray] = []
    best = Holds(points, np.inf)
    for _ in range(_ROUNDS):
        normal, height = fit_planes(place, surfaces, normal)
        away = np.einsum("ij,ij->i", place[surfaces.point], normal[surfaces.plane]) - height[surfaces.plane]
        off = float(np.abs(away).max(initial=0.0))
        if off < best.off:
            best = Holds(place, off)
        if off <= _DONE:
            break
        tried = [*tried[-_LOOK_BACK:], place.reshape(-1)]
        came = [*came[-_LOOK_BACK:], _meet(place, surfaces, normal, height).reshape(-1)]
        place = _ahead(tried, came).reshape(-1, 3)
    return best


def _ahead(tried: list[np.ndarray], came: list[np.ndarray]) -> np.ndarray:
    """Return where rounds that led from ``tried`` to ``came`` are going, as far as the last ones tell."""
    if len(tried) < 2:
        return came[-1]
    steps = [after - before for before, after in zip(tried, came, strict=True)]
    turns = np.column_stack([after - before for before, after in pairwise(steps)])
    ways = np.column_stack([after - before for before, after in pairwise(came)])
    shares = np.linalg.lstsq(turns, steps[-1], rcond=None)[0]
    ahead: np.ndarray = came[-1] - ways @ shares
    return ahead


def fit_planes(place: np.ndarray, surfaces: Surfaces, before: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return unit normal, (p, 3), and distance from the origin, (p,) mm, of the planes through their points.

    place: (n, 3) mm. before: (p, 3) the normals of the round before, which say which way a plane faces and hold
    where points lie on one line.
    """
    count = len(surfaces.normal)
    of_plane = place[surfaces.point]
    many = np.bincount(surfaces.plane, minlength=count)[:, None]
    centre = _sums(surfaces.plane, of_plane, count) / many
    arm = of_plane - centre[surfaces.plane]
    arm[surfaces.upright[surfaces.plane], 2] = 0.0
    spread = _sums(surfaces.plane, (arm[:, :, None] * arm[:, None, :]).reshape(-1, 9), count).reshape(-1, 3, 3)
    # an upright plane spreads along the vertical for certain
    spread[surfaces.upright, 2, 2] = 1.0 + np.trace(spread[surfaces.upright], axis1=1, axis2=2)
    sizes, ways = np.linalg.eigh(spread)
    normal = ways[:, :, 0]
    # points on one line leave their plane free to turn
    loose = surfaces.fixed | surfaces.level | (sizes[:, 1] < _ON_A_LINE * sizes[:, 2])
    normal = np.where(loose[:, None], before, normal)
    normal *= np.where(np.einsum("ij,ij->i", normal, before) < 0.0, -1.0, 1.0)[:, None]
    height = np.einsum("ij,ij->i", centre, normal)
    height[surfaces.ground] = 0.0
    return normal, height


def _meet(place: np.ndarray, surfaces: Surfaces, normal: np.ndarray, height: np.ndarray) -> np.ndarray:
    """Return the points nearest to all of their planes, (n, 3) mm, kept weakly where they are."""
    of_plane = normal[surfaces.plane]
    pull = np.zeros((len(place), 3, 3))
    np.add.at(pull, surfaces.point, of_plane[:, :, None] * of_plane[:, None, :])
    away = height[surfaces.plane] - np.einsum("ij,ij->i", place[surfaces.point], of_plane)
    want = np.zeros((len(place), 3))
    np.add.at(want, surfaces.point, of_plane * away[:, None])
    moved: np.ndarray = place + np.linalg.solve(pull + _STAY * np.eye(3), want[:, :, None])[:, :, 0]
    return moved


def _sums(label: np.ndarray, rows: np.ndarray, count: int) -> np.ndarray:
    """Return the sum of the rows, (k, m), that bear each label 0 .. count - 1."""
    return np.column_stack([np.bincount(label, weights=column, minlength=count) for column in rows.T])
