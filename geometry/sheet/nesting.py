"""Nesting: outlines on sheets, each turned by quarters, in notches and holes of others where they fit.

One filling takes the parts in some order and lays each on the first sheet that has a place for it. Which
order is good cannot be told beforehand, so several are tried and then the best is shuffled a little; work is
counted in steps, never in seconds, and chance comes from a fixed seed, so the same parts always lie the same.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..errors import GeometryError
from .bed import Bed
from .filling import Blank, Filler, Filling, Rule

__all__ = ["Blank", "Laid", "LayoutCancelledError", "nest"]

#: Steps that the search may take, counted in shifts of a sheet's map: about half a second.
STEPS = 180_000

#: So many shuffles that bring nothing end the search.
_IDLE = 30

#: So many orders and rules are tried where the fewest sheets are reached before the best of them is shuffled.
_STARTS = 8

#: So many fillings are enough where all lies on one sheet and only what is left over could grow.
_ENOUGH = 16


class LayoutCancelledError(GeometryError):
    """The layout was given up before every part had a place."""


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Where a blank lies: sheet, quarter turns about the origin of its frame, then (2,) shift in the room's frame."""

    key: int
    sheet: int
    quarter: int
    shift: np.ndarray


_RULES: tuple[Rule, ...] = (
    lambda x, y, w, h: (x + w, y + h),
    lambda x, y, w, h: (x, y, w),
)

_ORDERS: tuple[Callable[[Blank], tuple[float, ...]], ...] = (
    lambda blank: (-blank.area.area, blank.stage, blank.key),
    lambda blank: (-max(blank.sides), -blank.area.area, blank.stage, blank.key),
    lambda blank: (-blank.sides[0] * blank.sides[1], blank.stage, blank.key),
    lambda blank: (-min(blank.sides), -blank.area.area, blank.stage, blank.key),
    lambda blank: (-sum(blank.sides), -blank.area.area, blank.stage, blank.key),
)


