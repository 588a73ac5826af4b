"""The room that standing boards take, asked by whatever is to be glued beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Protocol, Self

import numpy as np
import shapely

from ..fold.collide import greatest_depth
from ..fold.standing import standing_boards
from ..part import Part
from ..pose import Pose
from ..settings import BuildSettings
from ..tolerance import OVERLAP

__all__ = ["Hands", "Taken"]

#: Places along an edge are tried at this spacing, mm.
_STEP = 3.0

#: Kept free round what is glued to a closure, mm (common practice, no source).
_AIR = 2.0


class Hands(Protocol):
    """What hands do with sections before all of it stands, and what is glued on by then."""

    def is_free(self, parts: Sequence[Part]) -> bool:
        """Whether these parts are in the way of none of it."""

    def take(self, parts: Sequence[Part]) -> None:
        """Take these parts as there."""

    def copy(self) -> Self:
        """Return the same, to which other things may be glued."""


class Taken:
    """The room that boards take; whatever is placed takes room as well.

    hands: what must still be done by hand with sections and what is glued to them; without it all stands by now.
    """

    def __init__(self, parts: Sequence[Part], settings: BuildSettings, hands: Hands | None = None) -> None:
        self._settings, self._hands = settings, hands
        self._keep(_boxed(self._prisms(parts)))

    def copy(self) -> Taken:
        """Return the same room, in which other things may be placed."""
        other = Taken((), self._settings, None if self._hands is None else self._hands.copy())
        other._keep((self._corners, self._low, self._high))
        return other

    def nearest(self, length: float, aim: float, make: Callable[[float, float], tuple[Part, ...]]) -> tuple[Part, ...]:
        """Return the parts at the free place nearest to ``aim`` and take it, or none where no place is free.

        length: of the line along which places are tried, mm; make: what makes the parts at a place on it, larger all
        round by an air, or nothing where they find no hold.
        """
        steps = np.arange(0.0, length, _STEP)
        for at in sorted(
            (float(aim + sign * step) for step in steps for sign in (1.0, -1.0)), key=lambda x: abs(x - aim)
        ):
            grown = make(at, _AIR)
            if not grown or not self._is_clear(grown):
                continue
            parts = make(at, 0.0)
            # with air they may have been made smaller in places, so as to find hold
            if parts and self.is_free(parts):
                self.take(parts)
                return parts
        return ()

    def take(self, parts: Sequence[Part]) -> None:
        """Take the room of these parts."""
        if self._hands is not None:
            self._hands.take(parts)
        before = (self._corners, self._low, self._high)
        self._keep(tuple(np.concatenate(both) for both in zip(before, _boxed(self._prisms(parts)), strict=True)))

    def is_free(self, parts: Sequence[Part]) -> bool:
        """Whether parts would cross nothing that stands by now, nor be in the way of what hands do before."""
        return self._is_clear(parts) and (self._hands is None or self._hands.is_free(parts))

    def between(self, stands: Pose, low: float, high: float) -> shapely.Geometry:
        """Return what of this room lies between two planes, as seen along the z of ``stands``, in its frame, mm.

        low, high: heights of the planes, mm; what reaches no more than OVERLAP between them is left out.
        """
        local = stands.back(self._corners.reshape(-1, 3)).reshape(-1, 6, 3)
        heights = local[..., 2]
        near = (heights.max(axis=1) > low + OVERLAP) & (heights.min(axis=1) < high - OVERLAP)
        return shapely.union_all([_hull_between(prism, low + OVERLAP, high - OVERLAP) for prism in local[near]])

    def _is_clear(self, parts: Sequence[Part]) -> bool:
        """Whether parts would cross nothing that stands by now."""
        corners = self._prisms(parts)
        if not len(corners):
            return True
        low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
        near = np.all((self._low < high) & (self._high > low), axis=1)
        if not near.any():
            return True
        return greatest_depth(corners, self._corners[near]) <= OVERLAP

    def _keep(self, boxed: tuple[np.ndarray, ...]) -> None:
        """Remember prisms, (m, 6, 3) mm, and the boxes around them."""
        self._corners, self._low, self._high = boxed

    def _prisms(self, parts: Sequence[Part]) -> np.ndarray:
        boards = standing_boards(parts, (), self._settings)
        return np.concatenate([np.zeros((0, 6, 3)), *(board.corners for board in boards)])


def _boxed(corners: np.ndarray) -> tuple[np.ndarray, ...]:
    """Return prisms, (m, 6, 3) mm, with where the boxes around them begin and end, (m, 3) mm each."""
    return corners, corners.min(axis=1), corners.max(axis=1)


def _hull_between(prism: np.ndarray, low: float, high: float) -> shapely.Geometry:
    """Return the shadow of a prism, (6, 3) mm, between two heights."""
    points = [prism[(prism[:, 2] >= low) & (prism[:, 2] <= high)]]
    one, two = np.triu_indices(len(prism), 1)
    for height in (low, high):
        rise = prism[two, 2] - prism[one, 2]
        crossed = (prism[one, 2] - height) * (prism[two, 2] - height) < 0.0
        share = (height - prism[one[crossed], 2]) / rise[crossed]
        points.append(prism[one[crossed]] + share[:, None] * (prism[two[crossed]] - prism[one[crossed]]))
    return shapely.convex_hull(shapely.MultiPoint(np.concatenate(points)[:, :2]))
