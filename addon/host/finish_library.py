"""Finishes of the maker's own, in a file beside the own boards and lasers, so that every project finds them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ..geometry.errors import BadSettingError
from ..geometry.finish.finish import Pattern
from ..geometry.finish.saved import SavedFinish, read_finishes, write_finishes
from ..geometry.part import Way
from .lengths import as_typed
from .own_list import OwnList

if TYPE_CHECKING:
    from bpy.types import Material

__all__ = ["alike_among", "keep", "own_finishes", "put_into", "remove", "saved_from", "trouble"]

#: Colours that a finish may have beside its main one.
_OTHERS = ("units", "around", "lines")

_OWN: OwnList[tuple[SavedFinish, ...]] = OwnList("finishes.toml", read_finishes, write_finishes, ())


def own_finishes() -> dict[str, SavedFinish]:
    """Return the maker's own finishes by name."""
    return {finish.name: finish for finish in _OWN.value}


def trouble() -> str | None:
    """Return why the maker's own finishes cannot be read, or None."""
    return _OWN.trouble


def keep(finish: SavedFinish) -> None:
    """Write a finish into the maker's list, in the place of its namesake.

    Raises UnreadableError where the file is torn (it is left as it is) or cannot be written.
    """
    _OWN.change(lambda own: (*(known for known in own if known.name != finish.name), finish))


def remove(name: str) -> None:
    """Take a finish out of the maker's list. Raises as ``keep`` does, and where it is not in it."""
    if name not in own_finishes():
        raise BadSettingError(f"There is no finish of your own named '{name}'.")
    _OWN.change(lambda own: tuple(known for known in own if known.name != name))


def saved_from(material: Material) -> SavedFinish:
    """Return what a material says, to be kept. Raises BadSettingError for one without a name."""
    fields = material.stowfold
    red, green, blue = _rounded(fields.colour)
    return SavedFinish(
        name=material.name,
        pattern=Pattern[fields.pattern],
        true_to_scale=fields.scale == "TRUE",
        size=as_typed(fields.size),
        fine=fields.fine,
        seed=fields.seed,
        way=Way(fields.way.lower()),
        hatch=as_typed(fields.hatch),
        frames=fields.frames,
        edge=as_typed(fields.edge),
        over_bends=fields.over_bends,
        colour=(red, green, blue),
        **{
            f"{what}_colour": _rounded(getattr(fields, f"{what}_colour"))
            for what in _OTHERS
            if getattr(fields, f"use_{what}")
        },
    )


def alike_among(materials: Iterable[Material | None], finish: SavedFinish) -> Material | None:
    """Return the material that is a finish as it is kept, whatever number the host gave its name."""
    for material in materials:
        if material is None:
            continue
        stem, dot, number = material.name.rpartition(".")
        own = finish.name in (material.name, stem if dot and number.isdigit() else "")
        if own and material.stowfold.pattern != "NONE" and replace(saved_from(material), name=finish.name) == finish:
            return material
    return None


def _rounded(colour: Sequence[float]) -> tuple[float, ...]:
    return tuple(round(float(share), 4) for share in colour)


def put_into(material: Material, finish: SavedFinish) -> None:
    """Give a material the fields and the colour of a finish; its name stays."""
    fields = material.stowfold
    fields.pattern, fields.way = finish.pattern.name, finish.way.name
    fields.scale = "TRUE" if finish.true_to_scale else "PLAYABLE"
    fields.size, fields.hatch, fields.edge = finish.size, finish.hatch, finish.edge
    fields.fine, fields.frames, fields.over_bends = finish.fine, finish.frames, finish.over_bends
    fields.seed = finish.seed
    fields.colour = finish.colour
    for what in _OTHERS:
        own = getattr(finish, f"{what}_colour")
        setattr(fields, f"use_{what}", bool(own))
        if own:
            setattr(fields, f"{what}_colour", own)
