"""Kept: what was made for drawing stays until it would be made from something else."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

__all__ = ["Kept"]

_Source = TypeVar("_Source")
_Value = TypeVar("_Value")


class Kept(Generic[_Source, _Value]):
    """One value with the source that it was made from; the source stays alive with it, so that no other equals it."""

    def __init__(self) -> None:
        self._made: tuple[_Source, _Value] | None = None

    def get(self, source: _Source, make: Callable[[], _Value]) -> _Value:
        """Return the value for a source; it is made where the kept one is of another source."""
        if self._made is None or self._made[0] != source:
            self._made = None
            self._made = (source, make())
        return self._made[1]

    def forget(self) -> None:
        """Drop the value."""
        self._made = None
