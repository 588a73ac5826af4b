"""Openings in Blender: objects that count as doors and windows become values, and stand where their wall is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.errors import UnreadableError
from ..geometry.plan.opening import OpeningKind, OpeningSize, opening_ring
from ..geometry.pose import Pose
from ..geometry.solid.filling import Filling, FillingKind
from ..geometry.solid.opening import Leaf, Opening, OpeningTrim
from .children import belonging_to
from .lengths import as_typed, mm_per_unit
from .poses import pose_of

if TYPE_CHECKING:
    from bpy.types import Object, PropertyGroup, Scene

    from ..geometry.plan.placing import WallSpot

__all__ = ["filling_of", "leaf_of", "openings_in", "read_opening", "size_of", "stand_at", "trim_is_wanted", "trim_of"]


def size_of(fields: PropertyGroup) -> OpeningSize:
    """Return the sizes in mm as they were typed; a door and an arch stand on the floor."""
    on_floor = fields.kind in {"DOOR", "ARCH"}
    return OpeningSize(as_typed(fields.width), as_typed(fields.height), 0.0 if on_floor else as_typed(fields.sill))


def leaf_of(fields: PropertyGroup) -> Leaf | None:
    """Return the leaf that closes an opening, or None where it stays open; an arch has none."""
    if fields.leaf == "NONE" or fields.kind == "ARCH":
        return None
    return Leaf(on_left=fields.leaf == "LEFT", swing=float(fields.swing) * (-1.0 if fields.inward else 1.0))


def filling_of(fields: PropertyGroup) -> Filling | None:
    """Return what stands in an opening, or None where it stays open."""
    if fields.filling == "NONE":
        return None
    kind = FillingKind[fields.filling]
    return Filling(kind, fields.filling_scale == "TRUE", fields.panes_across, fields.panes_up)


#: What the choices of an opening's trim mean.
_TRIMS = {
    "NONE": OpeningTrim(),
    "FRAME": OpeningTrim(frames=True),
    "SILL": OpeningTrim(frames=True, sills=True),
    "SHUTTERS": OpeningTrim(frames=True, sills=True, shutters=True),
}


def trim_of(fields: PropertyGroup) -> OpeningTrim | None:
    """Return the trim of an opening, or None where it gets what the building's openings get."""
    return _TRIMS.get(fields.trim)


def trim_is_wanted(scene: Scene) -> bool:
    """Return whether the building or one of its openings gets trim."""
    ours = scene.stowfold.trim
    if ours.frames or ours.sills or ours.shutters or ours.corner_boards or ours.timbers or ours.shingles:
        return True
    openings = (target.stowfold.opening for target in scene.objects if target.type == "MESH")
    return any(fields.is_opening and fields.trim not in {"BUILDING", "NONE"} for fields in openings)


def openings_in(objects: Sequence[Object], scene: Scene, *, alone: bool) -> tuple[Object, ...]:
    """Return the openings of a block-out: its children, and where it is ``alone`` also those without a parent."""
    found = (target for target in scene.objects if target.type == "MESH" and target.stowfold.opening.is_opening)
    return belonging_to(objects, found, alone=alone)


def read_opening(target: Object, scene: Scene) -> Opening:
    """Return an opening where it stands, in mm. Raises GeometryError for sizes or places that are none."""
    fields = target.stowfold.opening
    own = pose_of(target)
    if not np.isfinite(own.matrix).all() or abs(np.linalg.det(own.turn)) < 1e-12:
        raise UnreadableError(f"The place of '{target.name}' is none; clear its rotation and scale")
    # its own x runs along the wall, its z upward; what is scaled by hand is cut as it is seen
    stands = Pose.of(own.x, own.z, -own.y, own.origin * mm_per_unit(scene))
    ring = opening_ring(OpeningKind(fields.kind.lower()), size_of(fields))
    return Opening(target.name, ring, stands, leaf_of(fields), filling_of(fields), trim_of(fields))


def stand_at(target: Object, spot: WallSpot, scene: Scene) -> None:
    """Stand an opening upright at a spot of a wall, whatever its parent."""
    from mathutils import Matrix

    x = spot.along
    z = np.array([0.0, 0.0, 1.0])
    y = np.cross(z, x)
    stands = Pose.of(x, y, z, spot.foot / mm_per_unit(scene))
    target.matrix_world = Matrix(stands.matrix.tolist()).to_4x4()
