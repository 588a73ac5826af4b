"""One sheet while it is being filled: what lies on it, and where the next part may lie.

A place is found on the coarse map and then measured: from just beside the place that the map offers the
part is pushed down and to the left until it touches, so nothing of the map's coarseness stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import islice

import numpy as np

from ..tolerance import LENGTH
from .bed_map import BedMap, Stamp
from .outline_fit import Shape, free_spans

__all__ = ["Bed"]

#: So many places of the map are measured before a part is taken not to fit: false ones are rare.
_TRIES = 6

#: A part is pushed down and left so many times at most; it comes to rest after one or two.
_PUSHES = 4


@dataclass(slots=True)
class Bed:
    """The room of one sheet, (width, height) mm inside its margins, with the shapes that lie on it.

    effort: how much work looking for places has been, in shifts of the map; refused: shapes that found none.
    """

    size: tuple[float, float]
    cell: float
    map: BedMap = field(init=False)
    upright: np.ndarray = field(default_factory=lambda: np.empty((0, 6)))
    lying: np.ndarray = field(default_factory=lambda: np.empty((0, 6)))
    area: float = 0.0
    effort: int = 0
    refused: set[int] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.map = BedMap(self.size, self.cell)

    def take(self, upright: np.ndarray, lying: np.ndarray) -> None:
        """Put slices in the sheet's frame, over x and over y, where they say."""
        self.upright = np.concatenate([self.upright, upright])
        self.lying = np.concatenate([self.lying, lying])
        self.map.take(upright)

    def put(self, shape: Shape, x: float, y: float) -> None:
        """Put a shape with the lower left corner of its box at (x, y)."""
        self.take(shape.upright + np.array([x, x, y, y, y, y]), shape.lying + np.array([y, y, x, x, x, x]))

    def copied(self) -> Bed:
        """Return a bed as full as this one, to be filled on in another way."""
        bed = Bed(self.size, self.cell)
        bed.map.bits, bed.map.widened = self.map.bits, self.map.widened
        bed.upright, bed.lying, bed.area, bed.refused = self.upright, self.lying, self.area, set(self.refused)
        return bed

    def sight(self, shape: Shape, mark: Stamp) -> list[tuple[float, float]]:
        """Return the first places, left to right and upward, where the map offers room for the shape's box."""
        width, height = (room - side for room, side in zip(self.size, shape.size, strict=True))
        if min(width, height) < -LENGTH:
            return []
        if len(self.upright) == 0:
            return [(0.0, 0.0)]
        self.effort += mark.effort
        return list(islice(self.map.corners(self.map.free(mark, shape.size)), _TRIES))

    def settle(self, shape: Shape, places: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
        """Return where the lower left corner of the shape's box comes to rest, from the first place that holds it."""
        if len(self.upright) == 0:
            return places[0] if places else None
        room = (max(self.size[0] - shape.size[0], 0.0), max(self.size[1] - shape.size[1], 0.0))
        for x, y in places:
            self.effort += 10
            place = self._settle(shape, min(x, room[0]), min(y, room[1]), room)
            if place is not None:
                return place
        return None

    def _settle(self, shape: Shape, x: float, y: float, room: tuple[float, float]) -> tuple[float, float] | None:
        """Return the measured place near (x, y), pushed down and left; None where there is none within a cell."""
        near = self.cell / 2 + LENGTH
        across = min(x + self.cell / 2, room[0])
        up = _nearest(free_spans(shape.upright, across, self.upright, 0.0, room[1]), y - near, y + 2 * near)
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
