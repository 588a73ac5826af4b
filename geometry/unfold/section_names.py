"""Names of sections: short ids for the boards, and what the guide calls them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_lowercase

import numpy as np

from ..part import PartKind
from ..solid.facets import Facet, Facets, Shell, ShellKind
from ..tolerance import UPRIGHT

__all__ = ["SectionName", "name_sections"]

_PREFIX = {ShellKind.WALLS: ("W", "Wall section"), ShellKind.ROOF: ("R", "Roof"), ShellKind.SOLID: ("P", "Section")}
_KIND = {ShellKind.WALLS: PartKind.WALL, ShellKind.ROOF: PartKind.ROOF, ShellKind.SOLID: PartKind.PANEL}
_STAGE = {ShellKind.WALLS: 1, ShellKind.ROOF: 3, ShellKind.SOLID: 1}

#: Short names of what stands on a roof or against a wall; P is the one of other bodies.
_SHORT = {"Dormer": "D", "Chimney": "C", "Porch": "PO"}

#: What stands on a roof is cut with it.
_UPSTAND_STAGE = 3

#: A face looks one way where its normal points within 45 degrees of it (cosine).
_FACING = math.cos(math.radians(45.0))


@dataclass(frozen=True, slots=True)
class SectionName:
    """Id and label of a section, the kind of part it becomes, and its stage of cutting."""

    id: str
    label: str
    kind: PartKind
    stage: int


def name_sections(facets: Facets, groups: Sequence[tuple[int, ...]]) -> tuple[SectionName, ...]:
    """Return the names of groups of facets, in their order.

    Wall sections count as W1, W2 and so on, roofs as R1, other bodies as P1. A dormer is D1, a chimney C1, a porch
    PO1, and its boards are D1-a, D1-b; they are called by where they face.
    """
    words = _upstand_words(facets)
    counts: Counter[ShellKind] = Counter()
    boards: Counter[int] = Counter()
    names = []
    for group in groups:
        shell = facets.shell_of(facets.facets[group[0]])
        if shell.id in words:
            short, word = words[shell.id]
            boards[shell.id] += 1
            side = _side(facets, shell, group)
            label = f"{word}, {side}" if side else f"{word}, board {boards[shell.id]}"
            names.append(SectionName(f"{short}-{_letters(boards[shell.id])}", label, PartKind.UPSTAND, _UPSTAND_STAGE))
            continue
        counts[shell.kind] += 1
        prefix, word = _PREFIX[shell.kind]
        number = counts[shell.kind]
        names.append(SectionName(f"{prefix}{number}", f"{word} {number}", _KIND[shell.kind], _STAGE[shell.kind]))
    return tuple(names)


def _upstand_words(facets: Facets) -> dict[int, tuple[str, str]]:
    """Return, for every shell that stands on a roof, its short name and its word, such as D1 and Dormer 1."""
    found = {}
    counts: Counter[str] = Counter()
    for shell in facets.shells:
        if shell.stands_on:
            sloped = any(_is_sloped(facets.facets[facet]) for facet in shell.facets)
            word = "Porch" if facets.is_porch(shell) else "Dormer" if sloped else "Chimney"
            counts[word] += 1
            found[shell.id] = (f"{_SHORT[word]}{counts[word]}", f"{word} {counts[word]}")
    return found


def _is_sloped(facet: Facet) -> bool:
    return UPRIGHT < abs(float(facet.frame.n[2])) < 1.0 - UPRIGHT


def _side(facets: Facets, shell: Shell, group: Sequence[int]) -> str:
    """Return which side of a dormer or chimney a board is, seen by one who looks up the slope; "" for several."""
    if len(group) > 1:
        return ""
    facet = facets.facets[group[0]]
    if abs(float(facet.frame.n[2])) > 1.0 - UPRIGHT:
        return "top"
    fall = facets.facets[shell.stands_on[0]].frame.n[:2]
    size = float(np.hypot(*fall))
    down = fall / size if size > UPRIGHT else np.array([0.0, -1.0])
    level = facet.frame.n[:2] / np.hypot(*facet.frame.n[:2])
    front, right = float(level @ down), float(level @ [-down[1], down[0]])
    sloped = _is_sloped(facet)
    if front > _FACING:
        return "front slope" if sloped else "front"
    if front < -_FACING:
        return "back slope" if sloped else "back"
    return f"{'right' if right > 0.0 else 'left'} {'slope' if sloped else 'side'}"


def _letters(number: int) -> str:
    """Return a, b, ... z, aa, ab, ... for 1, 2, ..."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, len(ascii_lowercase))
        letters = ascii_lowercase[rest] + letters
    return letters
