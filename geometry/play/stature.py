"""Statures: how tall people sit, how far they reach, how much room their hands need.

A building is good for the table when small players see and reach its squares and large hands fit
between its walls; percentiles are limits to one side only. ``read_statures`` reads the classes (those
of ``statures.toml`` beside this module unless told otherwise), ``find_stature`` picks one by name.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from ..catalogue import check_names, find_named, read_catalogue, read_number, read_text, read_values
from ..errors import BadSettingError, UnreadableError

__all__ = ["Stature", "find_stature", "read_statures"]

_PACKAGED = Path(__file__).with_name("statures.toml")
_TEXTS = ("name", "label")


@dataclass(frozen=True, slots=True)
class Stature:
    """One class of people. Lengths in mm, sitting upright.

    name: slug; label: what the maker reads. eye, acromion: heights of the eye and of the shoulder point
    above the seat. arm: straight, from acromion to the axis of the grip. abdomen: depth from the back.
    palm_breadth: of the hand at the metacarpals; hand_length: from wrist to tip. forearm: its diameter.
    fingertip: radius. finger_low .. finger_high: from a pinched figure to where the palm begins.
    sources: where each value comes from, by field name.
    """

    name: str
    label: str
    eye: float
    acromion: float
    arm: float
    abdomen: float
    palm_breadth: float
    hand_length: float
    forearm: float
    fingertip: float
    finger_low: float
    finger_high: float
    sources: Mapping[str, str] = field(default_factory=dict)


def read_statures(path: Path | None = None) -> tuple[Stature, ...]:
    """Read the statures of a TOML file in its own order, or those that come with Stowfold.

    Raises UnreadableError where the file is missing, torn, lacks or misspells a value or its source, and
    BadSettingError where a value cannot be a person's.
    """
    path = _PACKAGED if path is None else path
    statures = tuple(_stature_from(table, place) for place, table in read_catalogue(path, "stature"))
    check_names(path, "stature", (stature.name for stature in statures))
    return statures


def find_stature(name: str, statures: Iterable[Stature]) -> Stature:
    """Return the stature of this name; raise BadSettingError that lists the names otherwise."""
    return find_named("stature", name, statures)


def _stature_from(table: Mapping[str, Any], place: str) -> Stature:
    """Return the checked stature that one table describes."""
    known = [measure.name for measure in fields(Stature)]
    measures = [key for key in known if key not in (*_TEXTS, "sources")]
    values = read_values(table, place, known, _value, needed=known)
    for key in measures:
        if key not in values["sources"]:
            raise UnreadableError(f"{place} does not say where its {key} comes from; name it under sources.")
    stature = Stature(**values)
    _check(stature, measures)
    return stature


def _value(key: str, raw: object) -> object:
    """Return a value of the file in the type of its field; raise TypeError otherwise."""
    if key == "sources":
        if not (isinstance(raw, dict) and all(isinstance(text, str) and text for text in raw.values())):
            raise TypeError("a table of texts is needed")
        return dict(raw)
    return read_text(raw) if key in _TEXTS else read_number(raw)


def _check(stature: Stature, measures: Iterable[str]) -> None:
    """Raise BadSettingError where a value cannot be a person's."""
    for key in measures:
        value = getattr(stature, key)
        if not (math.isfinite(value) and value > 0.0):
            raise BadSettingError(f"The {key} of {stature.label} is {value:g} mm; it must be larger than 0.")
    if stature.acromion >= stature.eye:
        raise BadSettingError(
            f"The shoulder of {stature.label} is {stature.acromion:g} mm above the seat; "
            f"it must be lower than the eye at {stature.eye:g} mm."
        )
    if stature.finger_low > stature.finger_high:
        raise BadSettingError(
            f"The shortest finger of {stature.label} is {stature.finger_low:g} mm; "
            f"it must not be longer than the longest of {stature.finger_high:g} mm."
        )
