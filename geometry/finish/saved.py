"""Saved finishes: the maker's own in a file beside the own boards and lasers, found in every project."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

from ..catalogue import check_names, read_list, read_number, read_values, write_list
from ..errors import BadSettingError, UnreadableError
from ..part import Way
from .finish import Pattern

__all__ = ["SavedFinish", "read_finishes", "write_finishes"]

_HEAD = """# Finishes of your own, written by Stowfold; you may change them by hand. Sizes in mm, colours from 0 to 1.
"""


@dataclass(frozen=True, slots=True)
class SavedFinish:
    """A finish as a maker keeps it: what the fields of its material say, and its colour.

    size: multiplies length and height of all units; seed: another number, other stones; hatch, edge: mm. colour: red,
    green and blue as the host keeps them. units_colour, around_colour, lines_colour: those of some units, round
    openings and in lines, empty where they have none of their own.
    """

    name: str
    pattern: Pattern
    true_to_scale: bool = False
    size: float = 1.0
    fine: bool = False
    seed: int = 0
    way: Way = Way.ENGRAVE
    hatch: float = 0.3
    frames: bool = True
    edge: float = 1.0
    over_bends: bool = False
    colour: tuple[float, float, float] = (0.8, 0.8, 0.8)
    units_colour: tuple[float, ...] = ()
    around_colour: tuple[float, ...] = ()
    lines_colour: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise BadSettingError("A finish needs a name to be kept; give its material one.")
        for what, value in (("size", self.size), ("hatch spacing", self.hatch), ("edge", self.edge), *_shares(self)):
            if not (math.isfinite(value) and value >= 0.0):
                raise BadSettingError(f"The {what} of finish {self.name} is {value:g}; it cannot be less than 0.")


def _shares(finish: SavedFinish) -> list[tuple[str, float]]:
    several = (finish.colour, finish.units_colour, finish.around_colour, finish.lines_colour)
    return [("colour", share) for colour in several for share in colour]


def read_finishes(path: Path) -> tuple[SavedFinish, ...]:
    """Return the finishes of a file in its own order, none without one. Raises UnreadableError where it is torn."""
    found = tuple(_finish_from(table, place) for place, table in read_list(path, ("finish",))["finish"])
    check_names(path, "finish", [finish.name for finish in found])
    return found


def write_finishes(path: Path, finishes: tuple[SavedFinish, ...]) -> None:
    """Write all finishes, whole or not at all. Raises UnreadableError where the folder cannot be written."""
    write_list(path, _HEAD, [("finish", _table_of(finish)) for finish in finishes])


def _table_of(finish: SavedFinish) -> dict[str, object]:
    return asdict(finish) | {"pattern": finish.pattern.value, "way": finish.way.value}


def _finish_from(table: Mapping[str, Any], place: str) -> SavedFinish:
    """Return the finish that one table describes; what it leaves out is as usual."""
    known = [field.name for field in fields(SavedFinish)]
    values = read_values(table, place, known, _value, needed=("name", "pattern"))
    try:
        return SavedFinish(**values)
    except BadSettingError as error:
        raise UnreadableError(f"{place}: {error}") from error


def _value(key: str, raw: object) -> object:
    """Return a value of the file in the type of its field; raise TypeError or ValueError otherwise."""
    if key == "name":
        if not isinstance(raw, str):
            raise TypeError("text is needed")
        return raw
    if key in ("pattern", "way"):
        return Pattern(str(raw)) if key == "pattern" else Way(str(raw))
    if key in ("true_to_scale", "fine", "frames", "over_bends"):
        if not isinstance(raw, bool):
            raise TypeError("true or false is needed")
        return raw
    if key == "seed":
        if isinstance(raw, bool) or not isinstance(raw, int) or raw < 0:
            raise TypeError("a whole number from 0 is needed")
        return raw
    if key.endswith("colour"):
        if not (isinstance(raw, list) and (len(raw) == 3 or (not raw and key != "colour"))):
            raise TypeError("red, green and blue are needed")
        return tuple(read_number(share) for share in raw)
    return read_number(raw)
