"""Poses against scipy's rigid rotations and trimesh's 4 x 4 transformations."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation
from stowfold.geometry.pose import Pose

CHANCE = np.random.default_rng(3)


def by_chance() -> tuple[Pose, Rotation, np.ndarray]:
    """Return a pose, and the turn and shift it is made of."""
    turn, shift = Rotation.random(rng=CHANCE), CHANCE.uniform(-300.0, 300.0, 3)
    return Pose.of(*turn.as_matrix().T, shift), turn, shift


def square(pose: Pose) -> np.ndarray:
    return np.vstack([pose.matrix, [0.0, 0.0, 0.0, 1.0]])


@pytest.mark.parametrize("shape", [(3,), (5, 3), (4, 2, 3)])
def test_points_come_to_lie_where_scipy_turns_them(shape: tuple[int, ...]) -> None:
    pose, turn, shift = by_chance()
    points = CHANCE.uniform(-100.0, 100.0, shape)
    placed = pose.apply(points)
    assert placed.shape == shape
    np.testing.assert_allclose(placed, turn.apply(points.reshape(-1, 3)).reshape(shape) + shift, atol=1e-10)
    np.testing.assert_allclose(pose.back(placed), points, atol=1e-10)


@pytest.mark.parametrize("height", [0.0, 3.0, -1.5])
def test_plane_points_lie_in_the_plane_or_above_it(height: float) -> None:
    pose, turn, shift = by_chance()
    flat = CHANCE.uniform(-100.0, 100.0, (6, 2))
    lifted = np.column_stack([flat, np.full(6, height)])
    np.testing.assert_allclose(pose.apply(flat, height), turn.apply(lifted) + shift, atol=1e-10)
    np.testing.assert_allclose(pose.apply(flat[0], height), pose.apply(flat, height)[0], atol=1e-12)


def test_product_and_inverse_are_those_of_4_by_4_matrices() -> None:
    (one, *_), (two, *_) = by_chance(), by_chance()
    points = CHANCE.uniform(-100.0, 100.0, (5, 3))
    np.testing.assert_allclose(
        (one @ two).apply(points), trimesh.transform_points(points, square(one) @ square(two)), atol=1e-9
    )
    np.testing.assert_allclose(square(one.inverse()), trimesh.transformations.inverse_matrix(square(one)), atol=1e-12)


def test_the_inverse_holds_for_an_object_that_was_scaled() -> None:
    pose = Pose.of((2.0, 0.0, 0.0), (0.0, 0.0, 1.5), (0.0, -1.0, 0.0), (10.0, 20.0, 30.0))
    np.testing.assert_allclose((pose @ pose.inverse()).matrix, np.eye(3, 4), atol=1e-12)


def test_moved_to_takes_the_origin_to_an_own_point() -> None:
    pose, turn, shift = by_chance()
    moved = pose.moved_to((4.0, 5.0, 6.0))
    np.testing.assert_allclose(moved.origin, turn.apply([4.0, 5.0, 6.0]) + shift, atol=1e-12)
    np.testing.assert_array_equal(moved.turn, pose.turn)
    np.testing.assert_allclose(moved.apply((1.0, 1.0, 1.0)), pose.apply((5.0, 6.0, 7.0)), atol=1e-10)


def test_a_pose_is_a_value_that_nobody_changes() -> None:
    matrix = np.eye(3, 4)
    pose = Pose(matrix)
    matrix[0, 3] = 7.0
    assert pose == Pose.identity() and hash(pose) == hash(Pose.identity())
    assert pose != Pose(matrix) and pose != matrix.tolist()
    assert pose == Pose.of((1, -0.0, 0), (0, 1, 0), (0, 0, 1), (0, 0, -0.0))
    assert hash(pose) == hash(Pose.of((1, -0.0, 0), (0, 1, 0), (0, 0, 1), (0, 0, -0.0)))
    with pytest.raises(ValueError, match="read-only"):
        pose.origin[0] = 1.0


def test_no_other_matrix_is_a_pose() -> None:
    with pytest.raises(ValueError, match="3 rows and 4 columns"):
        Pose(np.eye(4))