def nest(
    blanks: Sequence[Blank],
    room: tuple[float, float],
    *,
    pieces: Sequence[tuple[float, float]] = (),
    fixed: Mapping[int, Sequence[shapely.Geometry]] | None = None,
    fewest: int = 1,
    steps: int = STEPS,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[Laid, ...]:
    """Lay all blanks on as few sheets as the search finds, and the last of them as free as it finds.

    room: (width, height) of a sheet inside its margins, mm; each blank must fit an empty one. pieces: rooms of
    the first sheets where they differ (left-over pieces). fixed: areas that already lie on a sheet.
    fewest: no result can have fewer sheets. Deterministic for the same input. When cancelled, the best so far
    stands; raises LayoutCancelledError where there is none.
    """
    if not blanks:
        return ()
    tell, stop = progress or (lambda _: None), cancelled or (lambda: False)
    best = _search(Filler(blanks, room, pieces, fixed), fewest, steps, lambda share: tell(0.9 * share), stop)
    laid = _laid(best, blanks)
    last = min(range(len(best.beds)), key=lambda sheet: best.beds[sheet].area or math.inf)
    if len(best.used) > 1 and last >= len(pieces) and last not in (fixed or {}):
        # what fills the sheet least is not what leaves most of it in one piece: lay the last sheet anew
        rest = [blank for blank in blanks if blank.key in {each.key for each in laid if each.sheet == last}]
        again = _search(Filler(rest, room), 1, steps // 4 + 1, lambda _: None, lambda: False)
        if len(again.used) == 1 and _left_over(again.used[0]) > _left_over(best.beds[last]):
            laid = [each for each in laid if each.sheet != last]
            laid += [replace(each, sheet=last) for each in _laid(again, rest)]
    tell(1.0)
    return tuple(sorted(laid, key=lambda each: (each.sheet, each.key)))


def _laid(filling: Filling, blanks: Sequence[Blank]) -> list[Laid]:
    laid = []
    for index, sheet, shape, x, y in filling.laid:
        place = np.array([y, x] if filling.transposed else [x, y])
        back = shape.transposed() if filling.transposed else shape
        laid.append(Laid(blanks[index].key, sheet, shape.quarter, place + back.origin))
    return laid


@dataclass(slots=True)
class _Try:
    """A filling with its score (the least is the best) and how it came about."""

    score: tuple[float, ...]
    filling: Filling
    order: list[int]
    rule: Rule


def _search(
    filler: Filler, fewest: int, steps: int, progress: Callable[[float], None], cancelled: Callable[[], bool]
) -> Filling:
    """Return the best filling that the steps allow to find."""
    chance = random.Random(1)
    best: _Try | None = None
    spent = idle = count = 0
    tried: set[tuple[object, ...]] = set()
    enough = min(_IDLE, 2 * len(filler.blanks))
    starts = [
        (sorted(range(len(filler.blanks)), key=lambda i, key=order: key(filler.blanks[i])), rule, transposed)
        for order in _ORDERS
        for rule in _RULES
        for transposed in (False, True)
    ]
    while best is None or (spent < steps and idle < enough and (count < _ENOUGH or best.score[0] > 1)):
        if count < len(starts) and (best is None or count < _STARTS or best.score[0] > fewest):
            (order, rule, transposed), like = starts[count], None
        else:
            idle += 1
            order, rule, transposed = _shuffled(best, chance), best.rule, best.filling.transposed
            like = (best.filling, best.order)
        count += 1
        if (name := (*order, rule, transposed)) in tried:
            continue
        tried.add(name)
        filling = filler.fill(order, rule, transposed, like=like, cancelled=cancelled)
        if filling is None:
            break
        spent += filling.steps
        score = _score(filling, filler)
        if best is None or score < best.score:
            best, idle = _Try(score, filling, order, rule), 0
        progress(min(1.0, spent / steps))
    if best is None:
        raise LayoutCancelledError("The layout was given up before every part had a place")
    return best.filling


def _shuffled(best: _Try, chance: random.Random) -> list[int]:
    """Move a few parts to other places in the order, mostly such of the last sheet to the front."""
    moved = list(best.order)
    last = min(best.filling.used, key=lambda bed: bed.area)
    on_last = [index for index, sheet, *_ in best.filling.laid if best.filling.beds[sheet] is last]
    for _ in range(chance.randint(1, 3)):
        if on_last and chance.random() < 0.6:
            part = chance.choice(on_last)
            place = moved.index(part)
            moved.insert(chance.randint(0, place), moved.pop(place))
        else:
            moved.insert(chance.randrange(len(moved)), moved.pop(chance.randrange(len(moved))))
    return moved


def _score(filling: Filling, filler: Filler) -> tuple[float, ...]:
    """Return (sheets, area on the last sheet, room not left over there, pairs cut against their stages)."""
    used = filling.used
    last = min(used, key=lambda bed: bed.area)
    return len(used), round(last.area, 3), -round(_left_over(last), 3), _against(filling, filler)


def _left_over(bed: Bed) -> float:
    """Return the area of the largest piece that one straight cut parts from the sheet, mm^2."""
    width, height = bed.size
    reach_x, reach_y = float(bed.upright[:, 1].max()), float(bed.upright[:, 4:].max())
    return max((width - reach_x) * height, (height - reach_y) * width)


def _against(filling: Filling, filler: Filler) -> int:
    """Count the pairs of parts on different sheets of which the one of the later stage is cut first."""
    held: dict[int, list[int]] = {}
    for index, sheet, *_ in filling.laid:
        held.setdefault(sheet, []).append(filler.blanks[index].stage)
    against = 0
    before: Counter[int] = Counter()
    for stages in sorted(held.values(), key=lambda stages: sum(stages) / len(stages)):
        here = Counter(stages)
        against += sum(n * m for early, n in here.items() for late, m in before.items() if late > early)
        before += here
    return against
