"""Alike: parts that are cut exactly alike get one name, since any of them can take the place of another.

Alike means: of the same board and kind, the same outline with its holes, the same slits, engraving and marks, however
the part is turned on the sheet. A part seen in a mirror is another part: its marks would lie on the wrong face.
"""

from __future__ import annotations

import string
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..part import Part
from ..tolerance import SNAP
from ..unfold.outline import clean_ring

__all__ = ["are_alike", "counted_names", "name_alike"]


def name_alike(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts with a shared name wherever two or more of them are cut alike.

    Knees that are all alike are "knee"; where there are several sorts of knee they are "knee A", "knee B" and so on.
    A part with a plain id, such as W1, gives its id to those that are cut like it.
    """
    sorts: list[list[Part]] = []
    for part in parts:
        fellows = next((sort for sort in sorts if are_alike(sort[0], part)), None)
        if fellows is None:
            sorts.append([part])
        else:
            fellows.append(part)
    count = Counter(_word(sort[0]) for sort in sorts)
    taken: Counter[str] = Counter()
    names: dict[str, str] = {}
    for sort in sorts:
        word = _word(sort[0])
        letter = f" {_letters(taken[word])}" if word and count[word] > 1 else ""
        taken[word] += 1
        if len(sort) > 1:
            names |= {part.id: f"{word}{letter}" if word else sort[0].id for part in sort}
    return tuple(replace(part, shared_name=names[part.id]) if part.id in names else part for part in parts)


def counted_names(parts: Sequence[Part]) -> dict[str, tuple[Part, ...]]:
    """Return the parts by their names, in the order in which the names come first."""
    named: dict[str, list[Part]] = {}
    for part in parts:
        named.setdefault(part.name, []).append(part)
    return {name: tuple(alike) for name, alike in named.items()}


def are_alike(one: Part, two: Part) -> bool:
    """Whether two parts are cut alike: turned and shifted, one lies on the other line by line."""
    kinds = [(part.kind, part.stock, part.face_up, len(part.lattices), _word(part)) for part in (one, two)]
    if one.dressings or two.dressings:
        # finishes run on round a building, so that no two parts show the same piece of one
        return one is two
    if kinds[0] != kinds[1] or abs(one.area - two.area) > SNAP * one.outline.length:
        return False
    mine, other = _corners(one), _corners(two)
    if len(mine) != len(other):
        return False
    lines = _lines(one), _lines(two)
    for shift in range(len(mine)):
        turned = _turn_onto(mine, np.roll(other, shift, axis=0))
        if turned is not None and _same_lines(*lines, *turned) and _same_grain(one, two, turned[0]):
            return True
    return False


def _word(part: Part) -> str:
    """Return what an id says that its part does: knee of T1a-knee; empty for a plain id, W1, or a numbered layer."""
    word = part.id.partition("-")[2]
    return word if word.isalpha() and len(word) > 1 else ""


def _letters(number: int) -> str:
    """Return A to Z, then AA, AB ..."""
    ahead, last = divmod(number, len(string.ascii_uppercase))
    return (_letters(ahead - 1) if ahead else "") + string.ascii_uppercase[last]


def _corners(part: Part) -> np.ndarray:
    return clean_ring(np.asarray(part.outline.exterior.coords)[:-1], within=SNAP)


def _lines(part: Part) -> list[np.ndarray]:
    """Return all else that is cut or marked: holes and slits, then engraving and scores."""
    holes = [np.asarray(hole.coords)[:-1] for hole in part.outline.interiors]
    slits = [placed.slit_lines.reshape(-1, 2) for placed in part.lattices]
    return [*holes, *slits, *part.engrave, *part.score, *part.pricks]


def _turn_onto(mine: np.ndarray, other: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """Return (turn (2, 2), shift (2,)) that takes ``other`` onto ``mine`` corner by corner, None where it does not.

    The turn of least squares, after Kabsch (Acta Crystallographica A 32, 1976), without reflections.
    """
    middles = mine.mean(axis=0), other.mean(axis=0)
    a, b = mine - middles[0], other - middles[1]
    angle = np.arctan2((b[:, 0] * a[:, 1] - b[:, 1] * a[:, 0]).sum(), (a * b).sum())
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    if np.abs(b @ turn - a).max() > SNAP:
        return None
    return turn, middles[0] - middles[1] @ turn


def _same_lines(mine: list[np.ndarray], other: list[np.ndarray], turn: np.ndarray, shift: np.ndarray) -> bool:
    """Whether every line of one part has its like on the other one, as sets of points."""
    if sorted(map(len, mine)) != sorted(map(len, other)):
        return False
    if not mine:
        return True
    own, there = np.concatenate(mine), np.concatenate(other) @ turn + shift
    off = np.abs(own[:, None] - there[None]).max(axis=2) if len(own) <= _MANY else None
    if off is None:
        order = [np.lexsort(np.rint(points / SNAP / 2).T) for points in (own, there)]
        return bool(np.abs(own[order[0]] - there[order[1]]).max() <= 2 * SNAP)
    return bool((off.min(axis=1) <= 2 * SNAP).all() and (off.min(axis=0) <= 2 * SNAP).all())


#: With more points than this they are compared in line, not each with every other one.
_MANY = 400


def _same_grain(one: Part, two: Part, turn: np.ndarray) -> bool:
    """Whether both want the grain the same way, or neither minds."""
    if one.grain is None or two.grain is None:
        return one.grain is two.grain
    own = np.array([np.cos(one.grain), np.sin(one.grain)])
    there = np.array([np.cos(two.grain), np.sin(two.grain)]) @ turn
    return abs(float(own[0] * there[1] - own[1] * there[0])) <= SNAP
