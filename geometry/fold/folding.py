"""Folding as a path: panels of one section must not run into one another while its bends close."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property, lru_cache
from itertools import combinations, product

import numpy as np
from shapely.geometry import Polygon

from ..part import Part, SameBoards
from ..pose import Pose
from ..settings import BuildSettings
from ..tolerance import OVERLAP
from .closing import Body, Crossed, FoldPath, Pair
from .collide import Prisms, depths_between, find_crossings, prisms
from .fold import fold
from .standing import standing_boards

__all__ = [
    "Crossed",
    "Folding",
    "board_prisms",
    "closes_up",
    "fold_up",
    "folding_of",
    "is_worse",
    "met_while_folded",
    "order_bends",
    "stands_deeper",
]

#: Panels that graze each other by less than this while they close bend a little, mm.
_GRAZE = 0.1

#: What panels meet by less than this gives way in the hand, and nothing is told of it, mm.
_GIVES = 0.19

_NOTHING = np.zeros((0, 6, 3))


def fold_up(part: Part, glued: Mapping[int, np.ndarray] | None = None, *, deeper: float = OVERLAP) -> Crossed | None:
    """Return where a section is in its own way while its bends close in their order, or None where it is not.

    glued: per panel the prisms of what is glued to it, (k, 6, 3) mm in the part frame. Panels that a bend joins are
    left out, but not what is glued to them; so are those that cross when folded, which the proof reports.
    """
    return _folding_of(part).crossed(glued or {}, deeper=deeper)


class Folding:
    """A section on its way from flat to folded, asked again and again while things are glued to it."""

    def __init__(self, part: Part) -> None:
        self._bare = [Prisms.of(_prisms(part, k)) for k in range(len(part.panels))]
        self._path = FoldPath(part)
        self._folds: dict[float, bool] = {}
        self._chains = _chains(part)
        # late bends close in half the time, as do those before them
        pace = 2.0 if any(placed.late for placed in part.lattices) else 1.0
        turns = {both: sum(abs(part.lattices[k].angle) for k in chain) for both, chain in self._chains.items()}
        self._turns = {both: pace * turn for both, turn in turns.items() if turn}

    @cached_property
    def _bare_pairs(self) -> list[Pair]:
        """The pairs of panels that may meet with nothing glued to them."""
        return self._pairs({})

    def crossed(self, glued: Mapping[int, np.ndarray], *, deeper: float = OVERLAP) -> Crossed | None:
        """Return the deepest place where panels with what is glued to them meet; see ``fold_up``."""
        return self._path.deepest(self._pairs(glued), max(deeper, _GRAZE))

    def folds(self, *, deeper: float = OVERLAP) -> bool:
        """Whether the section, with nothing glued to it, is nowhere in its own way; see ``fold_up``."""
        limit = max(deeper, _GRAZE)
        if limit not in self._folds:
            # what folds with less folds with more, where no pair was left out since it crosses when folded
            if self._folds.get(_GRAZE) and self._path.end_depth(self._bare_pairs) <= _GRAZE:
                self._folds[limit] = True
            else:
                self._folds[limit] = self._path.deepest(self._bare_pairs, limit, first=True) is None
        return self._folds[limit]

    def lets_in(self, new: Mapping[int, np.ndarray], glued: Mapping[int, np.ndarray]) -> bool:
        """Whether the section still folds with new prisms glued to its panels beside those that are there by now.

        new, glued: per panel, (k, 6, 3) mm in the part frame.
        """
        return self._is_clear(self._brought(new, glued), deeper=_GRAZE)

    def lets_grow(self, new: Mapping[int, np.ndarray], grown: Mapping[int, np.ndarray]) -> bool:
        """Whether the section still folds where its panels get more board beside what they grew by now.

        new, grown: per panel, (k, 6, 3) mm in the part frame. Board gives way where it grazes board, and panels that a
        bend joins are not looked at, as without what grew.
        """
        pairs = [(one, two) for one, two in self._brought(new, grown) if len(self._chain(one.panel, two.panel)) != 1]
        return self._is_clear(pairs, deeper=_GIVES)

    def _is_clear(self, pairs: Iterable[tuple[Body, Body]], *, deeper: float) -> bool:
        """Whether no pair of bodies meets while the section folds."""
        return self._path.deepest(self._meetable(pairs), deeper, first=True) is None

    def _brought(self, new: Mapping[int, np.ndarray], there: Mapping[int, np.ndarray]) -> Iterator[tuple[Body, Body]]:
        """Yield what is new on a panel with every other panel and all that is on that one."""
        whole = self._with(there, new)
        for panel, corners in new.items():
            fresh = Body(panel, Prisms.of(corners))
            yield from ((fresh, other) for other in whole if other.panel != panel)

    def _pairs(self, glued: Mapping[int, np.ndarray]) -> list[Pair]:
        """Return the panels that may meet, with what is glued to them; of neighbours not the panels themselves."""
        bare, whole = self._with(), self._with(glued)
        borne = [Body(k, Prisms.of(glued.get(k, _NOTHING))) for k in range(len(bare))]
        found: list[tuple[Body, Body]] = []
        for one, two in combinations(range(len(bare)), 2):
            if len(self._chains.get((one, two), ())) == 1:
                found += [(borne[one], whole[two]), (bare[one], borne[two])]
            else:
                found.append((whole[one], whole[two]))
        return self._meetable(found)

    def _with(self, *glued: Mapping[int, np.ndarray]) -> list[Body]:
        """Return all panels with what is glued to them."""
        return [
            Body(k, Prisms.joined([bare, *(Prisms.of(there[k]) for there in glued if k in there)]))
            for k, bare in enumerate(self._bare)
        ]

    def _chain(self, one: int, two: int) -> tuple[int, ...]:
        return self._chains.get((min(one, two), max(one, two)), ())

    def _meetable(self, bodies: Iterable[tuple[Body, Body]]) -> list[Pair]:
        """Return pairs of bodies with their speeds, without those that never turn toward each other."""
        found = []
        for one, two in bodies:
            turn = self._turns.get((min(one.panel, two.panel), max(one.panel, two.panel)))
            if turn and len(one.prisms.corners) and len(two.prisms.corners):
                found.append(Pair(one, two, turn * _reach(one.prisms.corners, two.prisms.corners)))
        return found


def folding_of(part: Part) -> Folding | None:
    """Return how a part folds with its bends in the order found for it, None where it runs into itself."""
    folding = _folding_of(_ordered(part))
    return folding if folding.folds(deeper=_GIVES) else None


def _folding_of(part: Part) -> Folding:
    """Return how a part folds; it is asked for before and after ears and for assembly."""
    return _folding(SameBoards(part))


@lru_cache(maxsize=64)
def _folding(same: SameBoards) -> Folding:
    return Folding(same.part)


def order_bends(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Return parts so that their bends close in an order in which no panel meets another, where one is found.

    All together where that goes. Otherwise one bend closes when the others have, or all others when one has.
    """
    return tuple(_ordered(part) for part in parts)


