"""Poses in Blender: how an object stands in the scene, in units of the scene."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.pose import Pose

if TYPE_CHECKING:
    from bpy.types import Object
    from mathutils import Matrix

__all__ = ["as_pose", "pose_of"]


def as_pose(matrix: Matrix) -> Pose:
    """Return the upper three rows of one of Blender's 4 x 4 matrices as a pose."""
    return Pose(np.array(matrix, dtype=np.float64)[:3])


def pose_of(target: Object) -> Pose:
    """Return how an object stands in the scene, in units of the scene; scaled as the maker scaled it."""
    return as_pose(target.matrix_world)
