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
from dataclasses import dataclass, field

import numpy as np
import shapely

from ..errors import GeometryError
from .bed import Bed
from .bed_map import Stamp, stamp
from .outline_fit import Shape, slices, turned_shapes

__all__ = ["Blank", "Laid", "LayoutCancelledError", "nest"]


class LayoutCancelledError(GeometryError):
    """The layout was given up before every part had a place."""


#: The map of a sheet has about this many cells.
_CELLS = 60_000

#: Steps that the search may take, counted in shifts of such a map: about half a second.
_STEPS = 60_000

#: So many fillings that bring nothing end the search where the fewest sheets are reached.
_IDLE = 12

#: With more sheets than this open, only the latest are tried: thousands of parts must not take for ever.
_OPEN_SHEETS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Blank:
    """What a part needs on its sheet: an area, part frame, mm (half the spacing is in it), turns, cutting stage."""

    key: int
    area: shapely.Geometry
    quarters: tuple[int, ...]
    stage: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Where a blank lies: sheet, quarter turns about the origin of its frame, then (2,) shift in the room's frame."""

    key: int
    sheet: int
    quarter: int
    shift: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """A blank's shapes for one way of filling, with their stamps and numbers (equal shapes have equal numbers)."""

    key: int
    stage: int
    area: float
    sides: tuple[float, float]
    ways: tuple[tuple[int, Shape, Stamp], ...]


_Turn = Callable[[float, float, float, float], tuple[float, ...]]

#: How the turn of a part is chosen, given the lower left corner and the size of its box.
_RULES: tuple[_Turn, ...] = (
    lambda x, y, w, h: (x + w, y + h),
    lambda x, y, w, h: (x, y, w),
    lambda x, y, w, h: (x, h, y),
)

_Order = Callable[[_Cut], tuple[float, ...]]

_ORDERS: tuple[_Order, ...] = (
    lambda cut: (-max(cut.sides), -cut.area, cut.stage, cut.key),
    lambda cut: (-cut.area, cut.stage, cut.key),
    lambda cut: (-cut.sides[0] * cut.sides[1], cut.stage, cut.key),
    lambda cut: (-min(cut.sides), -cut.area, cut.stage, cut.key),
    lambda cut: (-sum(cut.sides), -cut.area, cut.stage, cut.key),
)


@dataclass(slots=True)
class _Filling:
    """Beds with what was laid on them: key, number of the way it was turned, place; transposed: x and y exchanged."""

    transposed: bool
    beds: list[Bed] = field(default_factory=list)
    laid: list[tuple[int, int, Shape, float, float]] = field(default_factory=list)
    effort: int = 0


class _Search:
    """The blanks of one stock, the rooms they may lie in, and the steps that are left."""

    def __init__(
        self,
        blanks: Sequence[Blank],
        room: tuple[float, float],
        pieces: Sequence[tuple[float, float]],
        fixed: Mapping[int, Sequence[shapely.Geometry]],
    ) -> None:
        self.room, self.pieces = room, tuple(pieces)
        self.cell = math.sqrt(room[0] * room[1] / _CELLS)
        self.fixed = {
            sheet: [(slices(area), slices(_exchanged(area)), area.area) for area in areas]
            for sheet, areas in sorted(fixed.items())
        }
        self.fixed_sheets = max(self.fixed, default=-1) + 1
        self.cuts: tuple[list[_Cut], list[_Cut]] = ([], [])
        numbers: dict[bytes, int] = {}
        for blank in blanks:
            shapes = turned_shapes(blank.area, blank.quarters)
            x0, y0, x1, y1 = blank.area.bounds
            for transposed in (0, 1):
                ways = []
                for shape in (each.transposed() if transposed else each for each in shapes):
                    print_ = np.round(shape.upright, 4).tobytes()
                    ways.append((numbers.setdefault(print_, len(numbers)), shape, stamp(shape, self.cell)))
                sides = (x1 - x0, y1 - y0)
                self.cuts[transposed].append(_Cut(blank.key, blank.stage, blank.area.area, sides, tuple(ways)))

    def fill(
        self, order: Sequence[int], rule: _Turn, transposed: bool, cancelled: Callable[[], bool] = lambda: False
    ) -> _Filling:
        """Lay the cuts in the order given, each on the first sheet that takes it."""
        filling = _Filling(transposed)
        cuts = self.cuts[transposed]
        for number in range(max(self.fixed_sheets, len(self.pieces))):
            self._open(filling, number)
        for index in order:
            if cancelled():
                raise LayoutCancelledError("The layout was given up before every part had a place")
            cut = cuts[index]
            sheet = max(0, len(filling.beds) - _OPEN_SHEETS)
            while True:
                if sheet == len(filling.beds):
                    self._open(filling, sheet)
                found = _place(filling.beds[sheet], cut, rule)
                if found is not None:
                    shape, x, y = found
                    filling.beds[sheet].put(shape, x, y)
                    filling.beds[sheet].area += cut.area
                    filling.laid.append((index, sheet, shape, x, y))
                    break
                sheet += 1
                if sheet > len(filling.beds):
                    raise ValueError(f"blank {cut.key} is larger than a sheet")
        filling.effort = sum(bed.effort for bed in filling.beds)
        return filling

    def _open(self, filling: _Filling, number: int) -> None:
        width, height = self.pieces[number] if number < len(self.pieces) else self.room
        bed = Bed((height, width) if filling.transposed else (width, height), self.cell)
        for upright, lying, area in self.fixed.get(number, ()):
            bed.take(*((lying, upright) if filling.transposed else (upright, lying)))
            bed.area += area
        filling.beds.append(bed)


