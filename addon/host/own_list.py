"""Lists of the maker's own: files in the folder of the own stocks, read when they have changed, written as a whole."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Generic, TypeVar

from ..geometry.errors import GeometryError
from .stock_library import folder

__all__ = ["OwnList"]

_Value = TypeVar("_Value")


class OwnList(Generic[_Value]):
    """One such file.

    name: the file's. read, write: how its value goes out of it and into it. none: the value without a file.
    where: tells the folder, that of the own stocks unless told otherwise.
    """

    def __init__(
        self,
        name: str,
        read: Callable[[Path], _Value],
        write: Callable[[Path, _Value], None],
        none: _Value,
        where: Callable[[], Path] = folder,
    ) -> None:
        self._name, self._read, self._write, self._none, self._where = name, read, write, none, where
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
        after = edit(self._read(self.path))
        self._state = None  # two writes may fall into one tick of the file's clock
        self._write(self.path, after)
        return after

    def _look(self) -> None:
        try:
            about = self.path.stat()
            state: tuple[object, ...] = (self.path, about.st_mtime_ns, about.st_size)
        except OSError:
            state = (self.path,)
        if state == self._state:
            return
        self._state, self._value, self._error = state, self._none, None
        try:
            self._value = self._read(self.path)
        except GeometryError as error:
            self._error = str(error)
