"""Layout: parts turned (never mirrored) and placed on as few sheets as the packer finds.

A sheet lies on the laser's bed with a margin along its edge; parts keep their spacing, and where
the grain matters they are turned so that it runs as the part wants it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..board.stock import Grain, Stock
from ..errors import BadSettingError
from ..findings import Finding, Location, Severity, in_order
from ..flat.part import Part
from ..tolerance import ANGLE, LENGTH
from .bound import fewest_sheets
from .kerf import DrawnPart, draw_part
from .laser import Laser
from .lettering import Label, place_label
from .packing import Item, pack

__all__ = ["Layout", "Placement", "Sheet", "lay_out"]


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


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """A part with what it needs on the sheet: outline as drawn, bounds of all its lines and its label."""

    part: Part
    outline: Polygon
    bounds: tuple[float, float, float, float]
    turns: tuple[int, ...]


def lay_out(parts: Sequence[Part], stocks: Mapping[str, Stock], laser: Laser) -> Layout:
    """Place all parts on sheets of their stocks, sheets of early stages first within each stock.

    A part that no sheet takes is left out with a finding of severity error. Deterministic.
    Raises BadSettingError for a part whose stock is unknown and for margins that leave no room.
    """
    sheets: list[Sheet] = []
    placements: list[Placement] = []
    findings: list[Finding] = []
    bounds: list[tuple[int, str]] = []
    for part in parts:
        if part.stock not in stocks:
            raise BadSettingError(f"Part {part.id} wants the stock {part.stock!r}, which is not among the stocks")
    used = sorted({part.stock for part in parts})
    for stock in (stocks[name] for name in used):
        size, grain, remarks = _lie_on_bed(stock, laser)
        findings += remarks
        # the beam burns half a kerf on either side of a drawn line: margin and spacing are what stays whole
        beam = replace(laser, margin=laser.margin + stock.kerf / 2, spacing=laser.spacing + stock.kerf)
        pieces = []
        for part in sorted((each for each in parts if each.stock == stock.name), key=lambda each: each.id):
            piece, remarks = _prepare(part, stock, beam, size, grain)
            findings += remarks
            if piece is not None:
                pieces.append(piece)
        bound, placed = _place_stock(pieces, beam, size, len(sheets))
        bounds.append((bound[0], f"{stock.label}: {bound[0]}, because {bound[1]}"))
        placements += placed
        areas: dict[int, float] = {}
        for each in placed:
            areas[each.sheet] = areas.get(each.sheet, 0.0) + next(p.part.area for p in pieces if p.part.id == each.part)
        for number in sorted(areas):
            file = f"sheet-{number + 1:02d}-{_slug(stock.name)}.svg"
            sheets.append(Sheet(stock.name, size, areas[number] / (size[0] * size[1]), file))
    bound = (sum(each[0] for each in bounds), "; ".join(each[1] for each in bounds) or "there is nothing to cut")
    return Layout(tuple(sheets), tuple(placements), bound, in_order(findings))


def _place_stock(
    pieces: Sequence[_Piece], laser: Laser, size: tuple[float, float], first: int
) -> tuple[tuple[int, str], list[Placement]]:
    """Return the bound and the placements of one stock's parts; its sheets are numbered from ``first``."""
    room = (size[0] - 2 * laser.margin, size[1] - 2 * laser.margin)
    outlines = {piece.part.id: piece.outline for piece in pieces}
    bound = fewest_sheets(outlines, {piece.part.id: piece.turns for piece in pieces}, room, laser.spacing)
    items = []
    for key, piece in enumerate(pieces):
        x0, y0, x1, y1 = piece.bounds
        wide, tall = x1 - x0 + laser.spacing, y1 - y0 + laser.spacing
        ways = tuple((quarter, wide, tall) if quarter % 2 == 0 else (quarter, tall, wide) for quarter in piece.turns)
        items.append(Item(key, ways, piece.part.stage))
    packed = pack(items, room[0] + laser.spacing, room[1] + laser.spacing, fewest=bound[0])
    placements = []
    for each in sorted(packed, key=lambda p: (p.sheet, p.key)):
        piece = pieces[each.key]
        unshifted = Placement(piece.part.id, first + each.sheet, each.quarter * math.pi / 2, np.zeros(2))
        x0, y0, x1, y1 = piece.bounds
        corner = unshifted.place(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])).min(axis=0)
        shift = np.array([each.x + laser.margin, each.y + laser.margin]) - corner
        shift.setflags(write=False)
        placements.append(Placement(piece.part.id, unshifted.sheet, unshifted.turn, shift))
    return bound, placements


def _lie_on_bed(stock: Stock, laser: Laser) -> tuple[tuple[float, float], float | None, tuple[Finding, ...]]:
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


def _prepare(
    part: Part, stock: Stock, laser: Laser, size: tuple[float, float], grain: float | None
) -> tuple[_Piece | None, tuple[Finding, ...]]:
    """Draw a part, find the turns it may take, and report what is wrong with it."""
    drawn = draw_part(part, stock.kerf)
    label = place_label(part, laser)
    findings = [*drawn.findings, *label.findings]
    bounds = _bounds(part, drawn, label)
    room = (size[0] - 2 * laser.margin, size[1] - 2 * laser.margin)
    wide, tall = bounds[2] - bounds[0], bounds[3] - bounds[1]
    fitting = [
        quarter
        for quarter, (w, h) in enumerate([(wide, tall), (tall, wide)])
        if w <= room[0] + LENGTH and h <= room[1] + LENGTH
    ]
    where = Location(part=part.id)
    if not fitting:
        excess = min(max(w - room[0], h - room[1]) for w, h in ((wide, tall), (tall, wide)))
        message = (
            f"Part {part.id} needs {wide:.1f} x {tall:.1f} mm with kerf and label, {excess:.1f} mm more than a sheet "
            f"of {stock.label} has inside its margins ({room[0]:.1f} x {room[1]:.1f} mm); part it with a break or "
            f"take a larger sheet"
        )
        return None, (*findings, Finding(Severity.ERROR, "part-longer-than-sheet", message, where))
    turns = [quarter for quarter in fitting if quarter in _along_grain(part.grain, grain)]
    if not turns:
        message = (
            f"Part {part.id} fits a sheet of {stock.label} only with the grain the other way than it should run; "
            f"part it with a break, or accept a weaker part"
        )
        findings.append(Finding(Severity.WARNING, "grain-not-kept", message, where))
        turns = fitting
    if len(drawn.outer) == 0:
        return None, tuple(findings)
    return _Piece(part, drawn.body, bounds, tuple(turns)), tuple(findings)


def _along_grain(wanted: float | None, grain: float | None) -> tuple[int, ...]:
    """Return the quarter turns (0 or 1) that bring the part's grain nearest to the sheet's."""
    if wanted is None or grain is None:
        return 0, 1
    off = [abs(math.remainder(wanted + quarter * math.pi / 2 - grain, math.pi)) for quarter in (0, 1)]
    return tuple(quarter for quarter in (0, 1) if off[quarter] <= min(off) + ANGLE)


def _bounds(part: Part, drawn: DrawnPart, label: Label) -> tuple[float, float, float, float]:
    """Return the bounds of everything that is drawn for a part and its label, part frame, mm."""
    marks = [drawn.outer.points, *(lines.points for lines in drawn.slits), *part.engrave, *part.score, *label.strokes]
    if label.footprint is not None:
        marks.append(shapely.get_coordinates(label.footprint))
    points = np.concatenate([mark for mark in marks if len(mark)])
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-") or "stock"