def _exchanged(area: shapely.Geometry) -> shapely.Geometry:
    return shapely.transform(area, lambda points: points[:, ::-1])


def _place(bed: Bed, cut: _Cut, rule: _Turn) -> tuple[Shape, float, float] | None:
    """Return the turn and the place that the rule likes best."""
    best: tuple[tuple[float, ...], Shape, float, float] | None = None
    for number, shape, mark in cut.ways:
        if number in bed.refused:
            continue
        place = bed.find(shape, mark)
        if place is None:
            bed.refused.add(number)
            continue
        score = tuple(round(value, 6) for value in rule(*place, *shape.size))
        if best is None or score < best[0]:
            best = (score, shape, *place)
    return best[1:] if best is not None else None


def nest(
    blanks: Sequence[Blank],
    room: tuple[float, float],
    *,
    pieces: Sequence[tuple[float, float]] = (),
    fixed: Mapping[int, Sequence[shapely.Geometry]] | None = None,
    fewest: int = 1,
    steps: int = _STEPS,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[Laid, ...]:
    """Lay all blanks on as few sheets as the search finds, and the last of them as free as it finds.

    room: (width, height) of a sheet inside its margins, mm; each blank must fit an empty one. pieces: rooms of
    the first sheets where they differ (left-over pieces). fixed: areas that already lie on a sheet.
    fewest: no result can have fewer sheets. Deterministic for the same input.
    """
    if not blanks:
        return ()
    search = _Search(blanks, room, pieces, fixed or {})
    best = _best_filling(search, fewest, steps, progress or (lambda _: None), cancelled or (lambda: False))
    laid = []
    for index, sheet, shape, x, y in best.laid:
        place = np.array([y, x] if best.transposed else [x, y])
        back = shape.transposed() if best.transposed else shape
        laid.append(Laid(blanks[index].key, sheet, shape.quarter, place + back.origin))
    return tuple(sorted(laid, key=lambda each: (each.sheet, each.key)))


def _best_filling(
    search: _Search, fewest: int, steps: int, progress: Callable[[float], None], cancelled: Callable[[], bool]
) -> _Filling:
    chance = random.Random(1)
    best: tuple[tuple[float, ...], _Filling, list[int], _Turn] | None = None
    spent = 0
    starts = [
        (sorted(range(len(search.cuts[0])), key=lambda i: order(search.cuts[0][i])), rule, transposed)
        for order in _ORDERS
        for rule in _RULES
        for transposed in (False, True)
    ]
    number = 0
    idle = 0
    while best is None or (spent < steps and (idle < _IDLE or (number < len(starts) and best[0][0] > fewest))):
        if number < len(starts):
            order, rule, transposed = starts[number]
        else:
            order, rule, transposed = _shuffled(best[2], chance), best[3], best[1].transposed
        number += 1
        try:
            filling = search.fill(order, rule, transposed, cancelled)
        except LayoutCancelledError:
            if best is None:
                raise
            break
        spent += filling.effort + 20 * len(order)
        score = _score(filling, search)
        idle += 1
        if best is None or score < best[0]:
            best, idle = (score, filling, order, rule), 0
        progress(min(1.0, spent / steps))
    progress(1.0)
    return best[1]


def _shuffled(order: Sequence[int], chance: random.Random) -> list[int]:
    """Move a few parts to other places in the order."""
    moved = list(order)
    for _ in range(chance.randint(1, 3)):
        moved.insert(chance.randrange(len(moved)), moved.pop(chance.randrange(len(moved))))
    return moved


def _score(filling: _Filling, search: _Search) -> tuple[float, ...]:
    """Return (sheets, room not left over on the last sheet, pairs cut against their stages, area on the last)."""
    used = [bed for bed in filling.beds if len(bed.upright)]
    last = min(used, key=lambda bed: bed.area)
    width, height = last.size
    reach_x, reach_y = float(last.upright[:, 1].max()), float(last.upright[:, 4:].max())
    left_over = max((width - reach_x) * height, (height - reach_y) * width)
    return len(used), -round(left_over, 3), _against(filling, search), round(last.area, 3)


def _against(filling: _Filling, search: _Search) -> int:
    """Count the pairs of parts on different sheets of which the one of the later stage is cut first."""
    held: dict[int, list[int]] = {}
    for index, sheet, *_ in filling.laid:
        held.setdefault(sheet, []).append(search.cuts[0][index].stage)
    against = 0
    before: Counter[int] = Counter()
    for stages in sorted(held.values(), key=lambda stages: sum(stages) / len(stages)):
        here = Counter(stages)
        against += sum(n * m for early, n in here.items() for late, m in before.items() if late > early)
        before += here
    return against
