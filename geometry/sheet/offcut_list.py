"""The list of offcuts that a maker keeps on the shelf.

It is a TOML file of [[piece]] tables, and of [[cut]] tables that say which cuts were entered already, so
that no cut takes pieces from the shelf twice.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from ..catalogue import read_count, read_list, read_number, read_values, toml_value, write_list
from ..errors import BadSettingError, UnreadableError

__all__ = ["REMEMBERED", "KeptCut", "KeptPiece", "OffcutList", "read_offcuts", "write_offcuts"]

_HEAD = """\
# Offcuts of boards, kept by Stowfold. Lengths in mm, the length along the length of the stock's sheets.
# You may edit this file; notes like these are not kept when Stowfold writes it again.
"""

#: How many cuts are remembered: the newest ones.
REMEMBERED = 300


@dataclass(frozen=True, slots=True)
class KeptPiece:
    """Pieces of one size on the shelf. stock: by its name; length: mm, along the length of the stock's sheets."""

    stock: str
    length: float
    width: float
    count: int = 1
    note: str = ""
    date: str = ""

    @property
    def key(self) -> str:
        """What tells this entry from the others of its list, whatever their order."""
        return f"{zlib.crc32(toml_value((self.stock, self.length, self.width, self.note)).encode()):08x}"


@dataclass(frozen=True, slots=True)
class KeptCut:
    """A cut that was entered. name: the same for the same parts; title: the building's."""

    name: str
    title: str = ""
    date: str = ""


@dataclass(frozen=True, slots=True)
class OffcutList:
    """Pieces on the shelf, and the cuts that were entered."""

    pieces: tuple[KeptPiece, ...] = ()
    cuts: tuple[KeptCut, ...] = ()

    def sizes(self, stocks: Collection[str]) -> dict[str, tuple[tuple[float, float], ...]]:
        """Return (length, width) mm of every single piece of these stocks, by stock: what a layout may use."""
        found: dict[str, tuple[tuple[float, float], ...]] = {}
        for piece in self.pieces:
            if piece.stock in stocks:
                found[piece.stock] = (*found.get(piece.stock, ()), *[(piece.length, piece.width)] * piece.count)
        return found

    def with_piece(self, piece: KeptPiece) -> OffcutList:
        """Return the list with more pieces; those of one size and note stand together. Raises BadSettingError."""
        _check(piece)
        pieces = list(self.pieces)
        for k, known in enumerate(pieces):
            if known.key == piece.key:
                pieces[k] = replace(known, count=known.count + piece.count, date=piece.date or known.date)
                return replace(self, pieces=tuple(pieces))
        return replace(self, pieces=(*pieces, piece))

    def without(self, key: str, count: int = 1) -> OffcutList:
        """Return the list with so many pieces less of an entry. Raises BadSettingError where it is not there."""
        pieces = list(self.pieces)
        index = next((k for k, known in enumerate(pieces) if known.key == key), None)
        if index is None:
            raise BadSettingError("This offcut is not on the list any more; look at the list again.")
        pieces[index] = replace(pieces[index], count=pieces[index].count - count)
        return replace(self, pieces=tuple(piece for piece in pieces if piece.count > 0))


def read_offcuts(path: Path) -> OffcutList:
    """Read the maker's list; a file that is not there holds none.

    Raises UnreadableError, in one sentence, where the file is torn or a value cannot be used.
    """
    tables = read_list(path, ("piece", "cut"))
    pieces = []
    for place, table in tables["piece"]:
        piece = KeptPiece(**read_values(table, place, KeptPiece.__slots__, _value, needed=("stock", "length", "width")))
        try:
            _check(piece)
        except BadSettingError as error:
            raise UnreadableError(f"{place} cannot be used: {error}") from error
        pieces.append(piece)
    cuts = [
        KeptCut(**read_values(table, place, KeptCut.__slots__, _value, needed=("name",)))
        for place, table in tables["cut"]
    ]
    return OffcutList(tuple(pieces), tuple(cuts))


def write_offcuts(path: Path, shelf: OffcutList) -> None:
    """Write the list, whole or not at all. Raises UnreadableError where the folder cannot be written."""
    write_list(path, _HEAD, [*_tables("piece", shelf.pieces), *_tables("cut", shelf.cuts)])


def _tables(kind: str, things: Iterable[KeptPiece | KeptCut]) -> list[tuple[str, dict[str, object]]]:
    named = ({name: getattr(thing, name) for name in thing.__slots__} for thing in things)
    return [(kind, {name: value for name, value in table.items() if value != ""}) for table in named]


def _value(key: str, raw: object) -> object:
    """Return a value of the list in the type of its field; raise TypeError otherwise."""
    if key in ("length", "width"):
        return read_number(raw)
    if key == "count":
        return read_count(raw)
    if not isinstance(raw, str):
        raise TypeError("text is needed")
    return raw


def _check(piece: KeptPiece) -> None:
    for what, size in (("length", piece.length), ("width", piece.width)):
        if not (math.isfinite(size) and size > 0.0):
            raise BadSettingError(f"The {what} of an offcut is {size:g} mm; it must be more than 0.")
    if piece.count < 1:
        raise BadSettingError(f"There are {piece.count} pieces of this size; there must be at least one.")
    if not piece.stock:
        raise BadSettingError("The board of an offcut has no name; choose one.")
