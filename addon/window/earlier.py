"""Earlier files: what operators that write into a folder refuse to replace until the maker has ticked it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from ..geometry.errors import BadSettingError
from ..geometry.files import already_there
from ..geometry.unfinished import WARNING

__all__ = ["refuse_earlier", "refuse_files"]


def refuse_earlier(
    folder: Path, names: Iterable[str] = (), *, pattern: str = "", most: int | None = None, between: str = ", "
) -> None:
    """Raise BadSettingError where files of these names, or such that match the pattern, lie in a folder already.

    most: so many are named; with 0 none is refused. Raises UnreadableError where the disk does not even take the
    folder's name.
    """
    refuse_files(folder, already_there(folder, names, pattern=pattern)[:most], between=between)


def refuse_files(folder: Path, earlier: Sequence[str], *, between: str = ", ") -> None:
    """Raise BadSettingError where there are files in a folder that must not be replaced without a word."""
    if earlier and already_there(folder, [WARNING]):
        raise BadSettingError(
            f"The files in '{folder.name}' are of two exports, do not cut them; "
            "tick Replace Earlier Files and export again"
        )
    if earlier:
        raise BadSettingError(
            f"'{folder.name}' already holds {between.join(earlier)}; "
            "tick Replace Earlier Files or choose another folder"
        )
