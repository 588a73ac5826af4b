"""Dormers, chimneys and porches in Blender: objects of their own that are read together with their building."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.plan.porch import PorchRoof, PorchSize
from ..geometry.plan.upstand import UpstandKind, UpstandSize, depth_of
from ..geometry.pose import Pose
from .children import belonging_to
from .lengths import as_typed, mm_per_unit

if TYPE_CHECKING:
    from bpy.types import Object, PropertyGroup, Scene

    from ..geometry.plan.roof_placing import RoofSpot

__all__ = ["is_porch", "is_upstand", "kind_of", "porch_size_of", "size_of", "stand_on", "upstands_in"]


def is_upstand(target: Object) -> bool:
    """Return whether an object is a dormer, chimney or porch that we added."""
    return target.type == "MESH" and target.stowfold.upstand.kind != "NONE"


def is_porch(target: Object) -> bool:
    """Return whether an object is a porch that we added."""
    return target.type == "MESH" and target.stowfold.upstand.kind == "PORCH"


def kind_of(fields: PropertyGroup) -> UpstandKind:
    """Return what the fields of a dormer or chimney say that it is."""
    return UpstandKind(fields.kind.lower())


def size_of(fields: PropertyGroup) -> UpstandSize:
    """Return the sizes in mm as they were typed."""
    return UpstandSize(as_typed(fields.width), as_typed(fields.height), as_typed(fields.depth), float(fields.pitch))


def porch_size_of(fields: PropertyGroup) -> PorchSize:
    """Return the sizes of a porch in mm as they were typed."""
    return PorchSize(
        width=as_typed(fields.width),
        height=as_typed(fields.height),
        reach=as_typed(fields.depth),
        pitch=float(fields.pitch),
        roof=PorchRoof[fields.porch_roof],
        closed=bool(fields.closed),
        post=as_typed(fields.post),
    )


def upstands_in(objects: Sequence[Object], scene: Scene, *, alone: bool) -> tuple[Object, ...]:
    """Return what stands on a block-out: its children, and where it is ``alone`` also those without a parent."""
    found = (target for target in scene.objects if is_upstand(target) and target not in objects)
    return belonging_to(objects, found, alone=alone)


def stand_on(target: Object, spot: RoofSpot, scene: Scene) -> None:
    """Stand a dormer or chimney upright at a spot of a slope, its front down the slope, whatever its parent."""
    from mathutils import Matrix

    fields = target.stowfold.upstand
    z = np.array([0.0, 0.0, 1.0])
    foot = spot.foot(depth_of(kind_of(fields), size_of(fields), spot.rise))
    stands = Pose.of(spot.along, np.cross(z, spot.along), z, foot / mm_per_unit(scene))
    target.matrix_world = Matrix(stands.matrix.tolist()).to_4x4()
