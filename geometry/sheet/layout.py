"""Layout: parts turned (never mirrored) and placed on as few sheets as the packer finds.

A sheet lies on the laser's bed with a margin along its edge; parts keep their spacing, and where
the grain matters they are turned so that it runs as the part wants it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..board.stock import Grain, Stock
from ..errors import BadSettingError
from ..findings import Finding, Severity, in_order
from ..flat.part import Part
from ..tolerance import ANGLE, LENGTH
from .bound import fewest_sheets
from .laser import Laser
from .nesting import Blank, nest
from .piece import Piece, prepare
from .strip import improved, strip_packer_present

__all__ = ["Layout", "Placement", "Sheet", "lay_out", "lie_on_bed"]

#: The strip packer may take so long for each of its tries when asked to improve a layout.
_IMPROVE_SECONDS = 4


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """One part on its sheet.

    turn: the part is turned counter-clockwise by this angle (radians) and then shifted by ``shift``
    (2,) mm; sheet frame: x right, y up, origin at the lower left corner of the sheet.
    """

    part: str
    sheet: int
    turn: float
    shift: np.ndarray

    def place(self, points: np.ndarray) -> np.ndarray:
        """Return points of the part frame, (k, 2) mm, on the sheet."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        return np.asarray(points) @ np.array([[c, s], [-s, c]]) + self.shift


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: name of its stock, (width, height) in mm as it lies on the laser, share of area used."""

    stock: str
    size: tuple[float, float]
    used_share: float
    file: str


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where every part lies. bound: (fewest sheets possible, why) for all stocks together."""

    sheets: tuple[Sheet, ...]
    placements: tuple[Placement, ...]
    bound: tuple[int, str]
    findings: tuple[Finding, ...]


