"""One filling: blanks laid on sheets in a given order, each where the first sheet has a place for it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..progress import SILENT, Progress
from ..tolerance import LENGTH
from .bed import Bed
from .bed_map import Stamp, stamp
from .outline_fit import Shape, slices, turned_shapes

__all__ = ["MASS", "Blank", "Filler", "Filling", "Rule", "Way"]

#: The map of a sheet has about this many cells, on a sheet of 600 by 300 mm one every 3.5 mm: finer maps
#: offer fewer false places but take longer to search than it takes to measure those.
_CELLS = 15_000

#: ... and up to this many where most parts are so narrow that fewer than this many cells lie across them.
_MOST_CELLS = 60_000
_ACROSS = 7

#: What it takes to put a part in its place, in shifts of a map.
_PUT = 60

#: With more sheets than this open, only the latest are tried: thousands of parts must not take for ever.
_OPEN_SHEETS = 40

#: With more parts than this they are laid by the hundred: a sheet that refused so many parts one after the other
#: is left alone until parts come that are smaller by so much.
MASS = 400
_REFUSALS = 8
_SMALLER = 0.8

#: How the turn of a part is chosen, given the lower left corner and the size of its box; the least wins.
Rule = Callable[[float, float, float, float], tuple[float, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Blank:
    """What a part needs on its sheet: an area, part frame, mm (half the spacing is in it), turns, cutting stage."""

    key: int
    area: shapely.Geometry
    quarters: tuple[int, ...]
    stage: int = 1

    @property
    def sides(self) -> tuple[float, float]:
        """Width and height of the area's box, mm."""
        x0, y0, x1, y1 = self.area.bounds
        return x1 - x0, y1 - y0


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One way a blank may lie: its shape, the shape's stamp, and a number that equal shapes share."""

    number: int
    shape: Shape
    mark: Stamp


@dataclass(slots=True)
class Filling:
    """Beds and what was laid on them: (blank, sheet, shape, x, y); transposed: x and y are exchanged.

    steps: what the work took, in shifts of a map. states: the beds before each blank, to go on from there.
    """

    transposed: bool
    beds: list[Bed] = field(default_factory=list)
    laid: list[tuple[int, int, Shape, float, float]] = field(default_factory=list)
    steps: int = 0
    states: list[list[Bed]] = field(default_factory=list)

    @property
    def used(self) -> list[Bed]:
        """The beds on which something lies."""
        return [bed for bed in self.beds if len(bed.upright)]


