"""Order of cutting, and how long it takes.

While a part still hangs in its sheet it lies flat and cannot tip into the beam. So everything
inside it comes first: engraving, scores, slits, holes; its outline last. Parts follow one another
by stage, then to whichever is nearest, so that the head travels little.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from ..board.stock import Stock
from ..flat.part import Part
from .kerf import draw_part
from .laser import Laser, Operation
from .layout import Layout, Placement
from .lettering import Label, place_label
from .lines import Lines

__all__ = ["cutting_order", "estimate_seconds", "path_lines", "sheet_lines"]

#: More lines than this keep the order in which they were drawn: hatching comes in good order, and
#: looking for the nearest of so many takes longer than it saves.
_NEAREST_LIMIT = 500


def path_lines(
    part: Part, placement: Placement, kerf: float, laser: Laser, *, label: Label | None = None
) -> dict[Operation, list[Lines]]:
    """Return what is drawn for one part on its sheet, per operation in cutting order, sheet frame, mm.

    Engraving (with the label, placed here unless given) and scores are one compound path each, slits one
    per lattice; each hole and the outline are a path of their own.
    """
    drawn = draw_part(part, kerf)
    label = label or place_label(part, laser)
    lines = {
        Operation.ENGRAVE: [Lines.of(part.engrave), Lines.of(label.strokes)],
        Operation.SCORE: [Lines.of(part.score)],
        Operation.SLITS: list(drawn.slits),
        Operation.INNER: drawn.inner.singly(),
        Operation.OUTER: [drawn.outer],
    }
    return {
        operation: [each.moved(placement.place(each.points)) for each in several if len(each)]
        for operation, several in lines.items()
    }


def cutting_order(layout: Layout, index: int, parts: Mapping[str, Part]) -> tuple[Placement, ...]:
    """Return the placements of sheet ``index`` by stage, each followed by the nearest of its stage.

    The head starts at the lower left corner of the sheet; parts are ``parts`` by id.
    """
    here = [each for each in layout.placements if each.sheet == index]
    waiting = sorted(here, key=lambda each: (parts[each.part].stage, each.part))
    ordered: list[Placement] = []
    head = np.zeros(2)
    corners = {each.part: each.place(np.asarray(parts[each.part].outline.exterior.coords)) for each in waiting}
    while waiting:
        stage = parts[waiting[0].part].stage
        candidates = [each for each in waiting if parts[each.part].stage == stage]
        distances = [float(np.hypot(*(corners[each.part] - head).T).min()) for each in candidates]
        nearest = candidates[int(np.argmin(distances))]
        ordered.append(nearest)
        waiting.remove(nearest)
        outline = corners[nearest.part]
        head = outline[int(np.argmin(np.hypot(*(outline - head).T)))]
    return tuple(ordered)


def sheet_lines(
    layout: Layout,
    index: int,
    parts: Mapping[str, Part],
    stocks: Mapping[str, Stock],
    laser: Laser,
    labels: Mapping[str, Label] | None = None,
) -> dict[Operation, list[tuple[str, Lines]]]:
    """Return all paths of sheet ``index`` with their part ids, in cutting order, sheet frame (y up), mm.

    Within an operation parts follow the cutting order; the lines of a part and the point where a closed
    line starts are chosen to be near where the head comes from. Slits keep the order that spreads heat.
    """
    kerf = stocks[layout.sheets[index].stock].kerf
    sheet: dict[Operation, list[tuple[str, Lines]]] = {operation: [] for operation in Operation}
    head = dict.fromkeys(Operation, np.zeros(2))
    for placement in cutting_order(layout, index, parts):
        part = parts[placement.part]
        paths = path_lines(part, placement, kerf, laser, label=(labels or {}).get(part.id))
        for operation, several in paths.items():
            at = head[operation]
            if operation is Operation.SLITS:
                arranged = several
            elif operation is Operation.INNER:
                arranged = _nearest_first(Lines.joined(several), at).singly()
            else:
                arranged = []
                for each in several:
                    arranged.append(_nearest_first(each, at))
                    at = arranged[-1].ends[-1]
            if arranged:
                head[operation] = arranged[-1].ends[-1]
            sheet[operation] += [(part.id, each) for each in arranged]
    return sheet


def estimate_seconds(
    layout: Layout,
    parts: Mapping[str, Part],
    stocks: Mapping[str, Stock],
    laser: Laser,
    labels: Mapping[str, Label] | None = None,
) -> dict[str, float]:
    """Return the estimated laser time of all sheets in seconds: per operation, "travel" and "total".

    Each straight piece runs from rest to rest: L / v + v / a, or 2 sqrt(L / a) where the speed is not
    reached; each line is pierced once per pass. Loading sheets and setting up are not in it.
    """
    seconds = dict.fromkeys([*(operation.value for operation in Operation), "travel"], 0.0)
    for index in range(len(layout.sheets)):
        head = np.zeros((1, 2))
        for operation, paths in sheet_lines(layout, index, parts, stocks, laser, labels).items():
            if not paths:
                continue
            lines = Lines.joined(each for _, each in paths)
            feed = laser.feeds[operation]
            pieces = lines.segments()
            cut = _rest_to_rest(np.hypot(*(pieces[:, 1] - pieces[:, 0]).T), feed.speed, laser.acceleration)
            seconds[operation.value] += feed.passes * (cut + feed.pierce * len(lines))
            hops = lines.begins - np.concatenate([head, lines.ends[:-1]])
            seconds["travel"] += _rest_to_rest(np.hypot(*hops.T), laser.travel, laser.acceleration)
            head = lines.ends[-1:]
    seconds["total"] = sum(seconds.values())
    return seconds


def _rest_to_rest(lengths: np.ndarray, speed: float, acceleration: float) -> float:
    """Return the time for straight runs of these lengths, each from rest to rest, s."""
    reached = lengths >= speed**2 / acceleration
    return float(np.where(reached, lengths / speed + speed / acceleration, 2 * np.sqrt(lengths / acceleration)).sum())


def _nearest_first(lines: Lines, head: np.ndarray) -> Lines:
    """Return the lines so that each is the nearest to where the last one ended.

    Open lines may run backward, closed ones start at their corner nearest to the head.
    """
    if not 0 < len(lines) <= _NEAREST_LIMIT:
        return lines
    shapes = lines.polylines()
    firsts, lasts = lines.begins, lines.ends
    left = np.ones(len(lines), dtype=bool)
    order, chosen = [], []
    for _ in range(len(lines)):
        to_first = np.where(left, ((firsts - head) ** 2).sum(axis=1), np.inf)
        to_last = np.where(left, ((lasts - head) ** 2).sum(axis=1), np.inf)
        i = int(np.argmin(np.minimum(to_first, to_last)))
        shape = shapes[i]
        if lines.closed[i]:
            shape = np.roll(shape, -int(np.argmin(((shape - head) ** 2).sum(axis=1))), axis=0)
            head = shape[0]
        else:
            shape = shape if to_first[i] <= to_last[i] else shape[::-1]
            head = shape[-1]
        left[i] = False
        order.append(i)
        chosen.append(shape)
    starts = np.concatenate([[0], np.cumsum([len(shape) for shape in chosen])])
    return Lines(np.concatenate(chosen), starts, lines.closed[order])
