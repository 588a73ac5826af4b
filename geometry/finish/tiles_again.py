"""Tiles and inlay cut again for a room as it was measured: which of them change, named after those they replace."""

from __future__ import annotations

import string
from dataclasses import replace

import numpy as np
import shapely

from ..part import Part
from .tiles import Tiling

__all__ = ["pieces_again"]

#: A piece stays as it was cut where none of its edges moves farther than this, mm: a fifth of an inlay's play.
_SAME = 0.02


def pieces_again(drawn: Tiling, measured: Tiling) -> tuple[Part, ...]:
    """Return what is cut again of a floor of two boards: of tiles those that change, of an inlay all.

    drawn: as it was cut first; measured: for the room as it stands. FL3a replaces an FL3 and has another size; where
    both floors are not laid of as many pieces in the same places, all come again under names of their own.
    """
    replaced = _replaced(drawn, measured)
    if replaced is None:
        return measured.parts
    names = _names(drawn, measured, replaced)
    called = {tile.name: name for tile, name in zip(reversed(measured.tiles), reversed(names), strict=True)}
    spare = measured.parts[len(measured.tiles) :]
    named = [
        *(_called(part, name) for part, name in zip(measured.laid, names, strict=True)),
        # two sorts that hardly differ may share an old name, and so their spare ones
        *{part.id: part for part in (_called(part, called[part.name]) for part in spare)}.values(),
    ]
    if measured.tops:
        return tuple(named)
    old = {tile.name for tile in drawn.tiles}
    return tuple(part for part in named if part.name not in old)


def _replaced(drawn: Tiling, measured: Tiling) -> list[int] | None:
    """Return for every new piece the number of the one that lay there, None where that is not one for one."""
    if len(drawn.tiles) != len(measured.tiles):
        return None
    middles = [np.array([tile.outline.centroid.coords[0] for tile in tiling.tiles]) for tiling in (drawn, measured)]
    kinds = [np.array([(tile.dark, tile.is_top) for tile in tiling.tiles]) for tiling in (drawn, measured)]
    if not len(middles[0]):
        return []
    away = np.hypot(*(middles[1][:, None] - middles[0][None]).transpose(2, 0, 1))
    away[(kinds[1][:, None] != kinds[0][None]).any(axis=2)] = np.inf
    nearest = away.argmin(axis=1).tolist()
    return nearest if len(set(nearest)) == len(nearest) else None


def _names(drawn: Tiling, measured: Tiling, replaced: list[int]) -> list[str]:
    """Return the names of all new pieces: of those that stay alike the old one, of others that with a letter."""
    sorts: dict[str, list[str]] = {}
    names = []
    for tile, part, old in zip(measured.tiles, measured.laid, replaced, strict=True):
        name = drawn.tiles[old].name
        if not tile.is_top and _moved(part, drawn.laid[old]) > _SAME:
            known = sorts.setdefault(name, [])
            if tile.name not in known:
                known.append(tile.name)
            name += _letters(known.index(tile.name))
        names.append(name)
    return names


def _letters(number: int) -> str:
    """Return a to z, then aa, ab ..."""
    ahead, last = divmod(number, len(string.ascii_lowercase))
    return (_letters(ahead - 1) if ahead else "") + string.ascii_lowercase[last]


def _moved(one: Part, two: Part) -> float:
    """Return how far the outlines of two tiles lie apart at most where their boxes share a corner, mm."""
    return float(shapely.hausdorff_distance(one.outline.exterior, two.outline.exterior))


def _called(part: Part, name: str) -> Part:
    """Return a piece under another name."""
    return replace(part, id=part.id.replace(part.name, name, 1), shared_name=name)
