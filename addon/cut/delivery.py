"""Delivery: where the cut files of a building go, which of the files there are its own, and where they went last."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from ..geometry.errors import UnreadableError
from ..geometry.files import already_there, file_word, is_sealed

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["GUIDE", "NAMES", "SHEETS", "attach", "detach", "foreign_files", "last", "proposed_folder", "remember"]

GUIDE = "guide.html"

#: What a delivery holds beside its sheets, and the pattern of those.
NAMES, SHEETS = ("report.json", GUIDE, "overview.pdf"), "sheet-*.svg"

#: The title of a guide stands within its first so many bytes, however long the building's name is.
_HEAD = 4096

#: Title of the building that was delivered last, and its folder; empty before that and in another file.
_last: list[tuple[str, Path]] = []


def proposed_folder(title: str) -> Path:
    """Return the folder for a building's files: where they went before, else one of its own beside the .blend.

    A file that is not saved yet has nothing beside it: then the folder is among the documents, or in the home folder.
    """
    if _last and _last[0][0] == title:
        return _last[0][1]
    return place_for_folder() / f"{file_word(title, 'building')}-cut-files"


def place_for_folder() -> Path:
    """Return the folder in which a building's own folder is made."""
    if bpy.data.filepath:
        return Path(bpy.data.filepath).parent
    documents = Path.home() / "Documents"
    return documents if documents.is_dir() else Path.home()


def remember(title: str, folder: Path) -> None:
    """Keep where a building was delivered, until another file is opened."""
    _last[:] = [(title, folder)]


def last() -> Path | None:
    """Return the folder of the last delivery; None where nothing was delivered from this file yet."""
    return _last[0][1] if _last else None


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
    # needs the packages of the chain
    from ..geometry.paper.guide import guide_title
    from ..geometry.paper.markup import text

    with guide.open("rb") as stream:
        head = stream.read(_HEAD)
    return f"<title>{text(guide_title(title))}</title>".encode() in head


def _edited(folder: Path, sheets: Iterable[str]) -> Iterable[str]:
    return (name for name in sheets if not is_sealed((folder / name).read_bytes()))


@persistent
def _on_load(*_ignored: object) -> None:
    _last.clear()


def attach() -> None:
    """Start to listen to loading."""
    bpy.app.handlers.load_post.append(_on_load)


def detach() -> None:
    """Stop listening and forget where files went."""
    bpy.app.handlers.load_post.remove(_on_load)
    _last.clear()
