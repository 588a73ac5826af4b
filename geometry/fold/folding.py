"""Folding as a path: panels of one section must not run into one another while its bends close.

The distance of two panels changes at most as fast as their corners move. Where that speed leaves no doubt between two
fractions of the fold, nothing can have met there; elsewhere the span is halved (bounded steps).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations, product

import numpy as np
from shapely.geometry import Polygon

from ..findings import place
from ..part import Part
from ..pose import Pose
from ..settings import BuildSettings
from ..tolerance import OVERLAP
from .collide import depths_between, find_crossings, prisms
from .fold import fold
from .standing import standing_boards

__all__ = ["Crossed", "Folding", "closes_up", "fold_up", "is_worse", "met_while_folded", "order_bends"]

#: Spans are halved until nothing moves more than this, mm, or until they are this share of the fold: 1.4 degrees of a
#: square corner.
_DOUBT, _LEAST_SPAN = 0.5, 1.0 / 64.0

#: Panels that graze each other by less than this while they close bend a little, mm.
_GRAZE = 0.1

#: What panels meet by less than this gives way in the hand, and nothing is told of it, mm.
_GIVES = 0.19

_NOTHING = np.zeros((0, 6, 3))


@dataclass(frozen=True, slots=True)
class Crossed:
    """Two panels of a section that meet while it is folded: at which fraction, how deep, and where, mm."""

    panels: tuple[int, int]
    fraction: float
    depth: float
    point: tuple[float, float, float]


def fold_up(part: Part, glued: Mapping[int, np.ndarray] | None = None, *, deeper: float = OVERLAP) -> Crossed | None:
    """Return where a section is in its own way while its bends close in their order, or None where it is not.

    glued: per panel the prisms of what is glued to it, (k, 6, 3) mm in the part frame. Panels that a bend joins are
    left out, but not what is glued to them; so are those that cross when folded, which the proof reports.
    """
    return Folding(part).crossed(glued or {}, deeper=deeper)


class Folding:
    """A section on its way from flat to folded, asked again and again while things are glued to it."""

    def __init__(self, part: Part) -> None:
        self.part = part
        self._bare = [_prisms(part, k) for k in range(len(part.panels))]
        self._chains = _chains(part)
        self._folded = _Folded(part)

    def crossed(self, glued: Mapping[int, np.ndarray], *, deeper: float = OVERLAP) -> Crossed | None:
        """Return the deepest place where panels with what is glued to them meet; see ``fold_up``."""
        bare, borne = self._bare, [glued.get(k, _NOTHING) for k in range(len(self._bare))]
        whole = [np.concatenate(both) for both in zip(bare, borne, strict=True)]
        worst: Crossed | None = None
        for one, two in combinations(range(len(bare)), 2):
            chain = self._chains.get((one, two), ())
            beside = [(borne[one], whole[two]), (bare[one], borne[two])]
            for first, second in beside if len(chain) == 1 else [(whole[one], whole[two])]:
                found = self._meeting((one, first), (two, second), max(deeper, _GRAZE))
                if found is not None and (worst is None or found.depth > worst.depth):
                    worst = found
        return worst

    def lets_in(self, new: Mapping[int, np.ndarray], glued: Mapping[int, np.ndarray]) -> bool:
        """Whether the section still folds with new prisms on its panels beside those that are glued on by now.

        new, glued: per panel, (k, 6, 3) mm in the part frame.
        """
        for one, prisms_on in new.items():
            for two, bare in enumerate(self._bare):
                there = np.concatenate([bare, glued.get(two, _NOTHING), new.get(two, _NOTHING)])
                if two != one and self._meeting((one, prisms_on), (two, there), _GRAZE) is not None:
                    return False
        return True

    def _meeting(self, one: tuple[int, np.ndarray], two: tuple[int, np.ndarray], deeper: float) -> Crossed | None:
        """Return where prisms on two panels meet on the way, (panel, (k, 6, 3) mm) for both."""
        chain = self._chains.get((min(one[0], two[0]), max(one[0], two[0])), ())
        turn = sum(abs(self.part.lattices[k].angle) for k in chain)
        pair = _Solids(*one), _Solids(*two)
        if not turn or not len(one[1]) or not len(two[1]) or self._folded.gap(*pair, 1.0) < -deeper:
            return None
        # late bends close in half the time, as do those before them
        pace = 2.0 if any(placed.late for placed in self.part.lattices) else 1.0
        return _search(self._folded, pair, pace * turn * _reach(one[1], two[1]), deeper)


def order_bends(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Return parts so that their bends close in an order in which no panel meets another, where one is found.

    All together where that goes. Otherwise one bend closes when the others have, or all others when one has.
    """
    return tuple(_ordered(part) for part in parts)