def is_worse(new: Part, old: Part, settings: BuildSettings) -> bool:
    """Whether only a change keeps a part from folding: panels meet on the way, or stand deeper in each other."""
    return stands_deeper(new, old, settings) or (folding_of(new) is None and folding_of(old) is not None)


def stands_deeper(new: Part, old: Part, settings: BuildSettings) -> bool:
    """Whether a part stands deeper in itself when it is folded than it did before a change."""
    deep, before = (
        find_crossings(tuple(standing_boards([part], (), settings)), deeper=OVERLAP)[0] for part in (new, old)
    )
    return deep > max(before, OVERLAP)


@lru_cache(maxsize=256)
def _ordered(part: Part) -> Part:
    """Return a part with late bends where it wants them; it is asked for after ears, and again before the closures."""
    corners = [k for k, placed in enumerate(part.lattices) if placed.angle]
    if len(corners) < 3 or _folding_of(part).folds():
        return part
    for late in (*({k} for k in corners), *(set(corners) - {k} for k in corners)):
        lattices = tuple(replace(placed, late=k in late) for k, placed in enumerate(part.lattices))
        ordered = replace(part, lattices=lattices)
        if _folding_of(ordered).folds():
            return ordered
    return part


def met_while_folded(part: Part, crossed: Crossed, riders: Mapping[str, tuple[int, np.ndarray]]) -> tuple[str, str]:
    """Return the ids of the two that meet deepest where two panels cross with what is glued to them.

    riders: per part that is glued on, its panel and its prisms, (k, 6, 3) mm in the part frame of the section.
    """
    first, second = (
        [(part.id, _prisms(part, panel)), *((name, flat) for name, (on, flat) in riders.items() if on == panel)]
        for panel in crossed.panels
    )
    folded = fold(part, crossed.fraction)

    def gap(pair: tuple[tuple[str, np.ndarray], tuple[str, np.ndarray]]) -> float:
        one, two = (folded[panel].apply(flat) for panel, (_, flat) in zip(crossed.panels, pair, strict=True))
        first, second = np.indices((len(one), len(two))).reshape(2, -1)
        return -float(depths_between(one[first], two[second]).max(initial=-np.inf))

    pairs = [pair for pair in product(first, second) if {pair[0][0], pair[1][0]} != {part.id}]
    one, two = min(pairs, key=gap)
    # the section itself comes first
    return (two[0], one[0]) if two[0] == part.id else (one[0], two[0])


