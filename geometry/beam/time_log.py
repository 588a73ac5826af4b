"""The log of actual times: what the maker noted of every sheet, and what speeds follow from it.

A note keeps what the sheet asked of the laser and the feeds that were thought to be right then, so it says the
same whatever is changed later. The log is a TOML file of [[job]] tables.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ..catalogue import read_list, read_number, toml_value, write_list
from ..errors import BadSettingError, UnreadableError
from .feeds import FeedFit, TimedJob, Work, expected_seconds, fit_feeds
from .laser import Feed, Laser, Operation

__all__ = [
    "Learned",
    "TimeNote",
    "learn_feeds",
    "notes_for",
    "read_times",
    "sentences",
    "write_times",
]

_HEAD = """\
# Actual times of sheets, kept by Stowfold. Times in s, lengths in mm, speeds in mm/s.
# You may edit this file; notes like these are not kept when Stowfold writes it again.
"""

_TEXTS = ("date", "laser", "stock", "sheet", "title")
_NUMBERS = ("length", "pieces", "pierces", "short", "speed", "pierce", "passes")

_DONE = {
    Operation.FILL: "hatching",
    Operation.ENGRAVE: "engraving",
    Operation.SCORE: "scoring",
    Operation.SLITS: "slits",
    Operation.INNER: "holes",
    Operation.OUTER: "outlines",
}

#: Less than this share of what is uncertain about a speed is hardly worth a word.
_HARDLY = 0.25


@dataclass(frozen=True, slots=True)
class TimeNote:
    """What one sheet took. laser, stock: by name; sheet: its file; seconds: in all; besides: travel among them, s.

    work, feeds: what the sheet asked for, and the feeds that its time was estimated with.
    """

    date: str
    laser: str
    stock: str
    sheet: str
    seconds: float
    besides: float
    work: Mapping[Operation, Work]
    feeds: Mapping[Operation, Feed]
    title: str = ""

    @property
    def key(self) -> str:
        """What tells this note from others."""
        return f"{zlib.crc32(toml_value(tuple(_table(self).items())).encode()):08x}"

    @property
    def job(self) -> TimedJob:
        """The note as a fit of feeds takes it."""
        return TimedJob(self.work, self.seconds, self.besides)


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """Feeds that follow from notes. laser: with them; notes: that were used, the oldest first."""

    laser: Laser
    fit: FeedFit
    notes: tuple[TimeNote, ...]


def notes_for(notes: Sequence[TimeNote], laser: Laser, stock: str) -> tuple[TimeNote, ...]:
    """Return the notes of this laser and stock, the oldest first.

    Those with other numbers of passes tell nothing of the speeds of today, and are left out.
    """
    mine = [
        note
        for note in notes
        if (note.laser, note.stock) == (laser.name, stock)
        and all(feed.passes == laser.feeds[operation].passes for operation, feed in note.feeds.items())
    ]
    return tuple(sorted(mine, key=lambda note: note.date))


def learn_feeds(notes: Sequence[TimeNote], laser: Laser, stock: str) -> Learned:
    """Return the feeds that the notes of this laser and stock make likely; raises what ``fit_feeds`` raises.

    The fit starts from the feeds of the oldest note, not from those of today: these may come from the same notes,
    which would then be counted twice. So the same notes give the same feeds however often they are asked.
    """
    mine = notes_for(notes, laser, stock)
    if not mine:
        raise BadSettingError(f"There is no note of a sheet of this board on the laser {laser.name}; note one first.")
    first: dict[Operation, Feed] = {}
    for note in mine:
        first = {**note.feeds, **first}
    start = replace(laser, feeds={**laser.feeds, **first})
    fit = fit_feeds([note.job for note in mine], start)
    feeds = {
        operation: fit.feeds[operation] if operation in first else laser.feeds[operation] for operation in Operation
    }
    return Learned(replace(laser, feeds=feeds), fit, mine)


def sentences(learned: Learned) -> tuple[str, ...]:
    """Return what the notes tell and what they cannot tell, for the maker."""
    fit, count = learned.fit, len(learned.notes)
    said = [f"{count} note{'s' if count > 1 else ''} of whole sheets, which scatter by about {fit.scatter:.0%}."]
    for number in fit.slips:
        note = learned.notes[number]
        expected = expected_seconds(note.job, learned.laser)
        said.append(
            f"The note of {note.date}, {note.sheet}, does not go with the others: {_clock(note.seconds)} noted, "
            f"{_clock(expected)} expected. Delete it if it is a slip."
        )
    cuts = Operation.SLITS in fit.told and (Operation.OUTER in fit.told or Operation.INNER in fit.told)
    if cuts and fit.apart < _HARDLY:
        said.append(
            "Slits and outlines are scaled together: these sheets are too much alike to tell them apart. "
            "A note of a sheet with few slits, such as a floor, would."
        )
    hardly = [_DONE[operation] for operation, share in fit.told.items() if share < _HARDLY]
    if hardly:
        said.append(f"Too little of {' and '.join(hardly)} in the notes to tell; the speed stays nearly as it was.")
    return tuple(said)


def _clock(seconds: float) -> str:
    return f"{int(seconds) // 60} min {int(seconds) % 60} s"


def read_times(path: Path) -> tuple[TimeNote, ...]:
    """Read the maker's log in the file's own order; a file that is not there holds none.

    Raises UnreadableError, in one sentence, where the file is torn or a value cannot be used.
    """
    return tuple(_note(place, table) for place, table in read_list(path, ("job",))["job"])


def write_times(path: Path, notes: Sequence[TimeNote]) -> None:
    """Write the log, whole or not at all. Raises UnreadableError where the folder cannot be written."""
    write_list(path, _HEAD, [("job", _table(note)) for note in notes])


def _table(note: TimeNote) -> dict[str, object]:
    table: dict[str, object] = {name: value for name in _TEXTS if (value := getattr(note, name))}
    table |= {"seconds": note.seconds, "besides": note.besides}
    operations = {}
    for operation, work in note.work.items():
        feed = note.feeds[operation]
        values = (work.length, work.pieces, work.pierces, work.short, feed.speed, feed.pierce, feed.passes)
        operations[operation.value] = dict(zip(_NUMBERS, values, strict=True))
    return {**table, "work": operations}


def _note(place: str, table: Mapping[str, Any]) -> TimeNote:
    values: dict[str, Any] = dict.fromkeys(_TEXTS, "")
    work: dict[Operation, Work] = {}
    feeds: dict[Operation, Feed] = {}
    for key, raw in table.items():
        if key in _TEXTS and isinstance(raw, str):
            values[key] = raw
        elif key in ("seconds", "besides"):
            values[key] = _number(place, key, raw)
        elif key == "work" and isinstance(raw, dict):
            for name, numbers in raw.items():
                if name not in set(Operation) or not isinstance(numbers, dict) or set(numbers) != set(_NUMBERS):
                    raise UnreadableError(
                        f"{place} has work.{name} = {numbers!r}; an operation ({', '.join(Operation)}) "
                        f"has {', '.join(_NUMBERS)}."
                    )
                length, pieces, pierces, short, speed, pierce, passes = (
                    _number(place, f"work.{name}.{number}", numbers[number]) for number in _NUMBERS
                )
                work[Operation(name)] = Work(length, int(pieces), int(pierces), short)
                feeds[Operation(name)] = Feed(speed, pierce, int(passes))
        else:
            raise UnreadableError(
                f"{place} has {key} = {raw!r}; known are the texts {', '.join(_TEXTS)}, the numbers seconds and "
                "besides, and work."
            )
    for key in ("laser", "stock", "seconds", "besides"):
        if values.get(key, "") == "":
            raise UnreadableError(f"{place} lacks the value {key}.")
    note = TimeNote(work=work, feeds=feeds, **values)
    if not (note.seconds > note.besides and work and all(f.speed > 0 and f.passes >= 1 for f in feeds.values())):
        raise UnreadableError(
            f"{place} cannot be used: it took {note.seconds:g} s, {note.besides:g} s of it besides; it needs some "
            "work, a time longer than what is besides, speeds of more than 0 and at least one pass."
        )
    return note


def _number(place: str, key: str, raw: object) -> float:
    try:
        value = read_number(raw)
    except TypeError as error:
        raise UnreadableError(f"{place} has {key} = {raw!r}; {error}.") from error
    if not (math.isfinite(value) and value >= 0.0):
        raise UnreadableError(f"{place} has {key} = {value:g}; it must be a number of 0 or more.")
    return value
