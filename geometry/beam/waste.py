"""Waste within a part's own box: notches and openings where something small may be engraved at no cost."""

from __future__ import annotations

import shapely
from shapely.geometry import Polygon, box

from ..nest.bed import Bed
from ..nest.bed_map import stamp
from ..nest.outline_fit import slices, turned_shapes

__all__ = ["own_waste"]

#: Cell of the map on which a place is looked for, mm: letters are 2.5 mm high.
_CELL = 1.5


def own_waste(outline: Polygon, size: tuple[float, float], gap: float) -> tuple[float, float] | None:
    """Return the lower left corner of a place of ``size`` (width, height) in the outline's notches or holes.

    The place lies within the outline's box, ``gap`` or more from the wood, as far left and then as low as it
    goes; None where the part has none. All in the part frame, mm.
    """
    x0, y0, x1, y1 = outline.bounds
    if (x1 - x0) * (y1 - y0) - outline.area < size[0] * size[1]:
        return None
    wood = shapely.intersection(shapely.buffer(outline, gap, join_style="mitre"), box(x0, y0, x1, y1))
    wood = shapely.transform(wood, lambda points: points - [x0, y0])
    bed = Bed((x1 - x0, y1 - y0), _CELL)
    bed.take(slices(wood), slices(shapely.transform(wood, lambda points: points[:, ::-1])))
    label = turned_shapes(box(0.0, 0.0, *size), (0,))[0]
    mark = stamp(label, _CELL)
    place = bed.settle(label, mark, bed.sight(label, mark))
    return None if place is None else (place[0] + x0, place[1] + y0)
