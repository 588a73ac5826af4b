"""Finishes in Blender: materials that say what is drawn on their faces."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ..geometry.finish.check import CHAR
from ..geometry.finish.finish import Finish, Pattern, coarsened, finish_of
from ..geometry.part import Way
from .lengths import as_typed

if TYPE_CHECKING:
    from bpy.types import Material, Scene

__all__ = ["finish_from", "finishes_in", "is_finish", "materials_in"]


def is_finish(material: Material | None) -> bool:
    """Return whether something is drawn on faces with a material."""
    return material is not None and material.stowfold.pattern != "NONE"


def finish_from(material: Material, *, kerf: float) -> Finish:
    """Return the finish that a material says. kerf: of the board that bears it, mm.

    Units are made as large as their lines need, unless the maker wants them fine.
    """
    from dataclasses import replace

    fields = material.stowfold
    finish = finish_of(
        Pattern[fields.pattern], true_to_scale=fields.scale == "TRUE", size=as_typed(fields.size), seed=fields.seed
    )
    finish = replace(
        finish,
        way=Way(fields.way.lower()),
        edge=as_typed(fields.edge),
        hatch=as_typed(fields.hatch),
        frames=fields.frames and finish.frames,
        over_bends=fields.over_bends,
    )
    return finish if fields.fine else coarsened(finish, kerf + CHAR)


def finishes_in(scene: Scene, *, kerf: float) -> dict[str, Finish]:
    """Return the finishes on the meshes, the floor and the room side of a scene, by the names of their materials."""
    return {material.name: finish_from(material, kerf=kerf) for material in materials_in(scene) if is_finish(material)}


def materials_in(scene: Scene) -> Iterable[Material]:
    """Return the materials of a scene's meshes, of its floor and of its room side, by their names."""
    own = (scene.stowfold.floor_finish, scene.stowfold.inside_finish)
    found = {material.name: material for material in own if material is not None}
    found |= {
        slot.material.name: slot.material
        for target in scene.objects
        if target.type == "MESH"
        for slot in target.material_slots
        if slot.material is not None
    }
    return [found[name] for name in sorted(found)]
