"""Catalogues: readable files of named things, such as boards, lasers and people, that a maker may write as well.

A catalogue is a TOML file of tables of one kind. What a table means is the business of its own room. Lists that
the maker's own work fills, such as offcuts, are TOML files too; those we write again as a whole.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol, TypeVar

from .errors import BadSettingError, UnreadableError
from .files import replace_files

__all__ = [
    "check_names",
    "find_named",
    "read_catalogue",
    "read_count",
    "read_list",
    "read_number",
    "read_text",
    "read_values",
    "toml_value",
    "write_list",
]


class _Named(Protocol):
    @property
    def name(self) -> str: ...


_Thing = TypeVar("_Thing", bound=_Named)


def read_catalogue(path: Path, kind: str) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Return the tables of one kind in a file's own order, each after the words that say where it stands.

    Raises UnreadableError where the file is missing or torn, or holds no such table.
    """
    tables = _load(path, kind).get(kind)
    if not (isinstance(tables, list) and tables and all(isinstance(table, dict) for table in tables)):
        raise UnreadableError(f"The {kind} file {path} holds no [[{kind}]] table; at least one is needed.")
    return _placed(path, kind, tables)


def read_list(path: Path, kinds: tuple[str, ...]) -> dict[str, tuple[tuple[str, Mapping[str, Any]], ...]]:
    """Return the tables of each kind in a list of the maker's, as ``read_catalogue`` does; no file, no tables.

    Raises UnreadableError where the file is torn or holds anything else, which would be lost when it is written.
    """
    content = _load(path, kinds[0]) if path.exists() else {}
    found = {}
    for kind, tables in content.items():
        if kind not in kinds or not (isinstance(tables, list) and all(isinstance(table, dict) for table in tables)):
            known = " and ".join(f"[[{kind}]]" for kind in kinds)
            raise UnreadableError(f"The {kinds[0]} file {path} holds {kind!r}; only tables {known} are known.")
        found[kind] = _placed(path, kind, tables)
    return {kind: found.get(kind, ()) for kind in kinds}


def read_values(
    table: Mapping[str, Any],
    place: str,
    known: Sequence[str],
    value: Callable[[str, object], object],
    *,
    needed: Iterable[str] = (),
) -> dict[str, Any]:
    """Return the values of one table, each in the type of its field. place: words that say where the table stands.

    value: turns what the file holds under a name into the field's type; raises TypeError or ValueError for anything
    else. needed: names that no table may lack. Raises UnreadableError for a value of another type, a name that is not
    known, and one that is lacking.
    """
    values: dict[str, Any] = {}
    for key, raw in table.items():
        if key not in known:
            raise UnreadableError(f"{place} has an unknown value {key}; known are {', '.join(known)}.")
        try:
            values[key] = value(key, raw)
        except (TypeError, ValueError) as error:
            raise UnreadableError(f"{place} has {key} = {raw!r}, which cannot be used: {error}.") from error
    for key in needed:
        if key not in values:
            raise UnreadableError(f"{place} lacks the value {key}.")
    return values


def write_list(path: Path, head: str, tables: Iterable[tuple[str, Mapping[str, object]]]) -> None:
    """Write (kind, table) one after another, whole or not at all; with none left the file is taken away.

    head: lines of comment. Tables within a table are written on a line each. Raises UnreadableError where the
    folder cannot be written.
    """
    tables = tuple(tables)
    try:
        if not tables:
            path.unlink(missing_ok=True)
            return
        path.parent.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UnreadableError(f"The file {path} cannot be written: {error.strerror}.") from error
    replace_files(path.parent, {path.name: "\n".join([head, *(_written(*table) for table in tables)])})


def _load(path: Path, kind: str) -> dict[str, Any]:
    try:
        with path.open("rb") as file:
            return tomllib.load(file)
    except OSError as error:
        raise UnreadableError(f"The {kind} file {path} cannot be read: {error.strerror}.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UnreadableError(f"The {kind} file {path} is not valid TOML: {error}.") from error


def _placed(path: Path, kind: str, tables: list[Any]) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    return tuple((f"{kind.capitalize()} {number} of {path}", table) for number, table in enumerate(tables, 1))


def _written(kind: str, table: Mapping[str, object]) -> str:
    lines = [f"[[{kind}]]"]
    for key, value in table.items():
        if isinstance(value, Mapping):
            lines += [f"{key}.{_key(name)} = {toml_value(inner)}" for name, inner in value.items()]
        else:
            lines.append(f"{key} = {toml_value(value)}")
    return "\n".join(lines) + "\n"


def _key(name: str) -> str:
    """Return a key as TOML takes it: bare where it may be, else as text."""
    return name if re.fullmatch("[A-Za-z0-9_-]+", name) else toml_value(name)


def toml_value(value: object) -> str:
    """Return a value as TOML writes it: text, numbers, yes and no, tuples and tables of them, else as text."""
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{key} = {toml_value(inner)}' for key, inner in value.items())}}}"
    if isinstance(value, str):
        # A basic string of TOML escapes like JSON, and DEL too; lone surrogates have no place in a text file.
        plain = re.sub("[\ud800-\udfff]", "\ufffd", str(value))
        return json.dumps(plain, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, tuple):
        return f"[{', '.join(toml_value(inner) for inner in value)}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value) if isinstance(value, (int, float)) else toml_value(str(value))


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


def read_text(raw: object) -> str:
    """Return the text that a file holds, or raise TypeError; an empty one is none."""
    if not isinstance(raw, str) or not raw:
        raise TypeError("text is needed")
    return raw


def read_count(raw: object) -> int:
    """Return the whole number that a file holds, or raise TypeError; TOML's true and false are none."""
    if isinstance(raw, bool) or not isinstance(raw, int):
        raise TypeError("a whole number is needed")
    return raw


def read_number(raw: object) -> float:
    """Return the number that a file holds, or raise TypeError; TOML's true and false are none."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float)):
        raise TypeError("a number is needed")
    return float(raw)
