"""The finish of a floor: engraved on it, or cut from a second board as tiles or an inlay."""

from __future__ import annotations

from dataclasses import replace

from ..finish.inlay import lay_inlay
from ..finish.pave import pave
from ..finish.tiles import Tiling, lay_tiles
from ..joints.floor import Floors
from ..outcome import Settings
from ..paint.fields import tile_fields
from ..part import Part
from ..settings import FloorWay

__all__ = ["paved", "tiled_floor"]


def paved(floors: Floors, settings: Settings) -> tuple[Part, ...]:
    """Return the floors with the finish that the maker wants engraved on them."""
    finish = settings.finishes.get(settings.floor_finish)
    if finish is None or settings.tiles is not None:
        return floors.parts
    return pave(floors.parts, floors.rooms, settings.floor_finish, finish)


def tiled_floor(floors: Floors, settings: Settings) -> Tiling:
    """Return the tiles or the inlay of a floor that the maker wants of two boards."""
    finish, boards = settings.finishes.get(settings.floor_finish), settings.tiles
    if boards is None:
        return Tiling()
    if boards.way is FloorWay.INLAY:
        engraved = settings.ground.square is not None
        laid = lay_inlay(floors.parts, floors.rooms, finish, boards, square=settings.square, engraved=engraved)
    elif finish is None:
        return Tiling()
    else:
        laid = lay_tiles(floors.parts, floors.rooms, finish, boards)
    painted = settings.paint.tile or settings.paint.dark_tile
    return replace(laid, parts=tuple(tile_fields(part) for part in laid.parts)) if painted else laid
