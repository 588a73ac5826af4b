"""A strip of fixed height, filled as short as can be: what stays of the last sheet is one clean piece.

Our own nesting gives an answer that is always the same. Where the strip packer spyrrow is installed it may
look for a shorter strip for some seconds; its answer is pushed together, measured here before it is believed,
and taken only where it is shorter.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import ModuleType

import numpy as np
import shapely

from ..progress import SILENT, Progress
from ..tolerance import LENGTH
from .nesting import STEPS, PlacedItem, placed_of, search
from .outline_fit import free_spans, slices
from .packing import Item, Packer, Packing

__all__ = ["improved", "nest_strip", "strip_packer_present"]

#: How finely the strip packer divides the plane: a step coarser than its own choice looks at more places in a second.
_DEPTH = 3

#: Parts are pushed along the strip so many times at most; they come to rest after two or three.
_PUSHES = 5


def strip_packer_present() -> bool:
    """Tell whether the strip packer can be imported."""
    return _packer() is not None


def _packer() -> ModuleType | None:
    try:
        import spyrrow
    except ImportError:  # it is no dependency
        return None
    return spyrrow


def nest_strip(
    items: Sequence[Item],
    height: float,
    *,
    seconds: int = 0,
    steps: int = STEPS,
) -> tuple[float, tuple[PlacedItem, ...]]:
    """Return the length of a strip of ``height`` that holds all items, and where they lie on it (as sheet 0), mm.

    seconds: how long the strip packer may look for a shorter one, where it is installed; then the result may
    differ from run to run, but it is never longer than without. Each item must fit the height.
    """
    if not items:
        return 0.0, ()
    best = _shortest(items, height, steps)
    # one after the other: beside our own search the packer, which counts time, gets less done
    theirs = _pack(items, height, seconds) if seconds else None
    result = float(best.beds[0].upright[:, 1].max()), tuple(placed_of(best, items))
    return theirs if theirs is not None and theirs[0] < result[0] else result


def _shortest(items: Sequence[Item], height: float, steps: int) -> Packing:
    """Return the packing of the shortest strip found, on a map a good deal longer than that."""
    length = 1.5 * sum(item.area.area for item in items) / height + max(max(item.sides) for item in items)
    while True:
        best = search(
            Packer(items, (length, height)),
            lambda packing: (len(packing.used), float(packing.beds[0].upright[:, 1].max())),
            steps=steps,
            both_ways=False,
        )
        if len(best.used) == 1:
            return best
        length *= 1.5


def _pack(items: Sequence[Item], height: float, seconds: int) -> tuple[float, tuple[PlacedItem, ...]] | None:
    """Return what the strip packer finds, or None where it finds nothing that stands up to measuring."""
    spyrrow = _packer()
    if spyrrow is None:
        return None
    by_key = {item.key: item for item in items}
    # one item a part, one run on all processors, and no separation, which would have it work with grown outlines:
    # items wanted several times, several runs at once and separations all brought less in the same time; what it
    # packs does not overlap, as is measured below
    wanted = [
        spyrrow.Item(
            str(item.key),
            [tuple(point) for point in shapely.get_coordinates(_hull(item.area))[:-1].tolist()],
            1,
            [90.0 * q for q in item.quarters],
        )
        for item in items
    ]
    config = spyrrow.StripPackingConfig(
        early_termination=False, total_computation_time=seconds, quadtree_depth=_DEPTH, seed=1
    )
    try:
        solution = spyrrow.StripPackingInstance("strip", height, wanted).solve(config)
    except ValueError:  # a part that it cannot take, one as high as the strip to the last hair
        return None
    if sorted(int(item.id) for item in solution.placed_items) != sorted(by_key):
        return None
    laid = [
        PlacedItem(int(item.id), 0, round(item.rotation / 90) % 4, np.array(item.translation, dtype=float))
        for item in solution.placed_items
    ]
    return _measured(laid, by_key, height)


def _measured(
    laid: Sequence[PlacedItem], by_key: Mapping[int, Item], height: float
) -> tuple[float, tuple[PlacedItem, ...]] | None:
    """Push a strip together and return its length and where all lies; None where it does not stand up to measuring."""
    areas = [placed.place(by_key[placed.key].area) for placed in laid]
    moved = [replace(placed, shift=placed.shift - [by, 0.0]) for placed, by in zip(laid, _pushed(areas), strict=True)]
    areas = [placed.place(by_key[placed.key].area) for placed in moved]
    bounds = shapely.total_bounds(areas)
    shift = np.array([-bounds[0], max(-bounds[1], 0.0)])
    if bounds[3] + shift[1] > height + LENGTH or _overlap(areas):
        return None
    return float(bounds[2] - bounds[0]), tuple(replace(placed, shift=placed.shift + shift) for placed in moved)


def _pushed(areas: Sequence[shapely.Geometry]) -> np.ndarray:
    """Return how far each area can be pushed toward the beginning of the strip, those first that lie first, mm.

    The strip packer leaves hairs between parts; an area that meets another stays where it is.
    """
    lying = [slices(shapely.transform(area, lambda points: points[:, ::-1])) for area in areas]
    owner = np.repeat(np.arange(len(lying)), [len(sides) for sides in lying])
    cut = np.concatenate(lying)
    begin = min(float(sides[:, 2:4].min()) for sides in lying)
    back = np.zeros(len(lying))
    for _ in range(_PUSHES):
        before = back.copy()
        starts = [float(cut[owner == k, 2:4].min()) for k in range(len(lying))]
        for k in np.argsort(starts, kind="stable").tolist():
            mine = cut[owner == k]
            free = free_spans(mine, 0.0, cut[owner != k], begin - starts[k], 0.0)
            if len(free) and free[-1, 1] >= -LENGTH and (by := -float(free[-1, 0])) > LENGTH:
                cut[owner == k, 2:] -= by
                back[k] += by
        if (back - before).max() <= LENGTH:
            break
    return back


def _hull(area: shapely.Geometry) -> shapely.Geometry:
    """Return one outline without holes round the area: the strip packer takes no others."""
    if area.geom_type == "Polygon":
        return shapely.Polygon(area.exterior)
    return shapely.convex_hull(area)


def _overlap(areas: Sequence[shapely.Geometry]) -> bool:
    """Tell whether any two areas share more than a line."""
    tree = shapely.STRtree(areas)
    one, other = tree.query(areas, predicate="intersects")
    pairs = one < other
    shared = shapely.area(shapely.intersection(np.array(areas)[one[pairs]], np.array(areas)[other[pairs]]))
    return bool((shared > LENGTH).any())


def improved(
    laid: Sequence[PlacedItem],
    items: Sequence[Item],
    room: tuple[float, float],
    sheets: Sequence[int],
    *,
    seconds: int,
    progress: Progress = SILENT,
) -> tuple[PlacedItem, ...]:
    """Return a layout that the strip packer betters on the last sheets, or else the one given.

    sheets: those that may be laid again, all of one ``room`` (width, height) mm. First the two emptiest are tried
    as one strip; where that is too long for one sheet, the emptiest alone, to leave a longer piece of it.
    The strip packer cannot be broken off: progress is told before each try. Raises CancelledError where the work
    was given up.
    """
    by_key = {item.key: item for item in items}
    held = {sheet: [by_key[placed.key] for placed in laid if placed.sheet == sheet] for sheet in sheets}
    filled = {sheet: sum(item.area.area for item in here) for sheet, here in held.items() if here}
    order = sorted(filled, key=lambda sheet: (filled[sheet], -sheet))
    tries = [order[:2], order[:1]] if len(order) > 1 else [order[:1]]
    for number, emptied in enumerate(tries):
        progress.tell(number / len(tries))
        several = [item for sheet in emptied for item in held[sheet]]
        if not several or sum(filled[sheet] for sheet in emptied) > room[0] * room[1]:
            continue
        found = _pack(several, room[1], seconds)
        here = [placed.place(by_key[placed.key].area) for placed in laid if placed.sheet in emptied]
        longest = room[0] + LENGTH if len(emptied) > 1 else _reach(here, room) - LENGTH
        if found is None or found[0] > longest:
            continue
        kept = [placed for placed in laid if placed.sheet not in emptied]
        moved = [replace(placed, sheet=min(emptied)) for placed in found[1]]
        return tuple(sorted([*kept, *moved], key=lambda placed: (placed.sheet, placed.key)))
    return tuple(laid)


def _reach(areas: Sequence[shapely.Geometry], room: tuple[float, float]) -> float:
    """Return the length of a strip that would leave as much of the sheet as one straight cut now does, mm."""
    _, _, x1, y1 = shapely.total_bounds(areas)
    return min(float(x1), float(y1) / room[1] * room[0])
