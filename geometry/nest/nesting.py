"""Nesting: outlines on sheets, each turned by quarters, in notches and holes of others where they fit.

One packing takes the parts in some order and lays each on the first sheet that has a place for it. Which
order is good cannot be told beforehand, so several are tried and then the best is shuffled a little; work is
counted in steps, never in seconds, and chance comes from a fixed seed, so the same parts always lie the same.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..progress import SILENT, Progress
from .bed import Bed
from .packing import MASS, Item, Packer, Packing, Rule

__all__ = ["STEPS", "Item", "PlacedItem", "left_over", "nest", "placed_of", "search"]

#: Steps that the search may take, counted in shifts of a sheet's map: about half a second for two dozen parts.
STEPS = 160_000

#: ... but no more than this for each part: few parts are soon in their best order.
_STEPS_EACH = 7_000

#: The first packing is this share of the work that is told; with thousands of parts it is the only one.
_FIRST = 0.5

#: Where one packing of hundreds of parts takes all the steps, the other orders may take so many times as many.
_MORE = 25

#: So many shuffles that bring nothing end the search.
_IDLE = 30

#: So many orders and rules are tried where the fewest sheets are reached before the best of them is shuffled.
_STARTS = 6

#: So many packings are enough where all lies on one sheet and only what is left over could grow.
_ENOUGH = 16


@dataclass(frozen=True, slots=True, eq=False)
class PlacedItem:
    """Where an item lies: sheet, quarter turns about the origin of its frame, then (2,) shift in the room's frame."""

    key: int
    sheet: int
    quarter: int
    shift: np.ndarray

    def place(self, area: shapely.Geometry) -> shapely.Geometry:
        """Return an area of the item's frame where it lies."""
        c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[self.quarter % 4]
        return shapely.transform(area, lambda points: points @ np.array([[c, s], [-s, c]]) + self.shift)


_RULES: tuple[Rule, ...] = (
    lambda x, y, w, h: (x + w, y + h),
    lambda x, y, w, h: (x, y, w),
    lambda x, y, w, h: (x, y, h),
)

_Order = Callable[[Item], tuple[float, ...]]

_ORDERS: tuple[_Order, ...] = (
    lambda item: (-item.area.area, item.stage, item.key),
    lambda item: (-max(item.sides), -item.area.area, item.stage, item.key),
    lambda item: (-item.sides[0] * item.sides[1], item.stage, item.key),
    lambda item: (-min(item.sides), -item.area.area, item.stage, item.key),
    lambda item: (-sum(item.sides), -item.area.area, item.stage, item.key),
)


