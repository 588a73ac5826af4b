"""One sheet while it is being filled: what lies on it, and where the next part may lie.

A place is found on the coarse map and then measured: from just beside the place that the map offers the
part is pushed down and to the left until it touches, so nothing of the map's coarseness stays.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ..tolerance import LENGTH
from .bed_map import BedMap, Stamp
from .outline_fit import Box, Shape, free_spans

__all__ = ["Bed"]

#: So many columns of the map are measured one by one before the search for a place takes longer steps.
_TRIES = 10

#: A part is pushed down and left so many times at most; it comes to rest after one or two.
_PUSHES = 4


@dataclass(slots=True)
class Bed:
    """The room of one sheet, (width, height) mm inside its margins, with the shapes that lie on it.

    effort: how much work looking for places has been, in shifts of the map; refused: shapes that found none;
    barred: maps of the columns in which a stamp's shape found none. refusals: how many parts found no place since
    the last one that did; refused_area: area of the last of them, mm^2. waste: boxes round the holes of what lies here.
    """

    size: tuple[float, float]
    cell: float
    map: BedMap = field(init=False)
    upright: np.ndarray = field(default_factory=lambda: np.empty((0, 6)))
    lying: np.ndarray = field(default_factory=lambda: np.empty((0, 6)))
    area: float = 0.0
    effort: int = 0
    refused: set[int] = field(default_factory=set)
    barred: dict[Stamp, int] = field(default_factory=dict)
    refusals: int = 0
    refused_area: float = 0.0
    waste: tuple[Box, ...] = ()

    def __post_init__(self) -> None:
        self.map = BedMap(self.size, self.cell)

    def take(self, upright: np.ndarray, lying: np.ndarray) -> None:
        """Put slices in the sheet's frame, over x and over y, where they say."""
        self.upright = np.concatenate([self.upright, upright])
        self.lying = np.concatenate([self.lying, lying])
        self.map.take(upright)

    def put(self, shape: Shape, x: float, y: float) -> None:
        """Put a shape with the lower left corner of its box at (x, y)."""
        self.waste += tuple((x + x0, y + y0, x + x1, y + y1) for x0, y0, x1, y1 in shape.holes)
        self.take(shape.upright + np.array([x, x, y, y, y, y]), shape.lying + np.array([y, y, x, x, x, x]))

    def rests(self, area: float, refusals: int, smaller: float) -> bool:
        """Tell whether a part of this area need not be tried, after so many refusals of parts not much larger."""
        return self.refusals >= refusals and area > smaller * self.refused_area

    def copied(self) -> Bed:
        """Return a bed as full as this one, to be filled on in another way."""
        bed = Bed(self.size, self.cell)
        bed.map.bits, bed.map.widened = self.map.bits, self.map.widened
        bed.upright, bed.lying, bed.area = self.upright, self.lying, self.area
        bed.refused, bed.barred = set(self.refused), dict(self.barred)
        bed.waste = self.waste
        return bed

    def sight(self, shape: Shape, mark: Stamp) -> int:
        """Return the map of the places that it offers to the shape's box; 0 where there is none."""
        width, height = (room - side for room, side in zip(self.size, shape.size, strict=True))
        if min(width, height) < -2 * LENGTH:
            return 0
        if len(self.upright) == 0:
            return 1
        self.effort += mark.effort
        return self.map.free(mark, shape.size) & ~self.barred.get(mark, 0)

    def in_waste(self, shape: Shape, free: int) -> int:
        """Return what of a map of free places lies in holes of what lies here."""
        return free & self.map.within(self.waste, shape.size) if free and self.waste else 0

    def holds_in_waste(self, shape: Shape, x: float, y: float) -> bool:
        """Whether a shape with the lower left corner of its box at (x, y) lies in a hole of what lies here."""
        wide, high = shape.size
        return any(
            x0 - LENGTH <= x and y0 - LENGTH <= y and x + wide <= x1 + LENGTH and y + high <= y1 + LENGTH
            for x0, y0, x1, y1 in self.waste
        )

    def settle(self, shape: Shape, mark: Stamp, free: int, *, bars: bool = True) -> tuple[float, float] | None:
        """Return where the lower left corner of the shape's box comes to rest, from the first place that holds it.

        Columns in which it found no place are not offered to its like again, if ``bars``: a bed only gets fuller.
        """
        if len(self.upright) == 0:
            return (0.0, 0.0) if free else None
        room = (max(self.size[0] - shape.size[0], 0.0), max(self.size[1] - shape.size[1], 0.0))
        for x, y in self.map.corners(free, _TRIES):
            self.effort += 15 + len(shape.upright) * len(self.upright) // 60
            place = self._settle(shape, min(x, room[0]), min(y, room[1]), room)
            if place is not None:
                return place
            if bars:
                self.barred[mark] = self.barred.get(mark, 0) | self.map.column(x)
        return None

    def _settle(self, shape: Shape, x: float, y: float, room: tuple[float, float]) -> tuple[float, float] | None:
        """Return the measured place near x, from y upward, pushed down and left; None where there is none."""
        near = self.cell / 2 + LENGTH
        across = min(x + self.cell / 2, room[0])
        up = _nearest(free_spans(shape.upright, across, self.upright, 0.0, room[1]), y - near, room[1])
        if up is not None:
            x, y = across, up
        else:
            above = min(y + self.cell / 2, room[1])
            right = _nearest(free_spans(shape.lying, above, self.lying, 0.0, room[0]), x - near, x + 2 * near)
            if right is None:
                return None
            x, y = right, above
        for _ in range(_PUSHES):
            before = y
            x = _lowest(free_spans(shape.lying, y, self.lying, 0.0, room[0]), x)
            y = _lowest(free_spans(shape.upright, x, self.upright, 0.0, room[1]), y)
            if before - y <= LENGTH:
                break
        return x, y


def _nearest(spans: np.ndarray, least: float, most: float) -> float | None:
    """Return the lowest free value from least to most."""
    for low, high in spans.tolist():
        if high >= least and low <= most:
            return float(max(low, least, 0.0))
    return None


def _lowest(spans: np.ndarray, here: float) -> float:
    """Return how low one can go from here without meeting anything."""
    for low, high in spans.tolist():
        if low - LENGTH <= here <= high + LENGTH:
            return float(low)
    return here
