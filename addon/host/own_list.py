"""Lists of the maker's own: files in the folder of the own stocks, read when they have changed, written as a whole."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Generic, TypeVar

from ..geometry.errors import GeometryError
from .stock_library import folder

__all__ = ["OwnList"]

_Value = TypeVar("_Value")


class OwnList(Generic[_Value]):
    """One such file.

    name: the file's. read, write: how its value goes out of it and into it. none: the value without a file.
    where: tells the folder, that of the own stocks unless told otherwise. formerly: a name that the file had once;
    what lies there is read while there is no other, and set aside once it is written under the new name.
    """

    def __init__(
        self,
        name: str,
        read: Callable[[Path], _Value],
        write: Callable[[Path, _Value], None],
        none: _Value,
        where: Callable[[], Path] = folder,
        *,
        formerly: str = "",
    ) -> None:
        self._name, self._read, self._write, self._none, self._where = name, read, write, none, where
        self._formerly = formerly
        self._state: tuple[object, ...] | None = None
        self._value = none
        self._error: str | None = None

    @property
    def path(self) -> Path:
        """The file; it may not be there yet."""
        return self._where() / self._name

    @property
    def value(self) -> _Value:
        """What the file holds; what an empty one would where it cannot be read."""
        self._look()
        return self._value

    @property
    def error(self) -> str | None:
        """The sentence that says why the file cannot be read, or None."""
        self._look()
        return self._error

    @property
    def trouble(self) -> str | None:
        """The same, with what it means."""
        return (
            f"{self.error} Until it is mended it is left as it is, and nothing of it is used." if self.error else None
        )

    def change(self, edit: Callable[[_Value], _Value]) -> _Value:
        """Write what ``edit`` makes of what the file holds now, and return it.

        Raises UnreadableError where the file is torn, which is then left as it is, or cannot be written.
        """
        source = self._source()
        after = edit(self._read(source))
        self._state = None  # two writes may fall into one tick of the file's clock
        self._write(self.path, after)
        if source != self.path:  # else it would be read again once the last thing is off the list
            with suppress(OSError):
                source.replace(source.with_name(f"{source.name}.old"))
        return after

    def _source(self) -> Path:
        """Return the file to read: the one of the former name where only that is there."""
        former = self._where() / self._formerly
        return former if self._formerly and former.exists() and not self.path.exists() else self.path

    def _look(self) -> None:
        source = self._source()
        try:
            about = source.stat()
            state: tuple[object, ...] = (source, about.st_mtime_ns, about.st_size)
        except OSError:
            state = (source,)
        if state == self._state:
            return
        self._state, self._value, self._error = state, self._none, None
        try:
            self._value = self._read(source)
        except GeometryError as error:
            self._error = str(error)
