"""The library: the maker's own stocks in a file of theirs, each with what was measured on it.

The file is TOML like the packaged one, with values ``calibration.…`` where something was measured: the
stock's own values stay as they were, so that a new batch can start from them.
A maker's stock takes the place of the packaged one of the same name.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from ..catalogue import read_number, write_list
from ..errors import GeometryError, UnreadableError
from .calibration import MEASURED, Calibration, calibrated
from .stock import Stock, check_stock, read_stocks, read_tables, stock_from

__all__ = ["Entry", "merged", "packaged_entries", "read_library", "slug", "write_library"]

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
    names = [quantity.name for quantity in MEASURED]
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
    write_list(path, _HEAD, (("stock", _table(entry)) for entry in entries))


def _table(entry: Entry) -> dict[str, object]:
    """Return what is written of a stock: its values in the order of ``Stock``, what was measured, the sources."""
    values = {field.name: getattr(entry.base, field.name) for field in fields(Stock) if field.name != "sources"}
    table: dict[str, object] = {
        name: float(value) if isinstance(value, (int, float)) else value
        for name, value in values.items()
        if value is not None
    }
    if entry.calibration is not None and entry.calibration.known:
        who = {name: words for name in _WHO if (words := getattr(entry.calibration, name))}
        table["calibration"] = {**who, **{name: float(value) for name, value in entry.calibration.known.items()}}
    return {**table, "sources": entry.base.sources}


def slug(label: str, taken: Iterable[str] = ()) -> str:
    """Return a name for a stock with this label that is not among those taken."""
    stem = re.sub(r"[^a-z0-9.]+", "-", label.lower()).strip("-.") or "stock"
    others = frozenset(taken)
    name, number = stem, 2
    while name in others:
        name, number = f"{stem}-{number}", number + 1
    return name
