"""Delivery: where the cut files of a building go, which of the files there are its own, and where they went last."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from ..geometry.errors import UnreadableError
from ..geometry.files import already_there, file_word, is_sealed
from ..host.handlers import Handlers

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["GUIDE", "HANDLERS", "NAMES", "SHEETS", "foreign_files", "forget", "last", "proposed_folder", "remember"]

GUIDE = "guide.html"

#: What a delivery holds beside its sheets, and the pattern of those.
NAMES, SHEETS = ("report.json", GUIDE, "overview.pdf", "mock-up.pdf"), "sheet-*.svg"

#: The title of a guide stands within its first so many bytes, however long the building's name is.
_HEAD = 4096


@dataclass(slots=True)
class _Last:
    """title, folder: of the building that was delivered last; no folder before that and in another file."""

    title: str = ""
    folder: Path | None = None


_last = _Last()


def proposed_folder(title: str) -> Path:
    """Return the folder for a building's files: where they went before, else one of its own beside the .blend.

    A file that is not saved yet has nothing beside it: then the folder is among the documents, or in the home folder.
    """
    if _last.folder is not None and _last.title == title:
        return _last.folder
    return place_for_folder() / f"{file_word(title, 'building')}-cut-files"


def place_for_folder() -> Path:
    """Return the folder in which a building's own folder is made."""
    if bpy.data.filepath:
        return Path(bpy.data.filepath).parent
    documents = Path.home() / "Documents"
    return documents if documents.is_dir() else Path.home()


def remember(title: str, folder: Path) -> None:
    """Keep where a building was delivered, until another file is opened."""
    _last.title, _last.folder = title, folder


def last() -> Path | None:
    """Return the folder of the last delivery; None where nothing was delivered from this file yet."""
    return _last.folder


def forget() -> None:
    """Forget where a building was delivered."""
    _last.title, _last.folder = "", None


def foreign_files(folder: Path, title: str) -> tuple[str, ...]:
    """Return the files that a delivery would replace and that are not an earlier delivery of this building.

    Its own are known by the title of the guide among them; a sheet that somebody has edited is the maker's.
    Raises UnreadableError where the folder cannot be read.
    """
    names = already_there(folder, NAMES, pattern=SHEETS)
    try:
        if GUIDE in names and _is_guide_of(folder / GUIDE, title):
            return tuple(_edited(folder, (name for name in names if name not in NAMES)))
    except OSError as error:
        raise UnreadableError(f"The files in {folder} cannot be read; choose another folder") from error
    return names


def _is_guide_of(guide: Path, title: str) -> bool:
    # needs the packages of the flow
    from ..geometry.paper.guide import guide_title
    from ..geometry.paper.markup import text

    with guide.open("rb") as stream:
        head = stream.read(_HEAD)
    return f"<title>{text(guide_title(title))}</title>".encode() in head


def _edited(folder: Path, sheets: Iterable[str]) -> Iterable[str]:
    return (name for name in sheets if not is_sealed((folder / name).read_bytes()))


@persistent
def _on_load(*_ignored: object) -> None:
    forget()


HANDLERS = Handlers((("load_post", _on_load),), forget=forget)
