"""Laser profiles: the machines of a workshop, read from a TOML file that the maker writes.

``read_lasers`` reads such a file (``lasers.toml`` beside this module unless told otherwise),
``read_own_lasers`` and ``write_own_lasers`` do so with the list that Stowfold keeps for the maker,
``find_laser`` picks one by name, ``check_laser`` refuses numbers that no laser can have, and
``stock_on`` gives a stock the kerf of the laser that cuts it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

from ..board.stock import Stock, check_stock
from ..catalogue import check_names, find_named, read_catalogue, read_list, read_number, read_values, write_list
from ..errors import BadSettingError
from .laser import Feed, Laser, Operation

__all__ = ["check_laser", "find_laser", "read_lasers", "read_own_lasers", "stock_on", "write_own_lasers"]

_PACKAGED = Path(__file__).with_name("lasers.toml")
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")
_FEED_KEYS = ("speed", "pierce", "passes")

_HEAD = """\
# Lasers of your own, kept by Stowfold. Lengths in mm, speeds in mm/s, times in s.
# You may edit this file; notes like these are not kept when Stowfold writes it again.
"""


def read_lasers(path: Path | None = None) -> tuple[Laser, ...]:
    """Read the lasers of a TOML file in its own order, or those that come with Stowfold.

    What a table leaves out stays as it is for the first laser of ours. Raises UnreadableError where the file
    is missing, torn, or holds unknown or misspelt values, BadSettingError where a value cannot be a laser's.
    """
    path = _PACKAGED if path is None else path
    lasers = tuple(_laser_from(table, place) for place, table in read_catalogue(path, "laser"))
    check_names(path, "laser", (laser.name for laser in lasers))
    return lasers


def read_own_lasers(path: Path) -> tuple[Laser, ...]:
    """Read the maker's own lasers, none where there is no such file. Raises as ``read_lasers`` does."""
    lasers = tuple(_laser_from(table, place) for place, table in read_list(path, ("laser",))["laser"])
    check_names(path, "laser", (laser.name for laser in lasers))
    return lasers


def write_own_lasers(path: Path, lasers: Iterable[Laser]) -> None:
    """Write the maker's own lasers, whole or not at all. Raises UnreadableError where the folder cannot be written."""
    write_list(path, _HEAD, (("laser", _table(laser)) for laser in lasers))


def _table(laser: Laser) -> dict[str, object]:
    """Return what is written of a laser: all its values, but those that it does not have."""
    table: dict[str, object] = {
        field.name: getattr(laser, field.name) for field in fields(Laser) if getattr(laser, field.name) is not None
    }
    table["colours"] = {operation.value: colour for operation, colour in laser.colours.items()}
    table["feeds"] = {
        operation.value: {key: getattr(feed, key) for key in _FEED_KEYS} for operation, feed in laser.feeds.items()
    }
    return table


def find_laser(name: str, lasers: Iterable[Laser]) -> Laser:
    """Return the laser of this name; raise BadSettingError that lists the names otherwise."""
    return find_named("laser", name, lasers)


def stock_on(stock: Stock, laser: Laser) -> Stock:
    """Return the stock as this laser cuts it: with the laser's own kerf where it has one."""
    if laser.kerf is None:
        return stock
    cut = replace(stock, kerf=laser.kerf)
    check_stock(cut)
    return cut


def check_laser(laser: Laser) -> None:
    """Raise BadSettingError, in one sentence, where a value cannot be a laser's."""
    positive = {"bed's width": laser.bed[0], "bed's depth": laser.bed[1], "travel": laser.travel}
    positive |= {"acceleration": laser.acceleration, "hold length": laser.hold_length}
    if laser.kerf is not None:
        positive["kerf"] = laser.kerf
    for what, value in positive.items():
        if not (math.isfinite(value) and value > 0.0):
            raise BadSettingError(f"The {what} of laser {laser.name} is {value:g}; it must be more than 0.")
    for what, value in {"margin": laser.margin, "spacing": laser.spacing, "number of holds": laser.holds}.items():
        if not (math.isfinite(value) and value >= 0.0):
            raise BadSettingError(f"The {what} of laser {laser.name} is {value:g}; it cannot be less than 0.")
    if 2 * laser.margin >= min(laser.bed):
        raise BadSettingError(
            f"The margin of laser {laser.name} is {laser.margin:g} mm on each side of a bed of "
            f"{min(laser.bed):g} mm, so nothing is left to cut on; make it smaller."
        )
    for operation in Operation:
        if operation not in laser.feeds or operation not in laser.colours:
            raise BadSettingError(f"Laser {laser.name} lacks feed or colour of {operation.value}; give it both.")
        feed, colour = laser.feeds[operation], laser.colours[operation]
        if not (math.isfinite(feed.speed) and feed.speed > 0.0):
            raise BadSettingError(
                f"The speed of {operation.value} on laser {laser.name} is {feed.speed:g} mm/s; it must be more than 0."
            )
        if not (math.isfinite(feed.pierce) and feed.pierce >= 0.0) or feed.passes < 1:
            raise BadSettingError(
                f"On laser {laser.name}, {operation.value} has a pierce of {feed.pierce:g} s and {feed.passes} passes; "
                "a pierce cannot be negative, and there must be at least one pass."
            )
        if not _COLOUR.fullmatch(colour):
            raise BadSettingError(
                f"The colour of {operation.value} on laser {laser.name} is {colour!r}; write it like #2a9d8f."
            )
    twice = {colour.lower() for colour in laser.colours.values()}
    if len(twice) < len(laser.colours):
        raise BadSettingError(
            f"Two operations of laser {laser.name} have the same colour; they could not be told apart."
        )


def _laser_from(table: Mapping[str, Any], place: str) -> Laser:
    """Return the checked laser that one table describes."""
    values = read_values(table, place, [field.name for field in fields(Laser)], _value, needed=("name",))
    laser = Laser(**{"label": values["name"], **values})
    check_laser(laser)
    return laser


def _value(key: str, raw: object) -> object:
    """Return a value of the file in the type of its field; raise TypeError or ValueError otherwise."""
    if key in ("name", "label"):
        if not isinstance(raw, str) or not raw:
            raise TypeError("text is needed")
        return raw
    if key == "bed":
        if not (isinstance(raw, list) and len(raw) == 2):
            raise TypeError("width and depth are needed")
        return (read_number(raw[0]), read_number(raw[1]))
    if key == "holds":
        return _whole(raw)
    if key in ("feeds", "colours"):
        if not isinstance(raw, dict):
            raise TypeError("a table by operation is needed")
        own = {Operation(name): value for name, value in raw.items()}
        return (
            _feeds(own)
            if key == "feeds"
            else {**Laser().colours, **{operation: str(own[operation]) for operation in own}}
        )
    return read_number(raw)


def _feeds(own: Mapping[Operation, object]) -> dict[Operation, Feed]:
    feeds = dict(Laser().feeds)
    for operation, raw in own.items():
        if not isinstance(raw, dict) or set(raw) - set(_FEED_KEYS):
            raise TypeError(f"a feed has {', '.join(_FEED_KEYS)}")
        given: dict[str, Any] = {
            key: _whole(value) if key == "passes" else read_number(value) for key, value in raw.items()
        }
        feeds[operation] = replace(feeds[operation], **given)
    return feeds


def _whole(raw: object) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int):
        raise TypeError("a whole number is needed")
    return raw