class Filler:
    """The blanks of one stock and the rooms they may lie in.

    room: of a whole sheet; pieces: rooms of the first sheets where they differ; fixed: areas that lie there already.
    """

    def __init__(
        self,
        blanks: Sequence[Blank],
        room: tuple[float, float],
        pieces: Sequence[tuple[float, float]] = (),
        fixed: Mapping[int, Sequence[shapely.Geometry]] | None = None,
    ) -> None:
        self.blanks = tuple(blanks)
        self._room, self._pieces = room, tuple(pieces)
        small = sorted(min(blank.sides) for blank in blanks)[len(blanks) // 2]
        fine, coarse = (math.sqrt(room[0] * room[1] / cells) for cells in (_MOST_CELLS, _CELLS))
        self._cell = min(coarse, max(fine, small / _ACROSS))
        self._fixed = {
            sheet: [(slices(area), slices(_exchanged(area)), area.area) for area in areas]
            for sheet, areas in sorted((fixed or {}).items())
        }
        self._ready = max([len(self._pieces), *(sheet + 1 for sheet in self._fixed)])
        self._boxes = sorted({(min(blank.sides), max(blank.sides)) for blank in self.blanks})
        self._shapes: dict[bytes, tuple[Shape, ...]] = {}
        self._ways: dict[tuple[int, bool], tuple[Way, ...]] = {}
        self._marks: dict[bytes, tuple[int, Stamp]] = {}
        self._reopen = len(self.blanks) <= MASS

    def ways(self, index: int, transposed: bool) -> tuple[Way, ...]:
        """Return the ways in which a blank may lie; they are worked out when they are first asked for."""
        if (index, transposed) not in self._ways:
            blank = self.blanks[index]
            name = blank.area.wkb + bytes(blank.quarters)
            if name not in self._shapes:
                self._shapes[name] = turned_shapes(self._without_small_holes(blank.area), blank.quarters)
            ways = []
            for shape in self._shapes[name]:
                lying = shape.transposed() if transposed else shape
                trace = np.round(lying.upright, 4).tobytes()
                if trace not in self._marks:
                    self._marks[trace] = (len(self._marks), stamp(lying, self._cell))
                ways.append(Way(self._marks[trace][0], lying, self._marks[trace][1]))
            self._ways[index, transposed] = tuple(ways)
        return self._ways[index, transposed]

    def _without_small_holes(self, area: shapely.Geometry) -> shapely.Geometry:
        """Fill the holes in which no blank fits: they would only be looked at in vain."""
        parts = []
        for part in shapely.get_parts(area):
            holes = []
            for hole in part.interiors:
                x0, y0, x1, y1 = hole.bounds
                small, large = sorted((x1 - x0, y1 - y0))
                if any(box[0] <= small + LENGTH and box[1] <= large + LENGTH for box in self._boxes):
                    holes.append(hole)
            parts.append(Polygon(part.exterior, holes))
        return parts[0] if len(parts) == 1 else shapely.multipolygons(parts)

    def fill(
        self,
        order: Sequence[int],
        rule: Rule,
        transposed: bool,
        *,
        like: tuple[Filling, Sequence[int]] | None = None,
        progress: Progress = SILENT,
    ) -> Filling:
        """Lay the blanks in the order given, each on the first sheet that takes it.

        like: a filling by the same rule and the order it had; what both orders begin with is taken over.
        progress: told with every blank. Raises CancelledError where the work was given up.
        """
        filling, done = Filling(transposed), 0
        if like is not None and like[0].states:
            done = next((i for i, (a, b) in enumerate(zip(order, like[1], strict=True)) if a != b), len(order) - 1)
            filling.beds = [bed.copied() for bed in like[0].states[done]]
            filling.laid, filling.states = like[0].laid[:done], like[0].states[:done]
        else:
            for number in range(self._ready):
                self._open(filling, number)
        for number, index in enumerate(order[done:], done):
            progress.tell(number / len(order))
            if self._reopen:
                filling.states.append(list(filling.beds))
            self._lay(filling, index, rule)
        filling.steps += sum(bed.effort for bed in filling.beds) + _PUT * (len(order) - done)
        return filling

    def _lay(self, filling: Filling, index: int, rule: Rule) -> None:
        ways = self.ways(index, filling.transposed)
        area = self.blanks[index].area.area
        for sheet in range(max(0, len(filling.beds) - _OPEN_SHEETS), len(filling.beds) + 2):
            if sheet == len(filling.beds):
                self._open(filling, sheet)
            bed = filling.beds[sheet]
            if not self._reopen and bed.rests(area, _REFUSALS, _SMALLER):
                continue
            found = _place(bed, ways, rule)
            if found is None:
                bed.refusals += 1
                bed.refused_area = area
            else:
                bed.refusals = 0
                if self._reopen:  # the bed as it was belongs to the states
                    filling.steps += bed.effort
                    bed = filling.beds[sheet] = bed.copied()
                bed.put(*found)
                bed.area += area
                filling.laid.append((index, sheet, *found))
                return
        raise ValueError(f"blank {self.blanks[index].key} is larger than a sheet")

    def _open(self, filling: Filling, number: int) -> None:
        width, height = self._pieces[number] if number < len(self._pieces) else self._room
        bed = Bed((height, width) if filling.transposed else (width, height), self._cell)
        for upright, lying, area in self._fixed.get(number, ()):
            bed.take(*((lying, upright) if filling.transposed else (upright, lying)))
            bed.area += area
        filling.beds.append(bed)


def _exchanged(area: shapely.Geometry) -> shapely.Geometry:
    return shapely.transform(area, lambda points: points[:, ::-1])


def _place(bed: Bed, ways: Sequence[Way], rule: Rule) -> tuple[Shape, float, float] | None:
    """Return the shape and the place that the rule likes best; only the best one is measured."""
    seen = []
    for number, way in enumerate(ways):
        if way.number in bed.refused:
            continue
        free = bed.sight(way.shape, way.mark)
        if free:
            corner = next(bed.map.corners(free, 1))
            seen.append((tuple(round(v, 6) for v in rule(*corner, *way.shape.size)), number, free))
        else:
            bed.refused.add(way.number)
    for _, number, free in sorted(seen):
        way = ways[number]
        place = bed.settle(way.shape, way.mark, free)
        if place is not None:
            return way.shape, *place
        bed.refused.add(way.number)
    return None
