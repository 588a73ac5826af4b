"""Poses: rigid placements in space, such as how a part stands and what a bend does to a board behind it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

__all__ = ["Pose"]


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """A rigid placement: it takes points of its own frame to points of the frame around it, mm.

    matrix: (3, 4) float64, read-only; its columns are the own axes x, y, z and the own origin, seen from around.
    An object that the maker scaled by hand has axes of other lengths; ``back`` is wrong for it, all else holds.

    >>> front = Pose.of((1, 0, 0), (0, 0, 1), (0, -1, 0), (10, 0, 0))
    >>> front.apply([(5.0, 20.0)]).tolist()
    [[15.0, 0.0, 20.0]]
    """

    matrix: np.ndarray

    def __post_init__(self) -> None:
        matrix = np.array(self.matrix, dtype=float)
        if matrix.shape != (3, 4):
            raise ValueError(f"a pose is a matrix of 3 rows and 4 columns, not {matrix.shape}")
        matrix.setflags(write=False)
        object.__setattr__(self, "matrix", matrix)

    @classmethod
    def identity(cls) -> Pose:
        """Return the pose that leaves points where they are."""
        return cls(np.eye(3, 4))

    @classmethod
    def of(cls, x: ArrayLike, y: ArrayLike, z: ArrayLike, origin: ArrayLike) -> Pose:
        """Return the pose of a frame with these axes and this origin, (3,) each."""
        return cls(np.column_stack([x, y, z, origin]))

    @property
    def x(self) -> np.ndarray:
        """The own x axis, (3,)."""
        return self.matrix[:, 0]

    @property
    def y(self) -> np.ndarray:
        """The own y axis, (3,)."""
        return self.matrix[:, 1]

    @property
    def z(self) -> np.ndarray:
        """The own z axis, (3,)."""
        return self.matrix[:, 2]

    @property
    def origin(self) -> np.ndarray:
        """The own origin, (3,) mm."""
        return self.matrix[:, 3]

    @property
    def turn(self) -> np.ndarray:
        """The three axes as columns, (3, 3)."""
        return self.matrix[:, :3]

    def apply(self, points: ArrayLike, height: float = 0.0) -> np.ndarray:
        """Return where own points come to lie, (..., 3) mm.

        points: (..., 3) mm, or (..., 2) mm in the plane ``height`` above the own z = 0.
        """
        own = np.asarray(points, dtype=float)
        if height:
            own = np.concatenate([own, np.full((*own.shape[:-1], 1), height)], axis=-1)
        placed: np.ndarray = own @ self.matrix[:, : own.shape[-1]].T + self.origin
        return placed

    def back(self, points: ArrayLike) -> np.ndarray:
        """Return points around, (..., 3) mm, as own points, (..., 3) mm: undoes ``apply``."""
        own: np.ndarray = (np.asarray(points, dtype=float) - self.origin) @ self.turn
        return own

    def inverse(self) -> Pose:
        """Return the pose that undoes this one."""
        return Pose(np.linalg.inv(np.vstack([self.matrix, [0.0, 0.0, 0.0, 1.0]]))[:3])

    def __matmul__(self, inner: Pose) -> Pose:
        """Return the pose that applies ``inner`` first and then this one."""
        matrix = self.turn @ inner.matrix
        matrix[:, 3] += self.origin
        return Pose(matrix)

    def moved_to(self, point: ArrayLike) -> Pose:
        """Return the pose with the same axes and its origin at an own point, (2,) or (3,) mm."""
        matrix = self.matrix.copy()
        matrix[:, 3] = self.apply(point)
        return Pose(matrix)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Pose) and np.array_equal(self.matrix, other.matrix)

    def __hash__(self) -> int:
        return hash((self.matrix + 0.0).tobytes())  # + 0.0: minus zero equals zero
