"""Loading: the pieces of one stock on the sheets of one laser, around what is pinned, offcuts first."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..arrays import read_only
from ..nest.bound import fewest_sheets
from ..nest.nesting import Item, nest
from ..nest.strip import improved, strip_packer_present
from ..part import PartKind
from ..progress import Progress
from ..tolerance import ANGLE, LENGTH
from .piece import Piece, Placement
from .routing import Bench, lie_rest

__all__ = ["Load", "load"]

#: The strip packer may take so long for each of its tries when asked to improve a layout.
_IMPROVE_SECONDS = 4


@dataclass(frozen=True, slots=True, eq=False)
class Load:
    """Sheets of one bench: placements on them, numbered from 0; their sizes; which are offcuts.

    wished: per sheet, the number that its pins want among all sheets, None without pins.
    bound: (fewest sheets of this bench that take these pieces, why).
    """

    bench: Bench
    placements: tuple[Placement, ...]
    sizes: tuple[tuple[float, float], ...]
    offcut: tuple[bool, ...]
    wished: tuple[int | None, ...]
    bound: tuple[int, str]


def load(
    pieces: Sequence[Piece],
    bench: Bench,
    rests: Sequence[tuple[float, float]],
    pins: Mapping[str, Placement],
    progress: Progress,
    *,
    improve: bool,
) -> Load:
    """Lay pieces on as few sheets of the bench as are found.

    rests: (length, width) mm of offcuts, their length along the sheet's, used before whole sheets.
    improve: see ``lay_out``. Raises CancelledError where the work was given up.
    """
    loose = [piece for piece in pieces if piece.part.id not in pins]
    edge = bench.beam.margin - bench.beam.spacing / 2  # the areas of pieces reach half the spacing into the margin
    began = _begin_sheets(pieces, bench, rests, pins, edge)
    bound = bound_of(pieces, bench, pins)
    items = [
        Item(key, piece.area, piece.turns, piece.part.stage, piece.part.kind is PartKind.TRIM)
        for key, piece in enumerate(loose)
    ]
    room = _inside(bench.size, edge)
    laid = nest(
        items,
        room,
        pieces=[_inside(size, edge) for size in began.sizes],
        fixed={
            index: [shapely.transform(area, lambda points: points - edge) for area in areas]
            for index, areas in enumerate(began.areas)
        },
        fewest=bound[0],
        progress=progress,
    )
    if improve and laid and strip_packer_present():
        loose_sheets = range(len(began.sizes), max(placed.sheet for placed in laid) + 1)
        given_up = progress.part(1.0, 1.0)
        laid = improved(laid, items, room, loose_sheets, seconds=_IMPROVE_SECONDS, progress=given_up)
    placements = [
        *(replace(pins[name], sheet=index) for index, names in enumerate(began.names) for name in names),
        *(
            Placement(
                loose[placed.key].part.id,
                placed.sheet,
                placed.quarter * math.pi / 2,
                read_only(placed.shift + np.array([edge, edge])),
            )
            for placed in laid
        ),
    ]
    return _used_alone(bench, placements, began, bound)


@dataclass(frozen=True, slots=True)
class _Begun:
    """Sheets that something lies on already, then the offcuts that are left.

    sizes: (length, width) mm. of_rest: whether it is an offcut. Of sheets with pins alone: numbers: those that the
    pins want; names, areas: of the parts that are pinned there.
    """

    sizes: tuple[tuple[float, float], ...]
    of_rest: tuple[bool, ...]
    numbers: tuple[int, ...]
    names: tuple[tuple[str, ...], ...]
    areas: tuple[tuple[shapely.Geometry, ...], ...]


def _begin_sheets(
    pieces: Sequence[Piece],
    bench: Bench,
    rests: Sequence[tuple[float, float]],
    pins: Mapping[str, Placement],
    edge: float,
) -> _Begun:
    """Return the sheets with pinned parts, from an offcut where one takes them, and the other offcuts.

    edge: how far the areas of pieces stay inside a sheet, mm.
    """
    pinned: dict[int, dict[str, shapely.Geometry]] = {}
    for piece in pieces:
        if (pin := pins.get(piece.part.id)) is not None:
            pinned.setdefault(pin.sheet, {})[piece.part.id] = shapely.transform(piece.area, pin.place)
    numbers = sorted(pinned)
    sizes, of_rest, spare = [], [], _lie_likewise(rests, bench)
    for number in numbers:
        box = shapely.total_bounds(list(pinned[number].values()))
        fits = (
            rest for rest in spare if box.min() >= edge - LENGTH and (box[2:] <= np.array(rest) - edge + LENGTH).all()
        )
        rest = next(fits, None)
        if rest is not None:
            spare.remove(rest)
        sizes.append(rest or bench.size)
        of_rest.append(rest is not None)
    return _Begun(
        (*sizes, *spare),
        (*of_rest, *(True for _ in spare)),
        tuple(numbers),
        tuple(tuple(pinned[number]) for number in numbers),
        tuple(tuple(pinned[number].values()) for number in numbers),
    )


def _used_alone(bench: Bench, placements: Sequence[Placement], began: _Begun, bound: tuple[int, str]) -> Load:
    """Return the load: of the offcuts only those that were needed are loaded."""
    sizes, of_rest, numbers = began.sizes, began.of_rest, began.numbers
    used = sorted({placement.sheet for placement in placements})
    return Load(
        bench,
        tuple(replace(placement, sheet=used.index(placement.sheet)) for placement in placements),
        tuple(sizes[index] if index < len(sizes) else bench.size for index in used),
        tuple(index < len(of_rest) and of_rest[index] for index in used),
        tuple(numbers[index] if index < len(numbers) else None for index in used),
        bound,
    )


def bound_of(pieces: Sequence[Piece], bench: Bench, pins: Mapping[str, Placement]) -> tuple[int, str]:
    """Return the fewest sheets of this bench that take the pieces, and why.

    What is pinned aslant is left out, since the bound knows quarter turns only.
    """
    aslant = {name for name, pin in pins.items() if abs(math.remainder(pin.turn, math.pi / 2)) > ANGLE}
    counted = [piece for piece in pieces if piece.part.id not in aslant]
    outlines = {piece.part.id: piece.outline for piece in counted}
    turns = {piece.part.id: piece.turns for piece in counted}
    return fewest_sheets(outlines, turns, _inside(bench.size, bench.beam.margin), bench.beam.spacing)


def _inside(size: tuple[float, float], edge: float) -> tuple[float, float]:
    return size[0] - 2 * edge, size[1] - 2 * edge


def _lie_likewise(rests: Sequence[tuple[float, float]], bench: Bench) -> list[tuple[float, float]]:
    """Return the sizes of offcuts as they lie on the bed, like whole sheets do, the smallest first."""
    lying = [lie_rest(rest, bench.stock, bench.laser) for rest in rests]
    large_enough = (rest for rest in lying if min(rest) > 2 * bench.beam.margin)
    return sorted(large_enough, key=lambda rest: (rest[0] * rest[1], rest))
