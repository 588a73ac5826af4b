"""Following: what stands on a roof or before a wall stands there again when plan, height or roof have changed.

A dormer or chimney keeps its front over the plan, as far from the nearer corner of the nearest wall as it was; a porch
keeps its place along its wall. Where one does not stand there any more, it says so and stays as near as it can.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.errors import GeometryError, UnreadableError
from ..geometry.plan.placing import nearest_wall, snap_spot
from ..geometry.plan.porch_placing import check_at_wall
from ..geometry.plan.reshape import Before, move_feet, move_over
from ..geometry.plan.roof_placing import RoofSpot, check_on_slope, hit_slope, nearest_slope
from ..geometry.plan.upstand import depth_of
from ..geometry.pose import Pose
from ..geometry.solid.facets import Facets
from ..geometry.solid.find import find_facets
from ..geometry.solid.solid import make_solid
from ..geometry.tolerance import LARGEST
from ..host.lengths import mm_per_unit
from ..host.upstands import is_porch, kind_of, porch_size_of, size_of
from .upstand_fields import redraw_upstand

if TYPE_CHECKING:
    from bpy.types import Object, Scene

    from ..geometry.plan.walls import BlockOut

__all__ = ["Standing", "follow", "look_at", "stand_again"]


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Something that stands on a building: its name, and place and direction, (3,) each, in the building's axes, mm."""

    name: str
    foot: np.ndarray
    along: np.ndarray


def look_at(house: Object, things: Sequence[Object], scene: Scene) -> tuple[Standing, ...]:
    """Return where things stand on a building."""
    home = house.matrix_world.inverted_safe()
    places = [(thing.name, home @ thing.matrix_world) for thing in things]
    scale = mm_per_unit(scene)
    return tuple(
        Standing(name, np.array(place.translation) * scale, np.array(place.col[0].to_3d())) for name, place in places
    )


def follow(
    house: Object, began: Before, things: Sequence[Standing], block: BlockOut, scene: Scene, *, alike: bool
) -> str:
    """Stand things on a building that was laid out again; alike: it has the faces of the mesh before.

    Returns why one does not stand any more; nothing where all do.
    """
    moved = []
    for thing in things:
        target = scene.objects.get(thing.name)
        foot = thing.foot
        if target is not None and alike:
            move = move_feet if is_porch(target) else move_over
            foot = move(began, block.points, foot[None])[0]
        moved.append(Standing(thing.name, foot, thing.along))
    return stand_again(house, moved, block, scene)


def stand_again(house: Object, things: Sequence[Standing], block: BlockOut, scene: Scene) -> str:
    """Stand things on a building at their places; return why one does not stand there, nothing where all do."""
    if not things:
        return ""
    stored = block.points.astype(np.float32).astype(np.float64)
    # without marks, so that a wall is whole where it is parted
    facets = find_facets(make_solid(stored, block.faces))
    said = []
    for thing in things:
        target = scene.objects.get(thing.name)
        if target is None or not target.is_editable:
            continue
        try:
            _stand(house, target, thing, facets, scene)
            told = ""
        except GeometryError as error:
            told = str(error)
        target.stowfold.upstand.trouble = told
        said += [told] if told else []
    return said[0] if said else ""


def _stand(house: Object, target: Object, thing: Standing, facets: Facets, scene: Scene) -> None:
    """Stand one thing again. Raises GeometryError where it does not stand there."""
    if is_porch(target):
        _stand_porch(house, target, thing, facets, scene)
    else:
        _stand_on_roof(house, target, thing, facets, scene)


def _stand_porch(house: Object, target: Object, thing: Standing, facets: Facets, scene: Scene) -> None:
    size = porch_size_of(target.stowfold.upstand)
    spot = nearest_wall(facets, thing.foot, along=thing.along)
    if spot is None:
        return
    spot = snap_spot(spot, step=0.0, width=size.width)
    _put(house, target, spot.along, spot.foot, scene)
    check_at_wall(size, spot, facets)


def _stand_on_roof(house: Object, target: Object, thing: Standing, facets: Facets, scene: Scene) -> None:
    fields = target.stowfold.upstand
    kind, size = kind_of(fields), size_of(fields)
    front = _slope_at(facets, thing.foot) or nearest_slope(facets, thing.foot, width=size.width, depth=size.depth)
    if front is None:
        raise UnreadableError(f"The building has no roof for '{target.name}' to stand on; give it one, or delete that")
    fields.rise = front.rise
    redraw_upstand(target, scene)
    depth = depth_of(kind, size, front.rise)
    # the middle of it, in the plane of the slope that its front stands on
    spot = replace(front, middle=2.0 * front.middle - front.foot(depth))
    _put(house, target, spot.along, spot.foot(depth), scene)
    check_on_slope(kind, size, spot)


def _slope_at(facets: Facets, foot: np.ndarray) -> RoofSpot | None:
    """Return the spot of the highest slope over a place of the plan."""
    return hit_slope(facets, np.array([*foot[:2], LARGEST]), np.array([0.0, 0.0, -1.0]))


def _put(house: Object, target: Object, along: np.ndarray, foot: np.ndarray, scene: Scene) -> None:
    """Stand something upright at a place of a building, (3,) mm in its axes, whatever its parent."""
    from mathutils import Matrix

    z = np.array([0.0, 0.0, 1.0])
    stands = Pose.of(along, np.cross(z, along), z, foot / mm_per_unit(scene))
    target.matrix_world = house.matrix_world @ Matrix(stands.matrix.tolist()).to_4x4()
