"""Deliveries that were killed: how a folder shows that it holds files of two sets, and the way back.

While one set of files takes the place of another one, the folder holds files of both. A program that is
killed then cannot clear up. So a text file that warns the maker lies in the folder for that time, and
the hidden shelf of the delivery holds copies of the old files, with a journal that names them. The next
delivery into the folder puts the old files back before it starts.
"""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from .errors import UnreadableError

__all__ = ["PREFIX", "WARNING", "Shelf", "open_shelf", "put_back", "settle"]

#: The file that warns the maker; its name says what matters to those who never open it.
WARNING = "DO-NOT-CUT.txt"

_WORDS = """The files in this folder are of two exports: the later one was stopped while it replaced the earlier one.
Do not cut from them. Export into this folder again: what lay here before is put back first.
"""

#: Hidden folders in which files are written before they take their places begin so.
PREFIX = ".stowfold-"
_JOURNAL = ".journal.json"
_KEPT = ".before"


@dataclass(frozen=True, slots=True)
class Shelf:
    """The hidden folder of one delivery, and its journal, locked as long as the program lives."""

    path: Path
    journal: BinaryIO

    @property
    def kept(self) -> Path:
        """The folder that takes the copies of old files."""
        return self.path / _KEPT

    def begin(self, names: Sequence[str], old: Sequence[str]) -> None:
        """Note what is about to change in the folder, then lay the warning there.

        names: the files that are replaced or taken away; old: those of them that are there by now and have a copy.
        Raises UnreadableError where another program is replacing files of this folder.
        """
        self.journal.write(json.dumps({"names": list(names), "old": list(old)}).encode())
        self.journal.flush()
        os.fsync(self.journal.fileno())
        warning = self.path.parent / WARNING
        if warning.exists():
            _refuse_busy(self.path.parent, self.path)
        with open(warning, "w", encoding="utf-8") as stream:
            stream.write(_WORDS)

    def end(self) -> None:
        """Take the warning away: the folder holds one set again."""
        with suppress(FileNotFoundError):
            os.unlink(self.path.parent / WARNING)

    def close(self, *, keep: bool) -> None:
        """Give the shelf up; with ``keep`` its files stay, for the maker or for the next delivery."""
        self.journal.close()
        if not keep:
            _clear(self.path)


def open_shelf(path: Path) -> Shelf:
    """Make a new empty folder, whose name begins with PREFIX, the shelf of a delivery into the folder that holds it."""
    try:
        journal = open(path / _JOURNAL, "xb")  # noqa: SIM115  held open, and so locked, until the shelf is closed
    except OSError:
        shutil.rmtree(path, ignore_errors=True)
        raise
    _lock(journal)
    return Shelf(path, journal)


def put_back(kept: Path, folder: Path, names: Iterable[str], old: Iterable[str]) -> list[str]:
    """Bring files back to what they were before a delivery; return the names of those that could not be.

    A copy that is gone was put back by an earlier attempt, so that this can be repeated after any interruption.
    """
    known = set(old)
    lost = []
    for name in names:
        try:
            if (kept / name).exists():
                os.replace(kept / name, folder / name)
            elif name not in known:
                (folder / name).unlink(missing_ok=True)
        except OSError:
            lost.append(name)
    return sorted(lost)


def settle(folder: Path) -> bool:
    """Undo a delivery that was killed while it replaced files, and clear its shelf away; tell whether there was one.

    Raises UnreadableError where a living program is replacing files of the folder, or old files cannot be put back.
    """
    warned = (folder / WARNING).exists()
    undone = False
    for path in sorted(folder.glob(f"{PREFIX}*")):
        try:
            journal = open(path / _JOURNAL, "r+b")  # noqa: SIM115  only a failure to open is no news
        except OSError:
            with suppress(OSError):
                path.rmdir()  # all that was in it is gone; what holds anything is no shelf of ours and stays
            continue
        with journal:
            if not _lock(journal):
                if warned:
                    _refuse_busy(folder)
                continue
            noted = journal.read()
            if warned and noted:
                entry = json.loads(noted)
                lost = put_back(path / _KEPT, folder, entry["names"], entry["old"])
                if lost:
                    raise UnreadableError(
                        f"{', '.join(lost)} in {folder} could not be put back after an export that was stopped; close "
                        "programs that hold these files, or choose another folder"
                    )
                os.unlink(folder / WARNING)
                undone, warned = True, False
        _clear(path)
    return undone


def _clear(shelf: Path) -> None:
    """Delete a shelf, its journal last, so that what an interruption leaves is still known as ours."""
    try:
        names = os.listdir(shelf)
    except OSError:
        return  # taken away meanwhile
    for name in names:
        if name == _KEPT:
            shutil.rmtree(shelf / name, ignore_errors=True)
        elif name != _JOURNAL:
            with suppress(OSError):
                os.unlink(shelf / name)
    with suppress(OSError):
        os.unlink(shelf / _JOURNAL)
        shelf.rmdir()


def _refuse_busy(folder: Path, own: Path | None = None) -> None:
    """Raise UnreadableError where another living program has a shelf in the folder."""
    for path in folder.glob(f"{PREFIX}*"):
        if path == own:
            continue
        with suppress(OSError), open(path / _JOURNAL, "r+b") as journal:
            if not _lock(journal):
                raise UnreadableError(f"Another export is replacing the files in {folder}; wait until it is done")


def _lock(stream: BinaryIO) -> bool:
    """Take a lock that ends with the program, however it ends; False where another program holds it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(stream.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    except OSError:
        return True  # a disk without locks: then nobody is taken to be at work
    return True
