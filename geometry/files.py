"""Delivery: a set of files is put into a folder as a whole or not at all.

A maker who cuts from half a set of sheets ruins boards. So everything is written beside the old
files first, and only when all of it is on the disk do the new files take the old ones' places.
What a killed delivery leaves is shown to the maker and undone by the next one, see ``unfinished``.

Sheets of an earlier, larger layout would mislead just as much. ``seal`` puts a checksum at the end
of a file; a sealed file that nobody has touched since may be cleared away later, an edited one never.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from .errors import UnreadableError
from .unfinished import PREFIX, Shelf, open_shelf, put_back, settle

__all__ = ["already_there", "file_word", "is_sealed", "replace_files", "seal", "undo_unfinished"]

_SEAL = "<!-- Written by Stowfold and not edited since, while this sum of the text above holds: sha256 {} -->\n"
_SEAL_LINE = re.compile(re.escape(_SEAL).replace(r"\{\}", "([0-9a-f]{64})").encode() + rb"\Z")


#: Longest word that a name gives to a file, characters: with a folder's path it stays below what any system takes.
_WORD = 48

#: Everything but letters, digits and single dots between them.
_NO_WORD = re.compile(r"(?:[^a-z0-9.]|(?<![a-z0-9])\.|\.(?![a-z0-9]))+")


def file_word(text: str, otherwise: str) -> str:
    """Return a name as a word for a file name that every system takes: a to z, digits, hyphens, dots, not too long.

    otherwise: what stands for a name of which nothing is left. Different names may give the same word.
    """
    return _NO_WORD.sub("-", text.lower())[:_WORD].strip("-.") or otherwise


def seal(text: str) -> str:
    """Return SVG or HTML text with a closing comment that holds its checksum.

    The comment stands after the root element, where both formats allow one.
    """
    body = text if text.endswith("\n") else text + "\n"
    return body + _SEAL.format(hashlib.sha256(body.encode("utf-8", "backslashreplace")).hexdigest())


def is_sealed(content: bytes) -> bool:
    """Tell whether a file's content was sealed by us and has stayed as it was, to the byte."""
    found = _SEAL_LINE.search(content)
    return found is not None and hashlib.sha256(content[: found.start()]).hexdigest() == found[1].decode()


def already_there(folder: Path, names: Iterable[str] = (), *, pattern: str = "") -> tuple[str, ...]:
    """Return the files of these names, then those that match ``pattern``, which a folder holds already.

    None where there is no such folder. Raises UnreadableError where the disk does not even take its name.
    """
    try:
        if not folder.is_dir():
            return ()
        found = [name for name in names if (folder / name).exists()]
        if pattern:
            found += sorted(path.name for path in folder.glob(pattern))
    except OSError as failure:
        raise UnreadableError(_sentence(failure, folder)) from failure
    return tuple(found)


def undo_unfinished(folder: Path) -> bool:
    """Put back what a delivery into a folder had replaced when it was killed; tell whether there was one.

    Raises UnreadableError where another program is replacing the files now, or the disk refuses.
    """
    try:
        return settle(folder)
    except OSError as failure:
        raise UnreadableError(_sentence(failure, folder)) from failure


def replace_files(folder: Path, files: Mapping[str, str | bytes], *, obsolete: Iterable[str] = ()) -> tuple[Path, ...]:
    """Put ``files`` (name to content; text becomes UTF-8) into ``folder`` and return their paths, as given.

    The folder is made when its parent exists. Files of the same names are replaced. When anything
    fails, all of them are as before and nothing of ours stays behind. Where the disk does not even let
    the old ones be put back, their copies stay in the folder and the sentence says where. While several
    files are replaced a warning lies in the folder; a delivery that was killed then is undone first.
    obsolete: patterns such as ``sheet-*.svg``; once the new files are in place, older files of the
    folder that match, are not among the new ones and are sealed (see ``seal``) are removed. A file
    without a whole seal is the maker's own and stays; so does one that cannot be removed.

    Raises UnreadableError with one sentence: what, where, and what to do.
    """
    folder = Path(folder)
    strangers = sorted(name for name in files if name in ("", ".", "..") or Path(name).name != name)
    if strangers:
        raise UnreadableError(f"{strangers[0]!r} is not a plain file name; files are delivered into one folder only")
    try:
        made = _open_folder(folder)
    except OSError as failure:
        raise UnreadableError(_sentence(failure, folder)) from failure
    undo_unfinished(folder)
    shelf: Shelf | None = None
    keep_shelf = False
    try:
        for name in files:
            if (folder / name).is_dir():
                raise UnreadableError(
                    f"{folder / name} is a folder where a file must go; move it or choose another folder"
                )
        shelf = open_shelf(Path(tempfile.mkdtemp(prefix=PREFIX, dir=folder)))
        _write_all(shelf.path, files)
        _swap_all(shelf, folder, tuple(files), _stale(folder, frozenset(files), tuple(obsolete)))
    except _StrandedError as stranded:
        keep_shelf = True
        raise UnreadableError(str(stranded)) from stranded
    except OSError as failure:
        raise UnreadableError(_sentence(failure, folder)) from failure
    finally:
        if shelf is not None:
            shelf.close(keep=keep_shelf)
        if made:
            with suppress(OSError):  # not empty, or taken away meanwhile
                folder.rmdir()
    return tuple(folder / name for name in files)


