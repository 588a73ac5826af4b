"""The stock library: boards that come with Stowfold, and the maker's own, read from where they are kept.

Own boards lie in a folder that belongs to the user and not to the add-on, so no update touches
them: the folder chosen in the preferences, the extension's user folder, or the usual place of the
system for settings. What cannot be read never stands in the way of the packaged boards.
"""

from __future__ import annotations

import os
import sys
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ..geometry.board.library import Entry, merged, packaged_entries, read_library, write_library
from ..geometry.errors import BadSettingError, GeometryError
from .own_preferences import own_preferences

__all__ = [
    "DARK",
    "DARK_THIN",
    "DEFAULT",
    "THIN",
    "entries",
    "folder",
    "keep",
    "laser_folder",
    "number_of",
    "path",
    "remove",
    "stock_items",
    "trouble",
    "use_folder",
]

_FILE = "stocks.toml"

Items = list[tuple[str, str, str, int]]


@dataclass(frozen=True, slots=True)
class _Shelf:
    """What was read, from which state of the file."""

    state: tuple[object, ...]
    entries: dict[str, Entry]
    items: Items
    trouble: str | None


_PACKAGED = packaged_entries()


def number_of(name: str) -> int:
    """Return the number under which files store a stock: it must not depend on the order of the library."""
    return zlib.crc32(name.encode()) >> 1


#: The number of the first packaged stock, which is chosen where nothing else is.
DEFAULT = number_of(_PACKAGED[0].base.name)

#: ... and the number of the thin one that trim is cut from.
THIN = number_of("birch-plywood-1.5")

#: ... and of a board as thick that is dark by nature, for the dark tiles of a floor.
DARK = number_of("mdf-3")

#: ... and of a thin one that looks different, for shingles of two boards.
DARK_THIN = number_of("grey-board-2")

_shelf: _Shelf | None = None
_chosen: Path | None = None


def use_folder(chosen: Path | None) -> None:
    """Read own stocks from this folder for the rest of the session, or from the usual one."""
    global _chosen
    _chosen = chosen


def folder() -> Path:
    """Return the folder of the maker's own stocks; it may not be there yet."""
    return _chosen or _preferred("stock_folder") or _user_folder()


def laser_folder() -> Path:
    """Return the folder of the maker's own lasers; it may not be there yet."""
    return _preferred("laser_folder") or _user_folder()


def path() -> Path:
    """Return the file of the maker's own stocks; it may not be there yet."""
    return folder() / _FILE


def _preferred(name: str) -> Path | None:
    """Return a folder that the preferences name; without Blender there are none."""
    bpy = sys.modules.get("bpy")
    chosen = getattr(own_preferences(), name, "")
    return Path(bpy.path.abspath(chosen)) if bpy is not None and chosen else None


def _user_folder() -> Path:
    bpy = sys.modules.get("bpy")
    find: Callable[..., str] | None = getattr(getattr(bpy, "utils", None), "extension_path_user", None)
    if find is not None:
        try:
            return Path(find(__package__, create=True))
        except (ValueError, OSError):
            pass  # not installed as an extension, or its folder cannot be made
    if sys.platform == "win32":
        base = os.environ.get("APPDATA") or str(Path.home() / "AppData" / "Roaming")
    elif sys.platform == "darwin":
        base = str(Path.home() / "Library" / "Application Support")
    else:
        base = os.environ.get("XDG_CONFIG_HOME") or str(Path.home() / ".config")
    return Path(base) / "stowfold"


def _read() -> _Shelf:
    """Return what is in the library now; the file is read again only when it has changed."""
    global _shelf
    file = path()
    try:
        about = file.stat()
        state: tuple[object, ...] = (file, about.st_mtime_ns, about.st_size)
    except OSError:
        state = (file,)
    if _shelf is None or _shelf.state != state:
        own: tuple[Entry, ...] = ()
        told = None
        try:
            own = read_library(file)
        except GeometryError as error:
            told = f"{error} Until it is mended your own stocks are left out."
        known = merged(_PACKAGED, own)
        _shelf = _Shelf(state, known, [_item(entry) for entry in known.values()], told)
    return _shelf


def _item(entry: Entry) -> tuple[str, str, str, int]:
    stock = entry.base
    about = f"{stock.thickness:g} mm, sheet {stock.sheet[0]:g} x {stock.sheet[1]:g} mm, grain {stock.grain.value}"
    return (
        stock.name,
        stock.label.removesuffix(" mm"),
        f"{about}, your own" if entry.own else about,
        number_of(stock.name),
    )


def entries() -> dict[str, Entry]:
    """Return all stocks by name, the maker's own in the place of packaged namesakes."""
    return _read().entries


def stock_items(_group: Any = None, _context: Any = None) -> Items:
    """Return the stocks as a menu of the host; the host needs the same list to live on between calls."""
    return _read().items


def trouble() -> str | None:
    """Return the sentence that says why own stocks cannot be read, or None."""
    return _read().trouble


def keep(entry: Entry) -> None:
    """Write a stock into the maker's library, in the place of its namesake.

    Raises UnreadableError where the file is torn (it is left as it is) or cannot be written.
    """
    own = {entry.base.name: entry for entry in read_library(path())}
    own[entry.base.name] = entry
    _write(own)


def remove(name: str) -> None:
    """Take a stock out of the maker's library; raise BadSettingError where it is not in it."""
    own = {entry.base.name: entry for entry in read_library(path())}
    if name not in own:
        raise BadSettingError(f"There is no stock of your own named {name!r}.")
    del own[name]
    _write(own)


def _write(own: dict[str, Entry]) -> None:
    global _shelf
    _shelf = None  # two writes may fall into one tick of the file's clock
    write_library(path(), own.values())
