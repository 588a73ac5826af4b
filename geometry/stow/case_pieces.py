"""Case boards larger than any sheet: where they are parted, and what holds the pieces together.

A plate that is glued from two layers needs nothing more: the seams of one layer lie away from those of
the other. A wall gets a lap, a strip glued over its seam from inside.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from shapely.geometry import Polygon, box

from ..polygons import polygons_in
from ..tolerance import AREA, LENGTH

__all__ = ["Seams", "fits", "part_outline", "seams"]

#: Seams of two layers nearer than this hold too little glue between them, mm (common practice, no source).
_STAGGER = 30.0

#: Nobody carries a case of more pieces along one side (common practice, no source).
_MOST = 6


@dataclass(frozen=True, slots=True)
class Seams:
    """Where a board is parted, mm from the lower left corner of its outline: at these x and at these y."""

    along: tuple[float, ...] = ()
    across: tuple[float, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.along or self.across)


def fits(size: tuple[float, float], largest: tuple[float, float]) -> bool:
    """Tell whether a board of this size, mm, fits the largest piece, turned if need be."""
    return min(size) <= min(largest) + LENGTH and max(size) <= max(largest) + LENGTH


def seams(
    size: tuple[float, float],
    largest: tuple[float, float],
    *,
    places: tuple[Sequence[float], Sequence[float]] | None = None,
    apart: Seams | None = None,
) -> Seams:
    """Return the fewest seams that leave only pieces that fit, none for a board that fits as it is.

    size: of the board. largest: (length, width) of the biggest piece that stock and laser take. places: x and y where
    a seam may lie; anywhere where None. apart: seams of the other layer, from which these keep away. All mm.
    A board that no seams help (a wall with no place across) gets none.
    """
    if fits(size, largest):
        return Seams()
    choices = []
    for limits in (largest, largest[::-1]):
        cuts = [
            _cuts(size[axis], limits[axis], places[axis] if places is not None else None, other)
            for axis, other in enumerate((apart.along, apart.across) if apart is not None else ((), ()))
        ]
        if cuts[0] is not None and cuts[1] is not None:
            choices.append(Seams(cuts[0], cuts[1]))
    return min(choices, key=lambda choice: (len(choice.along) + 1) * (len(choice.across) + 1), default=Seams())


def _cuts(run: float, limit: float, places: Sequence[float] | None, apart: Sequence[float]) -> tuple[float, ...] | None:
    """Return the fewest places that leave pieces no longer than ``limit``, None where there are none, mm."""
    if run <= limit + LENGTH:
        return ()
    for count in range(math.ceil((run - LENGTH) / limit), _MOST + 1):
        # even pieces first; the other layer's seams push these toward one end as far as the sheet allows
        for push in (0.0, min(run / (2 * count), limit - run / count)):
            aims = [run * k / count + push for k in range(1, count)]
            cuts = [aim if places is None else min(places, key=lambda at: abs(at - aim), default=0.0) for aim in aims]
            steps = np.diff([0.0, *cuts, run])
            near = min((abs(cut - other) for cut in cuts for other in apart), default=math.inf)
            if steps.min() > LENGTH and steps.max() <= limit + LENGTH and near >= _STAGGER:
                return tuple(cuts)
    return None


def part_outline(outline: Polygon, at: Seams) -> list[Polygon]:
    """Return the pieces of an outline between seams, from left to right and then from below upward."""
    x0, y0, x1, y1 = outline.bounds
    xs = [x0 - 1.0, *(x0 + x for x in at.along), x1 + 1.0]
    ys = [y0 - 1.0, *(y0 + y for y in at.across), y1 + 1.0]
    pieces = []
    for low, high in pairwise(ys):
        for left, right in pairwise(xs):
            pieces += polygons_in(outline.intersection(box(left, low, right, high)), above=AREA)
    return pieces