def _open_folder(folder: Path) -> bool:
    """Make sure that the folder is there; tell whether it had to be made."""
    if folder.is_dir():
        return False
    if folder.exists() or folder.is_symlink():
        raise UnreadableError(f"{folder} is a file, not a folder; choose another place for the cut files")
    parent = folder.absolute().parent
    if not parent.exists():
        raise UnreadableError(f"The folder {parent} does not exist; make it first or choose another place")
    if not parent.is_dir():
        raise UnreadableError(f"{parent} is a file, not a folder; choose another place for the cut files")
    folder.mkdir()
    return True


def _write_all(shelf: Path, files: Mapping[str, str | bytes]) -> None:
    for name, content in files.items():
        # Lone surrogates can stand in names that a host hands over; the rest of the text must still arrive.
        data = content if isinstance(content, bytes) else content.encode("utf-8", "backslashreplace")
        with open(shelf / name, "xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())


class _StrandedError(Exception):
    """Some of the old files could not be put back into their places."""


def _swap_all(shelf: Shelf, folder: Path, names: tuple[str, ...], stale: tuple[str, ...]) -> None:
    """Move the new files into place, one after another, and take stale ones away; on failure put the old ones back."""
    shelf.kept.mkdir()
    # Copies, not moves: at no moment is one of the old files missing.
    old = [name for name in (*names, *stale) if (folder / name).exists()]
    for name in old:
        shutil.copy2(folder / name, shelf.kept / name)
    changed: list[str] = []
    try:
        if len(names) + len(stale) > 1:  # a single file is either the old one or the new one at any moment
            shelf.begin((*names, *stale), old)
        for name in names:
            changed.append(name)
            os.replace(shelf.path / name, folder / name)
        for name in stale:
            changed.append(name)
            with suppress(OSError):  # a leftover that is locked must not undo a complete set
                (folder / name).unlink()
        shelf.end()
    except BaseException as failure:  # whatever stops the work, half a set must not stay
        lost = put_back(shelf.kept, folder, changed, old)
        if not lost:
            shelf.end()
            raise
        reason = _sentence(failure, folder) if isinstance(failure, OSError) else "The work was stopped"
        raise _StrandedError(
            f"{reason.split(';')[0]}; {', '.join(lost)} could not be put back as before, so do not cut from this "
            f"folder: what lay there before is in {shelf.kept}"
        ) from failure


def _stale(folder: Path, fresh: frozenset[str], patterns: tuple[str, ...]) -> tuple[str, ...]:
    """Return the names of sealed files that match a pattern and are not among the fresh ones."""
    found = []
    for pattern in patterns:
        for path in sorted(folder.glob(pattern)):
            if path.parent != folder or path.name in fresh or path.is_symlink() or not path.is_file():
                continue
            with suppress(OSError):  # what cannot be read is not known to be ours
                if is_sealed(path.read_bytes()):
                    found.append(path.name)
    return tuple(dict.fromkeys(found))


def _sentence(failure: OSError, folder: Path) -> str:
    if failure.errno in (errno.ENOSPC, errno.EDQUOT):
        return f"The disk is full: the files for {folder} could not be written; make room and try again"
    if failure.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return f"{folder} may not be written to; allow it, close programs that hold its files, or choose another folder"
    if failure.errno == errno.ENOENT and not folder.exists():
        return f"The folder {folder} is not there any more; make it again or choose another one"
    if failure.errno in (errno.ENOTDIR, errno.EEXIST):
        return f"{folder} cannot be a folder because a file stands in its way; choose another place"
    if failure.errno == errno.ENAMETOOLONG:
        return f"The path {folder} is too long for this disk; choose a shorter one"
    reason = failure.strerror or type(failure).__name__
    return f"The files for {folder} could not be written ({reason}); nothing was changed, choose another folder"
