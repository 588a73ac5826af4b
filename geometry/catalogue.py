"""Catalogues: readable files of named things, such as boards, lasers and people, that a maker may write as well.

A catalogue is a TOML file of tables of one kind. What a table means is the business of its own room.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Protocol, TypeVar

from .errors import BadSettingError, UnreadableError

__all__ = ["check_names", "find_named", "read_catalogue", "read_number"]


class _Named(Protocol):
    @property
    def name(self) -> str: ...


_Thing = TypeVar("_Thing", bound=_Named)


def read_catalogue(path: Path, kind: str) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Return the tables of one kind in a file's own order, each after the words that say where it stands.

    Raises UnreadableError where the file is missing or torn, or holds no such table.
    """
    try:
        with path.open("rb") as file:
            content = tomllib.load(file)
    except OSError as error:
        raise UnreadableError(f"The {kind} file {path} cannot be read: {error.strerror}.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UnreadableError(f"The {kind} file {path} is not valid TOML: {error}.") from error
    tables = content.get(kind)
    if not (isinstance(tables, list) and tables and all(isinstance(table, dict) for table in tables)):
        raise UnreadableError(f"The {kind} file {path} holds no [[{kind}]] table; at least one is needed.")
    return tuple((f"{kind.capitalize()} {number} of {path}", table) for number, table in enumerate(tables, 1))


def check_names(path: Path, kind: str, names: Iterable[object]) -> None:
    """Raise UnreadableError where two things of a catalogue have one name."""
    names = list(names)
    for name in names:
        if names.count(name) > 1:
            raise UnreadableError(f"The {kind} file {path} holds {name} {names.count(name)} times; names must differ.")


def find_named(kind: str, name: str, things: Iterable[_Thing]) -> _Thing:
    """Return the thing of this name; raise BadSettingError that lists the names otherwise."""
    things = tuple(things)
    for thing in things:
        if thing.name == name:
            return thing
    names = ", ".join(thing.name for thing in things)
    raise BadSettingError(f"There is no {kind} named {name!r}; known are {names or 'none'}.")


def read_number(raw: object) -> float:
    """Return the number that a file holds, or raise TypeError; TOML's true and false are none."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        raise TypeError("a number is needed")
    return float(raw)
