"""The mock-up: all parts at true size on paper, to be glued to card and tried before the laser is on.

Small parts share pages, large ones run over several that overlap by ``OVERLAP`` and have crosses to lay on each other.
Where a lattice begins and ends lies a line to bend at; the card between both goes round the corner as the board will.
Every page has a bar of ``BAR`` to measure, since printers like to fit a page to their own margins.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from ..part import Part, PartKind
from .pdf import Shape, Words, write_pdf

__all__ = ["BAR", "OVERLAP", "Paper", "print_mockup"]


class Paper(Enum):
    """Sizes of paper, width and height, mm: ISO 216:2007 A4, and Letter of ANSI/ASME Y14.1."""

    A4 = (210.0, 297.0)
    LETTER = (215.9, 279.4)


#: How far pages of one part run over each other, and length of the bar to measure, mm.
OVERLAP, BAR = 10.0, 100.0

#: What printers leave white, height of the heading and of the bar's strip, gap between parts, mm.
_MARGIN, _HEAD, _FOOT, _GAP = 10.0, 12.0, 10.0, 4.0

#: Arms of a cross, mm, and where along a page's edge it lies, as shares.
_ARM, _CROSSES = 3.0, (0.25, 0.75)

#: Lines to bend at: back, away from who looks at the print, and toward them.
_BACK, _TOWARD = (4.0, 2.0), (4.0, 1.5, 0.5, 1.5)

_CUT, _BEND, _SEAM = "#000000", "#b5179e", "#999999"

#: What is cut of board alone: card has no thickness to laminate, and a case is no part of the building.
_LEFT_OUT = (PartKind.CASE, PartKind.COUPON)


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """A part turned as it lies on paper: what is drawn of it, its lower left corner in the origin, and its size, mm."""

    part: Part
    rings: tuple[np.ndarray, ...]
    bends: tuple[tuple[np.ndarray, bool], ...]
    inside: tuple[float, float]
    size: tuple[float, float]


def print_mockup(parts: Sequence[Part], *, title: str, paper: Paper = Paper.A4) -> bytes:
    """Return a PDF file of all parts of a building at true size; one empty page where there is none.

    >>> print_mockup((), title='House')[:5]
    b'%PDF-'
    """
    width, height = paper.value
    field = (width - 2 * _MARGIN, height - 2 * _MARGIN - _HEAD - _FOOT)
    pieces = [_laid(part, field) for part in parts if part.kind not in _LEFT_OUT]
    pages = [*_large(pieces, field), *_small(pieces, field)] or [("nothing to print", [])]
    drawn = [
        [*_frame(paper.value[1] - _MARGIN, f"{title}: {what}, page {k} of {len(pages)}"), *marks]
        for k, (what, marks) in enumerate(pages, start=1)
    ]
    return write_pdf(paper.value, *drawn, title=f"{title}: mock-up")


def _laid(part: Part, field: tuple[float, float]) -> _Piece:
    """Return a part as it is or turned by a right angle, whichever takes fewer pages."""
    turn = min((0, 1), key=lambda quarter: math.prod(_counts(part.size[:: 1 - 2 * quarter], field)))
    x0, y0, x1, y1 = part.outline.bounds
    corner = np.array([x0, y0]) if not turn else np.array([-y1, x0])

    def put(points: np.ndarray) -> np.ndarray:
        points = np.asarray(points, dtype=float)
        return (np.column_stack([-points[:, 1], points[:, 0]]) if turn else points) - corner

    rings = tuple(put(np.asarray(ring.coords)[:-1]) for ring in (part.outline.exterior, *part.outline.interiors))
    bends = tuple(
        (put(placed.zone[ends]), placed.angle * part.board_side > 0.0)
        for placed in part.lattices
        if not placed.swing
        for ends in ([0, 1], [3, 2])
    )
    inside = put(np.asarray(shapely.point_on_surface(part.outline).coords))[0]
    size = (y1 - y0, x1 - x0) if turn else (x1 - x0, y1 - y0)
    return _Piece(part, rings, bends, (float(inside[0]), float(inside[1])), size)


def _counts(size: Sequence[float], field: tuple[float, float]) -> tuple[int, int]:
    """Return over how many pages a size runs, across and up."""
    across, up = (
        max(1, math.ceil((length - OVERLAP) / (room - OVERLAP))) for length, room in zip(size, field, strict=True)
    )
    return across, up


def _large(pieces: Sequence[_Piece], field: tuple[float, float]) -> Iterator[tuple[str, list[Shape | Words]]]:
    """Yield the pages of every part that is larger than one, row by row from below."""
    for piece in pieces:
        across, up = _counts(piece.size, field)
        for row in range(up):
            for column in range(across):
                if across * up == 1:
                    continue
                corner = np.array([column * (field[0] - OVERLAP), row * (field[1] - OVERLAP)])
                where = f"{piece.part.name}, row {row + 1} of {up}, column {column + 1} of {across}"
                marks = [*_drawn(piece, corner, field), *_crosses(corner, field, across, up)]
                yield where, marks


def _small(pieces: Sequence[_Piece], field: tuple[float, float]) -> Iterator[tuple[str, list[Shape | Words]]]:
    """Yield pages with all other parts, in rows of falling height."""
    rest = [piece for piece in pieces if math.prod(_counts(piece.size, field)) == 1]
    rest.sort(key=lambda piece: (-piece.size[1], piece.part.id))
    marks: list[Shape | Words] = []
    x = y = row = 0.0
    for piece in rest:
        if x + piece.size[0] > field[0]:
            x, y, row = 0.0, y + row + _GAP, 0.0
        if y + piece.size[1] > field[1] and marks:
            yield "small parts", marks
            marks, x, y, row = [], 0.0, 0.0, 0.0
        marks += _drawn(piece, np.array([-x, -y]), field)
        x, row = x + piece.size[0] + _GAP, max(row, piece.size[1])
    if marks:
        yield "small parts", marks


def _drawn(piece: _Piece, corner: np.ndarray, field: tuple[float, float]) -> Iterator[Shape | Words]:
    """Yield what of a part lies on the page whose field has this corner in the part's own place, mm."""
    page = shapely.box(0.0, 0.0, *field)
    shift = np.array([_MARGIN, _MARGIN + _FOOT])

    def kept(line: LineString) -> tuple[np.ndarray, ...]:
        pieces = shapely.get_parts(shapely.intersection(shapely.transform(line, lambda xy: xy - corner), page))
        return tuple(
            np.asarray(line.coords) + shift for line in pieces if line.geom_type == "LineString" and not line.is_empty
        )

    for ring in piece.rings:
        lines = kept(LineString(np.vstack([ring, ring[:1]])))
        if lines:
            yield Shape(lines, _CUT, width=0.25)
    for ends, back in piece.bends:
        lines = kept(LineString(ends))
        if lines:
            yield Shape(lines, _BEND, width=0.2, dash=_BACK if back else _TOWARD)
    at = np.array(piece.inside) - corner
    if page.contains(shapely.Point(at)):
        size = max(1.2, min(6.0, 0.4 * min(piece.size), 1.5 * piece.size[0] / len(piece.part.name)))
        spot = at + shift
        yield Words(
            piece.part.name, (float(spot[0]) - 0.3 * size * len(piece.part.name), float(spot[1]) - 0.35 * size), size
        )


