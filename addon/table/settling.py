"""Settling: miniatures and furniture come to stand on the squares, seats at the table's edge."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.errors import GeometryError
from ..geometry.play.table_top import Spot, Squares, settle
from ..geometry.tolerance import SNAP
from ..host import table
from ..host.lengths import as_typed, mm_per_unit
from .play_input import read_room

if TYPE_CHECKING:
    from bpy.types import Object, Scene

__all__ = ["off_square", "read_grid", "settle_object"]


def read_grid(scene: Scene) -> Squares:
    """Return the grid on which things settle: the room's squares, or the scene's where there is no room."""
    try:
        room = read_room(scene)
    except (GeometryError, ModuleNotFoundError):
        room = None
    if room is not None:
        return room.squares
    ground = table.read_ground(scene)
    origin = np.array([0.0, 0.0, 0.0 if ground is None else ground.floor])
    axes = np.eye(3)
    return Squares(origin, axes[0], axes[1], as_typed(scene.stowfold.square), np.ones((1, 1), dtype=bool))


def off_square(miniature: Object, scene: Scene) -> bool:
    """Return whether a miniature stands elsewhere than where it would settle."""
    read = table.read_miniature(miniature, scene)
    return float(np.linalg.norm(read.settled(read_grid(scene)).foot - read.foot)) > SNAP


def _put_at(target: Object, shift: np.ndarray, scene: Scene) -> None:
    """Move an object by ``shift``, (3,) mm of the scene, with any parent."""
    matrix = target.matrix_world.copy()
    matrix.translation = [a + b / mm_per_unit(scene) for a, b in zip(matrix.translation, shift, strict=True)]
    target.matrix_world = matrix


def settle_object(target: Object, scene: Scene) -> None:
    """Bring a miniature or furniture onto the squares and the floor, a seat to the table's edge."""
    kind = target.stowfold.place.kind
    if kind == "MINIATURE":
        miniature = table.read_miniature(target, scene)
        _put_at(target, miniature.settled(read_grid(scene)).foot - miniature.foot, scene)
    elif kind == "FURNITURE":
        corner = table.box_of(target, scene).min(axis=0)
        _put_at(target, settle(corner, read_grid(scene), spot=Spot.CORNER) - corner, scene)
    elif kind == "SEAT":
        top = table.read_table(scene)
        if top is not None:
            place, toward = table.nearest_edge(top, table.pose_in_mm(target, scene).origin)
            target.rotation_mode = "XYZ"
            target.rotation_euler = (0.0, 0.0, math.atan2(-toward[0], toward[1]))
            target.location = place / mm_per_unit(scene)