def closes_up(part: Part, corners: np.ndarray) -> bool:
    """Whether a bend of a part brings what is glued to it nearer to what is glued behind the bend.

    corners: of the glued part, (k, 6, 3) mm, in the part frame.
    """
    above = float(corners[..., 2].mean()) * part.board_side > 0.0
    return any(placed.angle < 0.0 if above else placed.angle > 0.0 for placed in part.lattices)


def board_prisms(part: Part, shape: Polygon) -> np.ndarray:
    """Return a shape of a part's board as prisms in the part frame, (k, 6, 3) mm."""
    low, high = (0.0, part.thickness) if part.board_side > 0 else (-part.thickness, 0.0)
    return prisms(shape, Pose.identity(), low, high)


def _prisms(part: Part, panel: int) -> np.ndarray:
    """Return a panel without its openings as prisms in the part frame, (k, 6, 3) mm."""
    return board_prisms(part, Polygon(part.panels[panel].ring))


def _chains(part: Part) -> dict[tuple[int, int], tuple[int, ...]]:
    """Return for pairs of panels, lower first, the lattices between them."""
    beside: dict[int, list[tuple[int, int]]] = {}
    for k, placed in enumerate(part.lattices):
        beside.setdefault(placed.parent, []).append((placed.child, k))
        beside.setdefault(placed.child, []).append((placed.parent, k))
    found: dict[tuple[int, int], tuple[int, ...]] = {}
    for start in range(len(part.panels)):
        waiting: list[tuple[int, tuple[int, ...]]] = [(start, ())]
        seen = {start}
        while waiting:
            panel, chain = waiting.pop()
            if panel > start:
                found[start, panel] = chain
            for other, k in beside.get(panel, ()):
                if other not in seen:
                    seen.add(other)
                    waiting.append((other, (*chain, k)))
    return found


def _reach(one: np.ndarray, two: np.ndarray) -> float:
    """Return how far a corner of either panel is from any bend between them in the flat, at most, mm."""
    both = np.concatenate([one.reshape(-1, 3), two.reshape(-1, 3)])
    return float(np.linalg.norm(np.ptp(both, axis=0)))