def _crosses(corner: np.ndarray, field: tuple[float, float], across: int, up: int) -> Iterator[Shape]:
    """Yield the crosses on the middle of every overlap that lies on a page."""
    step = (field[0] - OVERLAP, field[1] - OVERLAP)
    upright = [
        (k * step[0] + OVERLAP / 2, row * step[1] + share * field[1])
        for k in range(1, across)
        for row in range(up)
        for share in _CROSSES
    ]
    level = [
        (column * step[0] + share * field[0], k * step[1] + OVERLAP / 2)
        for k in range(1, up)
        for column in range(across)
        for share in _CROSSES
    ]
    page = Polygon(np.array([(0.0, 0.0), (field[0], 0.0), field, (0.0, field[1])]))
    for point in (*upright, *level):
        at = np.array(point) - corner
        if page.contains(shapely.Point(at)):
            x, y = at + np.array([_MARGIN, _MARGIN + _FOOT])
            arms = (np.array([[x - _ARM, y], [x + _ARM, y]]), np.array([[x, y - _ARM], [x, y + _ARM]]))
            yield Shape(arms, _SEAM, width=0.2)


def _frame(top: float, heading: str) -> Iterator[Shape | Words]:
    """Yield the heading below the height ``top``, mm, what the lines mean, and the bar to measure."""
    yield Words(heading, (_MARGIN, top - 4.0), 3.6)
    x = _MARGIN
    for words, colour, dash in (
        ("cut", _CUT, ()),
        ("bend back", _BEND, _BACK),
        ("bend toward you", _BEND, _TOWARD),
        ("lay crosses on crosses", _SEAM, ()),
    ):
        yield Shape((np.array([[x, top - 9.0], [x + 12.0, top - 9.0]]),), colour, dash=dash)
        yield Words(words, (x + 13.5, top - 10.0), 2.8, colour)
        x += 46.0
    bar = np.array([[0.0, 3.0], [0.0, 0.0], [BAR, 0.0], [BAR, 3.0]]) + np.array([_MARGIN, _MARGIN])
    yield Shape((bar,), _CUT, width=0.25)
    words = f"This bar is {BAR:g} mm long. If not, print again at 100 %, without fitting to the page."
    yield Words(words, (_MARGIN + BAR + 3.0, _MARGIN + 0.5), 2.6)