def lay_out(
    parts: Sequence[Part],
    stocks: Mapping[str, Stock],
    laser: Laser,
    *,
    pinned: Sequence[Placement] = (),
    leftovers: Mapping[str, Sequence[tuple[float, float]]] | None = None,
    only: Collection[str] | None = None,
    improve: bool = False,
    progress: Callable[[float], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Layout:
    """Place all parts on as few sheets of their stocks as are found, the last of each as free as is found.

    pinned: placements that stay as they are; those of one sheet stay together, on the sheet of their number
    where their stock still has one of it. leftovers: per stock, (length, width) mm of pieces to use before
    whole sheets, their length along the sheet's. only: ids of the parts to lay out, to cut them again alone.
    improve: let the strip packer look for more room on the last sheets where it is installed; it takes some
    seconds, never makes a layout worse, and need not find the same twice. progress is told shares from 0 to 1.
    cancelled ends the search: the best found by then stands, and LayoutCancelledError is raised where some
    parts have no place yet.

    A part that no sheet takes is left out with a finding of severity error. Deterministic unless ``improve``.
    Raises BadSettingError for a part whose stock is unknown and for margins that leave no room.
    """
    parts = _wanted(parts, only)
    for part in parts:
        if part.stock not in stocks:
            raise BadSettingError(f"Part {part.id} wants the stock {part.stock!r}, which is not among the stocks")
    pins = {each.part: each for each in pinned}
    sheets: list[Sheet] = []
    placements: list[Placement] = []
    findings: list[Finding] = []
    bounds: list[tuple[int, str]] = []
    used = sorted({part.stock for part in parts})
    for number, stock in enumerate(stocks[name] for name in used):
        size, grain, remarks = lie_on_bed(stock, laser)
        findings += remarks
        # the beam burns half a kerf on either side of a drawn line: margin and spacing are what stays whole
        beam = replace(laser, margin=laser.margin + stock.kerf / 2, spacing=laser.spacing + stock.kerf)
        pieces = []
        for part in sorted((each for each in parts if each.stock == stock.name), key=lambda each: each.id):
            piece, remarks = prepare(part, stock, laser, beam, size, grain)
            findings += remarks
            if piece is not None:
                pieces.append(piece)
        watch = _Watch(number, len(used), progress, cancelled, improve and strip_packer_present())
        rest = _lie_likewise((leftovers or {}).get(stock.name, ()), stock, size, beam.margin)
        bound, placed, sizes = _fill_sheets(pieces, beam, size, rest, pins, len(sheets), watch)
        bounds.append((bound[0], f"{stock.label}: cannot be fewer than {bound[0]}, because {bound[1]}"))
        placements += placed
        areas = {piece.part.id: piece.part.area for piece in pieces}
        for sheet_size in sizes:
            area = sum(areas[each.part] for each in placed if each.sheet == len(sheets))
            file = f"sheet-{len(sheets) + 1:02d}-{_slug(stock.name)}.svg"
            sheets.append(Sheet(stock.name, sheet_size, area / (sheet_size[0] * sheet_size[1]), file))
    bound = (sum(each[0] for each in bounds), "; ".join(each[1] for each in bounds) or "there is nothing to cut")
    return Layout(tuple(sheets), tuple(placements), bound, in_order(findings))


def _wanted(parts: Sequence[Part], only: Collection[str] | None) -> tuple[Part, ...]:
    if only is None:
        return tuple(parts)
    if unknown := sorted(set(only) - {part.id for part in parts}):
        raise BadSettingError(f"There is no part {', '.join(unknown)} to cut again")
    return tuple(part for part in parts if part.id in only)


@dataclass(frozen=True, slots=True)
class _Watch:
    """Who follows the work on one stock of several."""

    number: int
    count: int
    progress: Callable[[float], None] | None
    cancelled: Callable[[], bool] | None
    improve: bool

    def tell(self, share: float) -> None:
        if self.progress is not None:
            self.progress((self.number + share) / self.count)


def _fill_sheets(
    pieces: Sequence[Piece],
    beam: Laser,
    size: tuple[float, float],
    rests: Sequence[tuple[float, float]],
    pins: Mapping[str, Placement],
    first: int,
    watch: _Watch,
) -> tuple[tuple[int, str], list[Placement], list[tuple[float, float]]]:
    """Return the bound, the placements and the sizes of the sheets of one stock, numbered from ``first``.

    rests: sizes of left-over pieces that are used before sheets of ``size``.
    """
    loose = [piece for piece in pieces if piece.part.id not in pins]
    bound = _bound(pieces, pins, beam, size)
    pinned: dict[int, dict[str, shapely.Geometry]] = {}
    for piece in pieces:
        if (pin := pins.get(piece.part.id)) is not None:
            pinned.setdefault(pin.sheet, {})[piece.part.id] = shapely.transform(piece.area, pin.place)
    edge = beam.margin - beam.spacing / 2  # the areas of pieces reach half the spacing into the margin
    sizes, spare = [], list(rests)
    for number in sorted(pinned):
        box = shapely.total_bounds(list(pinned[number].values()))
        fits = (
            rest for rest in spare if box.min() >= edge - LENGTH and (box[2:] <= np.array(rest) - edge + LENGTH).all()
        )
        rest = next(fits, None)
        if rest is not None:
            spare.remove(rest)
        sizes.append(rest or size)
    sizes += spare
    shift = np.array([edge, edge])
    fixed = {
        index: [shapely.transform(area, lambda points: points - shift) for area in pinned[number].values()]
        for index, number in enumerate(sorted(pinned))
    }
    blanks = [Blank(key, piece.area, piece.turns, piece.part.stage) for key, piece in enumerate(loose)]
    laid = nest(
        blanks,
        _inside(size, edge),
        pieces=[_inside(each, edge) for each in sizes],
        fixed=fixed,
        fewest=bound[0],
        progress=watch.tell,
        cancelled=watch.cancelled,
    )
    if watch.improve and laid:
        loose_sheets = range(len(sizes), max(each.sheet for each in laid) + 1)
        laid = improved(laid, blanks, _inside(size, edge), loose_sheets, seconds=_IMPROVE_SECONDS)
    placements = [
        replace(pins[name], sheet=index) for index, number in enumerate(sorted(pinned)) for name in pinned[number]
    ]
    for each in laid:
        place = each.shift + shift
        place.setflags(write=False)
        placements.append(Placement(loose[each.key].part.id, each.sheet, each.quarter * math.pi / 2, place))
    stages = {piece.part.id: piece.part.stage for piece in pieces}
    areas = {piece.part.id: piece.part.area for piece in pieces}
    order = _in_cutting_order(placements, stages, areas, [number - first for number in sorted(pinned)])
    placements = [replace(each, sheet=first + order.index(each.sheet)) for each in placements]
    placements.sort(key=lambda each: (each.sheet, each.part))
    return bound, placements, [sizes[index] if index < len(sizes) else size for index in order]


def _inside(size: tuple[float, float], edge: float) -> tuple[float, float]:
    return size[0] - 2 * edge, size[1] - 2 * edge


def _bound(
    pieces: Sequence[Piece], pins: Mapping[str, Placement], beam: Laser, size: tuple[float, float]
) -> tuple[int, str]:
    """Return the fewest sheets; what is pinned aslant is left out, since the bound knows quarter turns only."""
    aslant = {name for name, pin in pins.items() if abs(math.remainder(pin.turn, math.pi / 2)) > ANGLE}
    counted = [piece for piece in pieces if piece.part.id not in aslant]
    outlines = {piece.part.id: piece.outline for piece in counted}
    turns = {piece.part.id: piece.turns for piece in counted}
    return fewest_sheets(outlines, turns, _inside(size, beam.margin), beam.spacing)


def _in_cutting_order(
    placements: Sequence[Placement], stages: Mapping[str, int], areas: Mapping[str, float], numbers: Sequence[int]
) -> list[int]:
    """Return the sheets that hold parts, those of early stages first, fuller ones before emptier ones.

    The first sheets are the pinned ones; they get the numbers given where there are so many sheets.
    """
    held: dict[int, list[str]] = {}
    for each in placements:
        held.setdefault(each.sheet, []).append(each.part)

    def rank(sheet: int) -> tuple[float, float, int]:
        stage = sum(stages[part] for part in held[sheet]) / len(held[sheet])
        return stage, -sum(areas[part] for part in held[sheet]), sheet

    order = sorted((sheet for sheet in held if sheet >= len(numbers)), key=rank)
    for sheet, number in enumerate(numbers):
        order.insert(max(number, 0), sheet)
    return order


def _lie_likewise(
    rests: Sequence[tuple[float, float]], stock: Stock, size: tuple[float, float], margin: float
) -> list[tuple[float, float]]:
    """Return the sizes of left-over pieces as they lie on the bed, like whole sheets do, the smallest first."""
    lengthwise = size[0] <= stock.sheet[0] + LENGTH and size[1] <= stock.sheet[1] + LENGTH
    lying = [rest if lengthwise else (rest[1], rest[0]) for rest in rests]
    lying = [(min(rest[0], size[0]), min(rest[1], size[1])) for rest in lying]
    return sorted((rest for rest in lying if min(rest) > 2 * margin), key=lambda rest: (rest[0] * rest[1], rest))


def lie_on_bed(stock: Stock, laser: Laser) -> tuple[tuple[float, float], float | None, tuple[Finding, ...]]:
    """Return (width, height) of the stock as it lies on the bed, the grain's direction there, and findings.

    The sheet lies so that the bed takes most of it, otherwise with its longer side along the bed's width.
    """
    (bed_width, bed_depth), (length, width) = laser.bed, stock.sheet
    along = (min(length, bed_width), min(width, bed_depth))
    turned = (min(width, bed_width), min(length, bed_depth))
    lengthwise = along[0] * along[1] >= turned[0] * turned[1] - LENGTH
    size = along if lengthwise else turned
    if min(size) <= 2 * laser.margin:
        raise BadSettingError(
            f"The margin of {laser.margin:g} mm leaves nothing of {stock.label}, {size[0]:g} x {size[1]:g} mm; "
            f"make it smaller"
        )
    grain = None
    if stock.grain in (Grain.LENGTH, Grain.WIDTH):
        grain = 0.0 if (stock.grain is Grain.LENGTH) == lengthwise else math.pi / 2
    findings: tuple[Finding, ...] = ()
    if size[0] * size[1] < length * width - LENGTH:
        message = (
            f"Sheets of {stock.label} measure {length:g} x {width:g} mm, the laser's bed takes "
            f"{size[0]:g} x {size[1]:g} mm of them; cut them down to that before"
        )
        findings = (Finding(Severity.NOTE, "sheet-larger-than-bed", message),)
    return size, grain, findings


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-") or "stock"
