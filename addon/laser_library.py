"""Lasers: those that come with Stowfold, and the maker's own in a file beside the own stocks."""

from __future__ import annotations

from .geometry.errors import GeometryError
from .geometry.sheet.laser import Laser
from .geometry.sheet.lasers import read_lasers
from .stock_library import laser_folder

__all__ = ["known_lasers", "trouble"]

#: Name of the maker's file; written by hand, in the form of the one that comes with Stowfold.
_FILE = "lasers.toml"

_read: dict[str, object] = {}


def known_lasers() -> dict[str, Laser]:
    """Return all lasers by name; one of the maker's own takes the place of a packaged one of its name."""
    path = laser_folder() / _FILE
    stamp = path.stat().st_mtime_ns if path.is_file() else None
    if _read.get("stamp") != (str(path), stamp) or "lasers" not in _read:
        found = {laser.name: laser for laser in read_lasers()}
        said = None
        if stamp is not None:
            try:
                found |= {laser.name: laser for laser in read_lasers(path)}
            except GeometryError as error:
                said = str(error)
        _read.update(stamp=(str(path), stamp), lasers=found, trouble=said)
    lasers: dict[str, Laser] = _read["lasers"]  # type: ignore[assignment]
    return lasers


def trouble() -> str | None:
    """Return why the maker's own lasers cannot be read, or None."""
    known_lasers()
    said: str | None = _read.get("trouble")  # type: ignore[assignment]
    return said
