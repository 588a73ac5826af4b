"""Routing: how sheets lie on each laser's bed, and which laser cuts which part, when a workshop has several.

The maker's first laser cuts whatever it takes. What is too large for it goes to the next one that takes it,
and what none of them takes is said, with the laser that comes nearest.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ..beam.laser import Laser
from ..beam.lasers import check_laser, stock_on
from ..board.stock import Grain, Stock, check_stock
from ..errors import BadSettingError
from ..findings import Finding, Location, Severity
from ..part import Part
from ..progress import SILENT, Progress
from ..tolerance import LENGTH
from .piece import Piece, Unfit, prepare

__all__ = ["Bench", "benches_for", "lie_on_bed", "lie_rest", "lies_lengthwise", "route"]


@dataclass(frozen=True, slots=True)
class Bench:
    """A stock on a laser: with the laser's kerf, its sheet's (width, height) on the bed, mm, grain's direction there.

    remarks: what is to be known of sheets that lie here.
    """

    laser: Laser
    stock: Stock
    size: tuple[float, float]
    grain: float | None
    remarks: tuple[Finding, ...]

    @property
    def beam(self) -> Laser:
        """The laser with margin and spacing measured to drawn lines: the beam burns half a kerf on either side.

        Without spacing parts may share a cut: their drawn lines then coincide, half a kerf from either's wood.
        """
        kerf, spacing = self.stock.kerf, self.laser.spacing
        return replace(self.laser, margin=self.laser.margin + kerf / 2, spacing=spacing + kerf if spacing > 0 else 0.0)

    def prepare(self, part: Part) -> tuple[Piece | Unfit, tuple[Finding, ...]]:
        """Draw a part for this laser and find its turns, or how far it is from fitting."""
        return prepare(part, self.stock, self.laser, self.beam, self.size, self.grain)


def benches_for(stock: Stock, lasers: Sequence[Laser]) -> tuple[Bench, ...]:
    """Return the stock on each laser. Raises BadSettingError for values that cannot be, or leave no room."""
    check_stock(stock)
    benches = []
    for laser in lasers:
        check_laser(laser)
        here = stock_on(stock, laser)
        benches.append(Bench(laser, here, *lie_on_bed(here, laser)))
    return tuple(benches)


def lie_on_bed(stock: Stock, laser: Laser) -> tuple[tuple[float, float], float | None, tuple[Finding, ...]]:
    """Return (width, height) of the stock as it lies on the bed, the grain's direction there, and findings.

    The sheet lies so that the bed takes most of it, otherwise with its longer side along the bed's width.
    """
    length, width = stock.sheet
    lengthwise = lies_lengthwise(stock, laser)
    size = lie_rest(stock.sheet, stock, laser)
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


def lies_lengthwise(stock: Stock, laser: Laser) -> bool:
    """Return whether the length of the stock's sheets lies along the bed's width."""
    (bed_width, bed_depth), (length, width) = laser.bed, stock.sheet
    along = min(length, bed_width) * min(width, bed_depth)
    turned = min(width, bed_width) * min(length, bed_depth)
    return along >= turned - LENGTH


def lie_rest(rest: tuple[float, float], stock: Stock, laser: Laser) -> tuple[float, float]:
    """Return (width, height) of a (length, width) piece of a sheet, lying like whole sheets: what the bed takes."""
    lying = rest if lies_lengthwise(stock, laser) else rest[::-1]
    return min(lying[0], laser.bed[0]), min(lying[1], laser.bed[1])


def route(
    parts: Sequence[Part],
    benches: Sequence[Bench],
    chosen: Mapping[str, str],
    progress: Progress = SILENT,
) -> tuple[list[list[Piece]], tuple[Finding, ...]]:
    """Return the pieces for each bench, and findings for parts that are cut elsewhere or nowhere.

    chosen: name of the laser that the maker wants for a part, by its id; no other is tried then. progress is told
    before every part that nothing is done yet. Raises CancelledError where the work was given up.
    """
    taken: list[list[Piece]] = [[] for _ in benches]
    findings: list[Finding] = []
    for part in parts:
        progress.tell(0.0)
        name = chosen.get(part.id, "")
        allowed = [k for k, bench in enumerate(benches) if not name or bench.laser.name == name]
        if not allowed:
            known = ", ".join(bench.laser.name for bench in benches)
            raise BadSettingError(f"Part {part.id} is meant for the laser {name!r}, which is not among {known}")
        tried = [(k, *benches[k].prepare(part)) for k in allowed]
        fitting = [(k, piece, remarks) for k, piece, remarks in tried if isinstance(piece, Piece)]
        if not fitting:
            nearest = min(tried, key=lambda attempt: attempt[1].excess if isinstance(attempt[1], Unfit) else 0.0)
            findings += nearest[2]
            continue
        # where the grain matters a larger laser that keeps it is better than a smaller one that does not
        place, piece, remarks = next((tried_place for tried_place in fitting if tried_place[1].keeps_grain), fitting[0])
        taken[place].append(piece)
        findings += remarks
        if place != allowed[0]:
            findings.append(_elsewhere(part, benches[allowed[0]], benches[place], tried[0][1]))
    return taken, tuple(findings)


def _elsewhere(part: Part, first: Bench, there: Bench, found: Piece | Unfit) -> Finding:
    why = "does not keep its grain on" if isinstance(found, Piece) else f"is {found.excess:.1f} mm too long for"
    message = f"Part {part.id} {why} the {first.laser.label} and is cut on the {there.laser.label}"
    return Finding(Severity.NOTE, "part-on-other-laser", message, Location(part=part.id))
