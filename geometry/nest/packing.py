"""One packing: items laid on sheets in a given order, each where the first sheet has a place for it."""

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
from .outline_fit import Box, Shape, slices, turned_shapes

__all__ = ["MASS", "Item", "Orientation", "Packer", "Packing", "Rule"]

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
class Item:
    """What a part needs on its sheet: an area, part frame, mm (half the spacing is in it), turns, cutting stage.

    in_waste: whether it goes into holes of what lies there before it takes new board.
    """

    key: int
    area: shapely.Geometry
    quarters: tuple[int, ...]
    stage: int = 1
    in_waste: bool = False

    @property
    def sides(self) -> tuple[float, float]:
        """Width and height of the area's box, mm."""
        x0, y0, x1, y1 = self.area.bounds
        return x1 - x0, y1 - y0


@dataclass(frozen=True, slots=True, eq=False)
class Orientation:
    """One way an item may lie: its shape, the shape's stamp, and a number that equal shapes share."""

    number: int
    shape: Shape
    mark: Stamp


@dataclass(slots=True)
class Packing:
    """Beds and what was laid on them: (item, sheet, shape, x, y); transposed: x and y are exchanged.

    steps: what the work took, in shifts of a map. states: the beds before each item, to go on from there.
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


class Packer:
    """The items of one stock and the rooms they may lie in.

    room: of a whole sheet; pieces: rooms of the first sheets where they differ; fixed: areas that lie there already.
    """

    def __init__(
        self,
        items: Sequence[Item],
        room: tuple[float, float],
        pieces: Sequence[tuple[float, float]] = (),
        fixed: Mapping[int, Sequence[shapely.Geometry]] | None = None,
    ) -> None:
        self.items = tuple(items)
        self._room, self._pieces = room, tuple(pieces)
        small = sorted(min(item.sides) for item in items)[len(items) // 2]
        fine, coarse = (math.sqrt(room[0] * room[1] / cells) for cells in (_MOST_CELLS, _CELLS))
        self._cell = min(coarse, max(fine, small / _ACROSS))
        self._fixed = {
            sheet: [(slices(area), slices(_exchanged(area)), area.area, _holes(area)) for area in areas]
            for sheet, areas in sorted((fixed or {}).items())
        }
        self._ready = max([len(self._pieces), *(sheet + 1 for sheet in self._fixed)])
        self._boxes = sorted({(min(item.sides), max(item.sides)) for item in self.items})
        self._shapes: dict[bytes, tuple[Shape, ...]] = {}
        self._orientations: dict[tuple[int, bool], tuple[Orientation, ...]] = {}
        self._marks: dict[bytes, tuple[int, Stamp]] = {}
        self._reopen = len(self.items) <= MASS

    def orientations(self, index: int, transposed: bool) -> tuple[Orientation, ...]:
        """Return the orientations in which an item may lie; they are worked out when they are first asked for."""
        if (index, transposed) not in self._orientations:
            item = self.items[index]
            name = item.area.wkb + bytes(item.quarters)
            if name not in self._shapes:
                self._shapes[name] = turned_shapes(self._without_small_holes(item.area), item.quarters)
            orientations = []
            for shape in self._shapes[name]:
                lying = shape.transposed() if transposed else shape
                trace = np.round(lying.upright, 4).tobytes()
                if trace not in self._marks:
                    self._marks[trace] = (len(self._marks), stamp(lying, self._cell))
                orientations.append(Orientation(self._marks[trace][0], lying, self._marks[trace][1]))
            self._orientations[index, transposed] = tuple(orientations)
        return self._orientations[index, transposed]

    def _without_small_holes(self, area: shapely.Geometry) -> shapely.Geometry:
        """Fill the holes in which no item fits: they would only be looked at in vain."""
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

    def pack(
        self,
        order: Sequence[int],
        rule: Rule,
        transposed: bool,
        *,
        like: tuple[Packing, Sequence[int]] | None = None,
        progress: Progress = SILENT,
    ) -> Packing:
        """Lay the items in the order given, each on the first sheet that takes it.

        like: a packing by the same rule and the order it had; what both orders begin with is taken over.
        progress: told with every item. Raises CancelledError where the work was given up.
        """
        packing, done = Packing(transposed), 0
        if like is not None and like[0].states:
            done = next((i for i, (a, b) in enumerate(zip(order, like[1], strict=True)) if a != b), len(order) - 1)
            packing.beds = [bed.copied() for bed in like[0].states[done]]
            packing.laid, packing.states = like[0].laid[:done], like[0].states[:done]
        else:
            for number in range(self._ready):
                self._open(packing, number)
        for number, index in enumerate(order[done:], done):
            progress.tell(number / len(order))
            if self._reopen:
                packing.states.append(list(packing.beds))
            self._lay(packing, index, rule)
        packing.steps += sum(bed.effort for bed in packing.beds) + _PUT * (len(order) - done)
        return packing

    def _lay(self, packing: Packing, index: int, rule: Rule) -> None:
        orientations = self.orientations(index, packing.transposed)
        area = self.items[index].area.area
        if self.items[index].in_waste and self._lay_in_waste(packing, index, rule):
            return
        for sheet in range(max(0, len(packing.beds) - _OPEN_SHEETS), len(packing.beds) + 2):
            if sheet == len(packing.beds):
                self._open(packing, sheet)
            bed = packing.beds[sheet]
            if not self._reopen and bed.rests(area, _REFUSALS, _SMALLER):
                continue
            found = _place(bed, orientations, rule)
            if found is None:
                bed.refusals += 1
                bed.refused_area = area
            else:
                bed.refusals = 0
                self._put(packing, index, sheet, found)
                return
        raise ValueError(f"item {self.items[index].key} is larger than a sheet")

    def _lay_in_waste(self, packing: Packing, index: int, rule: Rule) -> bool:
        """Lay an item in a hole of what lies on the sheets, and tell whether one took it."""
        orientations = self.orientations(index, packing.transposed)
        for sheet in range(max(0, len(packing.beds) - _OPEN_SHEETS), len(packing.beds)):
            found = _place(packing.beds[sheet], orientations, rule, in_waste=True)
            if found is not None:
                self._put(packing, index, sheet, found)
                return True
        return False

    def _put(self, packing: Packing, index: int, sheet: int, found: tuple[Shape, float, float]) -> None:
        bed = packing.beds[sheet]
        if self._reopen:  # the bed as it was belongs to the states
            packing.steps += bed.effort
            bed = packing.beds[sheet] = bed.copied()
        bed.put(*found)
        bed.area += self.items[index].area.area
        packing.laid.append((index, sheet, *found))

    def _open(self, packing: Packing, number: int) -> None:
        width, height = self._pieces[number] if number < len(self._pieces) else self._room
        bed = Bed((height, width) if packing.transposed else (width, height), self._cell)
        for upright, lying, area, holes in self._fixed.get(number, ()):
            bed.take(*((lying, upright) if packing.transposed else (upright, lying)))
            bed.area += area
            bed.waste += tuple((y0, x0, y1, x1) for x0, y0, x1, y1 in holes) if packing.transposed else holes
        packing.beds.append(bed)


def _holes(area: shapely.Geometry) -> tuple[Box, ...]:
    """Return the boxes round the holes of an area."""
    return tuple(hole.bounds for part in shapely.get_parts(area) for hole in part.interiors)


def _exchanged(area: shapely.Geometry) -> shapely.Geometry:
    return shapely.transform(area, lambda points: points[:, ::-1])


def _place(
    bed: Bed, orientations: Sequence[Orientation], rule: Rule, *, in_waste: bool = False
) -> tuple[Shape, float, float] | None:
    """Return the shape and the place that the rule likes best; only the best one is measured.

    in_waste: only places in holes of what lies there count.
    """
    seen = []
    for number, orientation in enumerate(orientations):
        if orientation.number in bed.refused:
            continue
        free = bed.sight(orientation.shape, orientation.mark)
        if in_waste:
            free = bed.in_waste(orientation.shape, free)
        if free:
            corner = next(bed.map.corners(free, 1))
            seen.append((tuple(round(v, 6) for v in rule(*corner, *orientation.shape.size)), number, free))
        elif not in_waste:
            bed.refused.add(orientation.number)
    for _, number, free in sorted(seen):
        orientation = orientations[number]
        place = bed.settle(orientation.shape, orientation.mark, free, bars=not in_waste)
        if place is not None and (not in_waste or bed.holds_in_waste(orientation.shape, *place)):
            return orientation.shape, *place
        if not in_waste:
            bed.refused.add(orientation.number)
    return None
