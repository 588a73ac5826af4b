"""The library: the maker's own stocks in a file of theirs, each with what was measured on it.

The file is TOML like the packaged one, with a table ``[stock.calibration]`` where something was
measured: the stock's own values stay as they were, so that a new batch can start from them.
A maker's stock takes the place of the packaged one of the same name.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from ..catalogue import read_number, toml_value
from ..errors import GeometryError, UnreadableError
from ..files import replace_files
from .calibration import MEASURED, Calibration, calibrated
from .stock import Stock, check_stock, read_stocks, read_tables, stock_from

__all__ = ["Entry", "dump_library", "merged", "packaged_entries", "read_library", "slug", "write_library"]

_HEAD = """\
# Stocks of your own, kept by Stowfold. Lengths in mm, stresses in MPa (N/mm2).
# You may edit this file; notes like these are not kept when Stowfold writes it again.
"""

_WHO = ("date", "batch", "machine")


@dataclass(frozen=True, slots=True)
class Entry:
    """A stock as it is kept: its values without calibration, what was measured, and whether it is the maker's own."""

    base: Stock
    calibration: Calibration | None = None
    own: bool = True

    @property
    def stock(self) -> Stock:
        """The stock as it is to be used."""
        return calibrated(self.base, self.calibration)


def packaged_entries() -> tuple[Entry, ...]:
    """Return the stocks that come with Stowfold."""
    return tuple(Entry(stock, own=False) for stock in read_stocks())


def read_library(path: Path) -> tuple[Entry, ...]:
    """Read the maker's stocks in the file's own order; a file that is not there holds none.

    Raises UnreadableError, in one sentence, where the file is torn or a value cannot be used.
    """
    if not path.exists():
        return ()
    entries = []
    for place, table in read_tables(path):
        plain = dict(table)
        measured = plain.get("calibration")
        calibration = None
        if isinstance(measured, dict):
            del plain["calibration"]
            calibration = _calibration_from(measured, place)
        try:
            entry = Entry(stock_from(plain, place), calibration)
            check_stock(entry.stock)
        except UnreadableError:
            raise
        except GeometryError as error:
            raise UnreadableError(f"{place} cannot be used: {error}") from error
        entries.append(entry)
    return tuple(entries)


def _calibration_from(table: Mapping[str, Any], place: str) -> Calibration:
    names = [each.name for each in MEASURED]
    values: dict[str, Any] = {}
    for key, raw in table.items():
        if key in _WHO and isinstance(raw, str):
            values[key] = raw
        elif key in names:
            try:
                values[key] = read_number(raw)
            except TypeError as error:
                raise UnreadableError(f"{place} has calibration.{key} = {raw!r}; {error}.") from error
        else:
            raise UnreadableError(
                f"{place} has a calibration with {key} = {raw!r}; known are the texts {', '.join(_WHO)} "
                f"and the numbers {', '.join(names)}."
            )
    return Calibration(**values)


def merged(packaged: Iterable[Entry], own: Iterable[Entry]) -> dict[str, Entry]:
    """Return all entries by name, the packaged ones first; an own one stands in the place of its namesake."""
    entries = {entry.base.name: entry for entry in packaged}
    entries.update({entry.base.name: entry for entry in own})
    return entries


def write_library(path: Path, entries: Iterable[Entry]) -> None:
    """Write the maker's stocks, whole or not at all; with none left the file is taken away.

    Raises UnreadableError where the folder cannot be written.
    """
    entries = tuple(entries)
    if entries:
        path.parent.parent.mkdir(parents=True, exist_ok=True)
        replace_files(path.parent, {path.name: dump_library(entries)})
        return
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise UnreadableError(f"The stock file {path} cannot be removed: {error.strerror}.") from error


def dump_library(entries: Iterable[Entry]) -> str:
    """Return the file's text: one [[stock]] table each, values in the order of ``Stock``."""
    return "\n".join([_HEAD, *(_table(entry) for entry in entries)])


def _table(entry: Entry) -> str:
    lines = ["[[stock]]"]
    for each in fields(Stock):
        value = getattr(entry.base, each.name)
        if each.name != "sources" and value is not None:
            lines.append(f"{each.name} = {_toml(value)}")
    if entry.calibration is not None and entry.calibration.known:
        lines += ["", "[stock.calibration]"]
        who = {name: getattr(entry.calibration, name) for name in _WHO}
        lines += [
            f"{name} = {_toml(value)}" for name, value in {**who, **entry.calibration.known}.items() if value != ""
        ]
    if entry.base.sources:
        lines += ["", "[stock.sources]"]
        lines += [f"{_toml(name)} = {_toml(words)}" for name, words in entry.base.sources.items()]
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    return toml_value(float(value) if isinstance(value, (int, float)) else value)


def slug(label: str, taken: Iterable[str] = ()) -> str:
    """Return a name for a stock with this label that is not among those taken."""
    stem = re.sub(r"[^a-z0-9.]+", "-", label.lower()).strip("-.") or "stock"
    others = frozenset(taken)
    name, number = stem, 2
    while name in others:
        name, number = f"{stem}-{number}", number + 1
    return name