def nest(
    items: Sequence[Item],
    room: tuple[float, float],
    *,
    pieces: Sequence[tuple[float, float]] = (),
    fixed: Mapping[int, Sequence[shapely.Geometry]] | None = None,
    fewest: int = 1,
    steps: int = STEPS,
    progress: Progress = SILENT,
) -> tuple[PlacedItem, ...]:
    """Lay all items on as few sheets as the search finds, and the last of them as free as it finds.

    room: (width, height) of a sheet inside its margins, mm; each item must fit an empty one. pieces: rooms of
    the first sheets where they differ (offcuts). fixed: areas that already lie on a sheet.
    fewest: no result can have fewer sheets. Deterministic for the same input. Raises CancelledError where the work
    was given up.

    >>> from shapely.geometry import box
    >>> items = [Item(key, box(0, 0, 60, 40), (0, 1)) for key in range(3)]
    >>> [(placed.key, placed.sheet) for placed in nest(items, (130.0, 90.0))]
    [(0, 0), (1, 0), (2, 0)]
    """
    if not items:
        return ()
    best = search(
        Packer(items, room, pieces, fixed),
        lambda packing: _score(packing, items),
        steps=steps,
        fewest=fewest,
        progress=progress.part(0.0, 0.9),
    )
    laid = placed_of(best, items)
    free = [
        sheet for sheet, bed in enumerate(best.beds) if bed.area and sheet >= len(pieces) and sheet not in (fixed or {})
    ]
    free.sort(key=lambda sheet: best.beds[sheet].area)
    if free and len(best.used) > 1:
        # what fills the sheet least is not what leaves most of it in one piece: lay the last sheet again
        laid = _laid_again(laid, free[0], items, room, left_over(best.beds[free[0]]), steps // 4 + 1)
    progress.tell(1.0)
    return tuple(sorted(laid, key=lambda placed: (placed.sheet, placed.key)))


def _laid_again(
    laid: list[PlacedItem], sheet: int, items: Sequence[Item], room: tuple[float, float], least: float, steps: int
) -> list[PlacedItem]:
    """Lay the items of one sheet again where that leaves more of it than ``least``, mm^2, in one piece."""
    there = {placed.key for placed in laid if placed.sheet == sheet}
    rest = [item for item in items if item.key in there]
    again = search(Packer(rest, room), lambda packing: (len(packing.used), -left_over(packing.used[0])), steps=steps)
    if len(again.used) > 1 or left_over(again.used[0]) <= least:
        return laid
    kept = [placed for placed in laid if placed.sheet != sheet]
    return [*kept, *(replace(placed, sheet=sheet) for placed in placed_of(again, rest))]


def placed_of(packing: Packing, items: Sequence[Item]) -> list[PlacedItem]:
    """Return where the items of a packing lie, as their owners see it."""
    laid = []
    for index, sheet, shape, x, y in packing.laid:
        place = np.array([y, x] if packing.transposed else [x, y])
        back = shape.transposed() if packing.transposed else shape
        laid.append(PlacedItem(items[index].key, sheet, shape.quarter, place + back.origin))
    return laid


@dataclass(slots=True)
class _Try:
    """A packing with its score (the least is the best) and how it came about."""

    score: tuple[float, ...]
    packing: Packing
    order: list[int]
    rule: Rule


def search(
    packer: Packer,
    score_of: Callable[[Packing], tuple[float, ...]],
    *,
    steps: int,
    fewest: int = 1,
    both_ways: bool = True,
    progress: Progress = SILENT,
) -> Packing:
    """Return the packing with the least score that the steps allow to find.

    A score begins with the number of sheets; none has fewer than ``fewest``. both_ways: fill sheets from below
    as well as from the left. Raises CancelledError where the work was given up.
    """
    starts = [
        (sorted(range(len(packer.items)), key=_key(packer.items, order)), rule, transposed)
        for order in _ORDERS
        for rule in _RULES
        for transposed in ((False, True) if both_ways else (False,))
    ]
    limit, steps = _MORE * steps, min(steps, _STEPS_EACH * len(packer.items))
    order, rule, transposed = starts[0]
    packing = packer.pack(order, rule, transposed, progress=progress.part(0.0, _FIRST))
    best = _Try(score_of(packing), packing, order, rule)
    chance = random.Random(1)
    tried: set[tuple[object, ...]] = {(*order, rule, transposed)}
    enough = min(_IDLE, 2 * len(packer.items))
    spent, idle, count, done = packing.steps, 0, 1, _FIRST
    many = spent >= steps
    if many:
        several = [start for start in starts if start[1] is _RULES[1] and not start[2]]
        steps, starts = limit, several if len(packer.items) <= MASS else several[:2]
    while spent < steps and idle < enough and (count < _ENOUGH or best.score[0] > 1):
        like = None
        if count < len(starts) and (count < _STARTS or best.score[0] > fewest):
            order, rule, transposed = starts[count]
        elif many:
            break
        else:
            idle += 1
            order, rule, transposed = _shuffled(best, chance), best.rule, best.packing.transposed
            like = (best.packing, best.order)
        count += 1
        if (name := (*order, rule, transposed)) in tried:
            continue
        tried.add(name)
        packing = packer.pack(order, rule, transposed, like=like, progress=progress.part(done, done))
        spent += packing.steps
        score = score_of(packing)
        if score < best.score:
            best, idle = _Try(score, packing, order, rule), 0
        done = _FIRST + (1 - _FIRST) * min(1.0, spent / steps)
    return best.packing


def _key(items: Sequence[Item], order: _Order) -> Callable[[int], tuple[float, ...]]:
    return lambda index: order(items[index])


def _shuffled(best: _Try, chance: random.Random) -> list[int]:
    """Move a few parts to other places in the order, mostly such of the last sheet to the front."""
    moved = list(best.order)
    last = min(best.packing.used, key=lambda bed: bed.area)
    on_last = [index for index, sheet, *_ in best.packing.laid if best.packing.beds[sheet] is last]
    for _ in range(chance.randint(1, 3)):
        if on_last and chance.random() < 0.6:
            part = chance.choice(on_last)
            place = moved.index(part)
            moved.insert(chance.randint(0, place), moved.pop(place))
        else:
            moved.insert(chance.randrange(len(moved)), moved.pop(chance.randrange(len(moved))))
    return moved


def _score(packing: Packing, items: Sequence[Item]) -> tuple[float, ...]:
    """Return (sheets, area on the last sheet, room not left over there, pairs cut against their stages)."""
    used = packing.used
    last = min(used, key=lambda bed: bed.area)
    return len(used), round(last.area, 3), -round(left_over(last), 3), _against(packing, items)


def left_over(bed: Bed) -> float:
    """Return the area of the largest piece that one straight cut parts from the sheet, mm^2."""
    width, height = bed.size
    reach_x, reach_y = float(bed.upright[:, 1].max()), float(bed.upright[:, 4:].max())
    return max((width - reach_x) * height, (height - reach_y) * width)


def _against(packing: Packing, items: Sequence[Item]) -> int:
    """Count the pairs of parts on different sheets of which the one of the later stage is cut first."""
    held: dict[int, list[int]] = {}
    for index, sheet, *_ in packing.laid:
        held.setdefault(sheet, []).append(items[index].stage)
    against = 0
    before: Counter[int] = Counter()
    for stages in sorted(held.values(), key=lambda stages: sum(stages) / len(stages)):
        here = Counter(stages)
        against += sum(n * m for early, n in here.items() for late, m in before.items() if late > early)
        before += here
    return against