def is_worse(new: Part, old: Part, settings: BuildSettings, *, as_before: bool = False) -> bool:
    """Whether only a change keeps a part from folding: panels meet on the way, or stand deeper in each other.

    as_before: bends close in the order in which they closed without the change; other orders are not tried.
    """
    deep, before = (
        find_crossings(tuple(standing_boards([part], (), settings)), deeper=OVERLAP)[0] for part in (new, old)
    )
    if deep > max(before, OVERLAP):
        return True
    ordered = _in_order_of(new, _ordered(old)) if as_before else _ordered(new)
    return not _folds(ordered) and _folds(_ordered(old))


def _folds(part: Part) -> bool:
    return fold_up(part, deeper=_GIVES) is None


def _in_order_of(part: Part, other: Part) -> Part:
    pairs = zip(part.lattices, other.lattices, strict=True)
    return replace(part, lattices=tuple(replace(placed, late=model.late) for placed, model in pairs))


@lru_cache(maxsize=256)
def _ordered(part: Part) -> Part:
    """Return a part with late bends where it wants them; it is asked for after ears, and again before the closures."""
    corners = [k for k, placed in enumerate(part.lattices) if placed.angle]
    if len(corners) < 3 or fold_up(part) is None:
        return part
    for late in (*({k} for k in corners), *(set(corners) - {k} for k in corners)):
        lattices = tuple(replace(placed, late=k in late) for k, placed in enumerate(part.lattices))
        ordered = replace(part, lattices=lattices)
        if fold_up(ordered) is None:
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
    folded = _Folded(part)

    def gap(pair: tuple[tuple[str, np.ndarray], tuple[str, np.ndarray]]) -> float:
        solids = [_Solids(panel, flat) for panel, (_, flat) in zip(crossed.panels, pair, strict=True)]
        return folded.gap(solids[0], solids[1], crossed.fraction)

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


@dataclass(frozen=True, slots=True, eq=False)
class _Solids:
    """Prisms that go with a panel, (k, 6, 3) mm in the part frame."""

    panel: int
    flat: np.ndarray


class _Folded:
    """A section at any fraction of its fold; poses are worked out once."""

    def __init__(self, part: Part) -> None:
        self._part = part
        self._poses: dict[float, tuple[Pose, ...]] = {}

    def corners(self, solids: _Solids, fraction: float) -> np.ndarray:
        """Return where prisms are at a fraction of the fold, (k, 6, 3) mm."""
        if fraction not in self._poses:
            self._poses[fraction] = fold(self._part, fraction)
        return self._poses[fraction][solids.panel].apply(solids.flat)

    def gap(self, one: _Solids, two: _Solids, fraction: float, *, enough: float = np.inf) -> float:
        """Return how far two panels are apart at least, mm, below 0 where they cross; no more than ``enough``.

        Prisms whose boxes are further apart than that are not looked at.
        """
        a, b = self.corners(one, fraction), self.corners(two, fraction)
        (a_low, a_high), (b_low, b_high) = ((c.min(axis=1), c.max(axis=1)) for c in (a, b))
        if float(np.maximum(a_low.min(0) - b_high.max(0), b_low.min(0) - a_high.max(0)).max()) > enough:
            return enough
        apart = np.maximum(a_low[:, None] - b_high[None], b_low[None] - a_high[:, None]).max(axis=2)
        first, second = np.nonzero(apart <= enough)
        if not len(first):
            return enough
        return min(enough, -float(depths_between(a[first], b[second]).max()))


def _search(folded: _Folded, pair: tuple[_Solids, _Solids], speed: float, deeper: float) -> Crossed | None:
    """Return the deepest place found where two panels cross between flat and folded."""
    spans, worst = [(0.0, 1.0)], None
    while spans:
        low, high = spans.pop()
        middle, sure = (low + high) / 2, speed * (high - low) / 2
        gap = folded.gap(*pair, middle, enough=sure)
        if gap < -deeper and (worst is None or -gap > worst.depth):
            a, b = (folded.corners(solids, middle) for solids in pair)
            inner = (
                np.maximum(a.min(axis=(0, 1)), b.min(axis=(0, 1))),
                np.minimum(a.max(axis=(0, 1)), b.max(axis=(0, 1))),
            )
            worst = Crossed((pair[0].panel, pair[1].panel), middle, -gap, place((inner[0] + inner[1]) / 2))
        if -sure <= gap < sure and sure > _DOUBT and high - low > _LEAST_SPAN:
            spans += [(low, middle), (middle, high)]
    return worst


def _prisms(part: Part, panel: int) -> np.ndarray:
    """Return a panel without its openings as prisms in the part frame, (k, 6, 3) mm."""
    low, high = (0.0, part.thickness) if part.board_side > 0 else (-part.thickness, 0.0)
    return prisms(Polygon(part.panels[panel].ring), Pose.identity(), low, high)


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
