"""Layout: parts turned (never mirrored) and placed on as few sheets as the packer finds.

A sheet lies on a laser's bed with a margin along its edge; parts keep their spacing, and where
the grain matters they are turned so that it runs as the part wants it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

import shapely
from shapely.geometry import Polygon

from ..beam.laser import Laser
from ..beam.lettering import Label
from ..board.stock import Stock
from ..errors import BadSettingError
from ..files import file_word
from ..findings import Finding, Severity, in_order
from ..part import Part, PartKind
from ..progress import SILENT, Progress
from ..tolerance import LENGTH
from .layout_wishes import check_wishes
from .loading import Load, bound_of, load
from .piece import Piece, Placement
from .routing import Bench, benches_for, route

__all__ = ["NO_LAYOUT", "Layout", "Sheet", "lay_out", "layout_cost", "sheet_cost"]


#: Stage of walls and joiners, which stand before the floor is cut.
_WALLS = 1


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its stock with the kerf of its laser, (width, height) in mm as it lies there, share of area used.

    offcut: whether it is a piece of a sheet, left over from earlier work.
    """

    stock: Stock
    laser: Laser
    size: tuple[float, float]
    used_share: float
    file: str
    offcut: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where every part lies. bound: (fewest sheets possible, why) for all stocks together.

    labels: where ids are written, by part id, as room was kept for them; what is not in it is placed again.
    """

    sheets: tuple[Sheet, ...]
    placements: tuple[Placement, ...]
    bound: tuple[int, str]
    findings: tuple[Finding, ...]
    labels: Mapping[str, Label] = field(default_factory=dict)

    def on_sheet(self, index: int) -> tuple[Placement, ...]:
        """Return the placements on one sheet, by part id."""
        return tuple(
            sorted(
                (placement for placement in self.placements if placement.sheet == index),
                key=lambda placement: placement.part,
            )
        )


#: The layout of parts that were not laid out.
NO_LAYOUT = Layout(sheets=(), placements=(), bound=(0, "nothing was laid out"), findings=())


def sheet_cost(sheet: Sheet) -> float | None:
    """Return the price of the board that one sheet takes, in the maker's own money; None without a price.

    Where the bed takes only a piece of a whole sheet, that piece costs its share of the area. Pieces left
    over from earlier work were paid then.
    """
    if sheet.stock.price is None:
        return None
    if sheet.offcut:
        return 0.0
    length, width = sheet.stock.sheet
    return sheet.stock.price * min(1.0, sheet.size[0] * sheet.size[1] / (length * width))


def layout_cost(layout: Layout) -> tuple[float | None, tuple[str, ...]]:
    """Return the price of all sheets, None where no price is known, and the labels of stocks without one."""
    costs = [sheet_cost(sheet) for sheet in layout.sheets]
    known = [cost for cost in costs if cost is not None]
    lacking = sorted({sheet.stock.label for sheet in layout.sheets if sheet.stock.price is None})
    return (sum(known) if known else None), tuple(lacking)


def lay_out(
    parts: Sequence[Part],
    stocks: Mapping[str, Stock],
    laser: Laser,
    others: Sequence[Laser] = (),
    *,
    chosen: Mapping[str, str] | None = None,
    pinned: Sequence[Placement] = (),
    offcuts: Mapping[str, Sequence[tuple[float, float]]] | None = None,
    only: Collection[str] | None = None,
    improve: bool = False,
    progress: Progress = SILENT,
) -> Layout:
    """Place all parts on as few sheets of their stocks as are found, the last of each as free as is found.

    laser: cuts whatever it takes; others: lasers for what is too large for it, in the order of preference.
    Where board is saved by cutting all parts of a stock on the laser that must cut some, it cuts all.
    chosen: name of the laser that the maker wants for a part, by the part's id.
    pinned: placements that stay as they are; those of one sheet stay together, on the sheet of their number
    where there are so many sheets. offcuts: per stock, (length, width) mm of pieces to use before
    whole sheets, their length along the sheet's. only: ids of the parts to lay out, to cut them again alone.
    improve: let the strip packer look for more room on the last sheets where it is installed; it takes some
    seconds, never makes a layout worse, and need not find the same twice.

    Sheets come in the order of cutting: by the stages of their parts, over all stocks and lasers.
    A part that no sheet takes is left out with a finding of severity error. Deterministic unless ``improve``.
    Raises BadSettingError for a part whose stock is unknown, for lasers that cannot be told apart, and for
    margins that leave no room; CancelledError where the work was given up.
    """
    lasers = (laser, *others)
    if len({laser.name for laser in lasers}) < len(lasers):
        raise BadSettingError(f"Two lasers have one name among {', '.join(laser.name for laser in lasers)}; rename one")
    check_wishes(parts, pinned, offcuts or {})
    parts = _wanted(parts, only)
    for part in parts:
        if part.stock not in stocks:
            raise BadSettingError(f"Part {part.id} wants the stock {part.stock!r}, which is not among the stocks")
    pins = {pin.part: pin for pin in pinned}
    loads: list[Load] = []
    labels: dict[str, Label] = {}
    bounds: list[tuple[int, str]] = []
    findings: list[Finding] = []
    used = sorted({part.stock for part in parts})
    for number, stock in enumerate(stocks[name] for name in used):
        benches = benches_for(stock, lasers)
        mine = sorted((one for one in parts if one.stock == stock.name), key=lambda part: part.id)
        ours = progress.part(number / len(used), (number + 1) / len(used))
        rests = (offcuts or {}).get(stock.name, ())
        taken, remarks = route(mine, benches, chosen or {}, ours)
        here = _load_all(taken, benches, rests, pins, ours, improve=improve)
        if len(here) > 1 and (together := _on_one(mine, benches, chosen or {}, taken)) is not None:
            alone = _load_all(together, benches, rests, pins, ours.part(1.0, 1.0), improve=improve)
            if _board_of(alone) < _board_of(here):
                taken, here = together, alone
        labels |= {piece.part.id: piece.label for several in taken for piece in several}
        findings += remarks
        for loaded in here:
            findings += loaded.bench.remarks
        fewest, why = here[0].bound if len(benches) == len(here) == 1 else _bound(taken, benches, pins)
        if not pins and not rests:
            here = _floors_apart(taken, benches, here, ours.part(1.0, 1.0), improve=improve)
        bounds.append((fewest, f"{stock.label}: cannot be fewer than {fewest}, because {why}"))
        loads += here
    sheets, placements = _in_cutting_order(loads, {part.id: part for part in parts}, laser)
    findings += _lost_pins(pins, {part.id for part in parts}, only)
    bound = (sum(bound[0] for bound in bounds), "; ".join(bound[1] for bound in bounds) or "there is nothing to cut")
    return Layout(sheets, placements, bound, in_order(findings), labels)


def _wanted(parts: Sequence[Part], only: Collection[str] | None) -> tuple[Part, ...]:
    if only is None:
        return tuple(parts)
    if unknown := sorted(set(only) - {part.id for part in parts}):
        raise BadSettingError(f"There is no part {', '.join(unknown)} to cut again")
    return tuple(part for part in parts if part.id in only)


def _load_all(
    taken: Sequence[Sequence[Piece]],
    benches: Sequence[Bench],
    rests: Sequence[tuple[float, float]],
    pins: Mapping[str, Placement],
    progress: Progress,
    *,
    improve: bool,
) -> list[Load]:
    """Load every bench that has pieces; an offcut lies on one of them only."""
    loads: list[Load] = []
    busy = [(pieces, bench) for pieces, bench in zip(taken, benches, strict=True) if pieces]
    for k, (pieces, bench) in enumerate(busy):
        ours = progress.part(k / len(busy), (k + 1) / len(busy))
        # an offcut is offered to one laser only: the first with anything to cut
        loads.append(load(pieces, bench, () if loads else rests, pins, ours, improve=improve))
    return loads


def _floors_apart(
    taken: Sequence[Sequence[Piece]], benches: Sequence[Bench], here: list[Load], progress: Progress, *, improve: bool
) -> list[Load]:
    """Return loads with no floor on a sheet with walls where that costs no sheet, otherwise those that there are.

    Floors are cut when the walls stand and are measured, so that they want a file without walls.
    """
    pieces = {piece.part.id: piece.part for several in taken for piece in several}
    sheets: dict[tuple[int, int], list[Part]] = {}
    for number, loaded in enumerate(here):
        for placement in loaded.placements:
            sheets.setdefault((number, placement.sheet), []).append(pieces[placement.part])
    if len(sheets) < 2 or not any(_floor_beside_walls(parts) for parts in sheets.values()):
        return here
    for is_late in (_after_walls, _is_floor):
        early = [[piece for piece in several if not is_late(piece.part)] for several in taken]
        late = [[piece for piece in several if is_late(piece.part)] for several in taken]
        apart = [load for part in (early, late) for load in _load_all(part, benches, (), {}, progress, improve=improve)]
        if sum(len(load.sizes) for load in apart) <= len(sheets) and _board_of(apart) <= _board_of(here) + LENGTH:
            return apart
    return here


def _is_floor(part: Part) -> bool:
    return part.kind is PartKind.FLOOR


def _after_walls(part: Part) -> bool:
    return part.stage > _WALLS


def _floor_beside_walls(parts: Sequence[Part]) -> bool:
    return any(map(_is_floor, parts)) and any(part.stage <= _WALLS for part in parts)


def _board_of(loads: Sequence[Load]) -> float:
    """Return the board that sheets take, mm^2; a smaller bed takes less of a sheet."""
    return sum(width * depth for load in loads for width, depth in load.sizes)


def _on_one(
    parts: Sequence[Part], benches: Sequence[Bench], chosen: Mapping[str, str], taken: Sequence[Sequence[Piece]]
) -> list[list[Piece]] | None:
    """Return all parts of a stock on the last laser that must cut some, or None where it does not take them."""
    last = max(k for k, pieces in enumerate(taken) if pieces)
    if any(name and name != benches[last].laser.name for name in (chosen.get(part.id, "") for part in parts)):
        return None
    pieces = [benches[last].prepare(part)[0] for part in parts]
    sound = [piece for piece in pieces if isinstance(piece, Piece)]
    if len(sound) < sum(map(len, taken)) or not all(piece.keeps_grain for piece in sound):
        return None
    return [sound if k == last else [] for k in range(len(benches))]


def _bound(
    taken: Sequence[Sequence[Piece]], benches: Sequence[Bench], pins: Mapping[str, Placement]
) -> tuple[int, str]:
    """Return the fewest sheets of one stock on several lasers: whichever cuts what, none is larger than the largest."""
    if len(benches) == 1:
        return bound_of(taken[0], benches[0], pins)
    size = (max(bench.size[0] for bench in benches), max(bench.size[1] for bench in benches))
    laser = replace(
        benches[0].laser,
        margin=min(bench.laser.margin for bench in benches),
        spacing=min(bench.laser.spacing for bench in benches),
    )
    kerf = min(bench.stock.kerf for bench in benches)
    widest = replace(benches[0], laser=laser, stock=replace(benches[0].stock, kerf=kerf), size=size, grain=None)
    free = [
        replace(piece, outline=thinned, turns=(0, 1, 2, 3))
        for bench, several in zip(benches, taken, strict=True)
        for piece in several
        # drawn as for the finest beam; what that parts does not count
        if isinstance(thinned := _grown(piece, (kerf - bench.stock.kerf) / 2), Polygon)
    ]
    return bound_of(free, widest, pins)


def _grown(piece: Piece, reach: float) -> shapely.Geometry:
    return shapely.buffer(piece.outline, reach, join_style="mitre")


def _in_cutting_order(
    loads: Sequence[Load], parts: Mapping[str, Part], first: Laser
) -> tuple[tuple[Sheet, ...], tuple[Placement, ...]]:
    """Return all sheets, those of early stages first, fuller ones before emptier ones, and what lies on them.

    No floor is cut while walls are still to come: it can be made again from their measured size. A sheet with
    pins gets the number that they had where there are so many sheets.
    """
    held = [(load, k) for load in loads for k in range(len(load.sizes))]

    def rank(number: int) -> tuple[int, bool, float, str, float, int]:
        load, k = held[number]
        here = [parts[placement.part] for placement in load.placements if placement.sheet == k]
        floor, mean = any(part.kind is PartKind.FLOOR for part in here), sum(part.stage for part in here) / len(here)
        area = sum(part.area for part in here)
        return min(part.stage for part in here), floor, mean, load.bench.stock.name, -area, number

    order = sorted((n for n, (load, k) in enumerate(held) if load.wished[k] is None), key=rank)
    wishing = [(wish, n) for n, (load, k) in enumerate(held) if (wish := load.wished[k]) is not None]
    for wish, number in sorted(wishing):
        order.insert(wish, number)
    sheets, placements = [], []
    for index, number in enumerate(order):
        load, k = held[number]
        bench, size = load.bench, load.sizes[k]
        here = [replace(placement, sheet=index) for placement in load.placements if placement.sheet == k]
        area = sum(parts[placement.part].area for placement in here)
        on = "" if bench.laser == first else f"-{file_word(bench.laser.name, 'laser')}"
        file = f"sheet-{index + 1:02d}-{file_word(bench.stock.name, 'stock')}{on}.svg"
        sheets.append(Sheet(bench.stock, bench.laser, size, area / (size[0] * size[1]), file, load.offcut[k]))
        placements += sorted(here, key=lambda placement: placement.part)
    return tuple(sheets), tuple(placements)


def _lost_pins(pins: Mapping[str, Placement], known: Collection[str], only: Collection[str] | None) -> list[Finding]:
    """Report pins that hold nothing; a layout of some parts alone cannot tell."""
    lost = sorted(set(pins) - set(known))
    if only is not None or not lost:
        return []
    message = f"Pins hold parts that are not there any more: {', '.join(lost)}; take these pins out"
    return [Finding(Severity.NOTE, "pin-without-part", message)]
