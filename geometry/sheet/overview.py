"""The overview: all sheets on one page for the wall of the workshop, to tick off and to find parts by.

Parts are coloured by what they are for and carry their ids; below each sheet stand its number, stock and
size. The page is a PDF of A4 or A3 for recognising; the cut files are the true size.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import Enum

import numpy as np
import shapely

from ..part import Part
from .fills import FILLS, SHEET, SLITS
from .layout import Layout
from .pdf import Shape, Words, write_pdf

__all__ = ["Page", "print_overview"]


class Page(Enum):
    """Sizes of paper across, mm (ISO 216:2007, A series)."""

    A4 = (297.0, 210.0)
    A3 = (420.0, 297.0)


#: Margin of the page, height of the heading and of the line below each sheet, gap between sheets, mm.
_MARGIN, _HEAD, _LINE, _GAP = 10.0, 12.0, 7.0, 6.0


def print_overview(layout: Layout, parts: Mapping[str, Part], *, title: str, page: Page = Page.A3) -> bytes:
    """Return all sheets of the layout as a PDF file of one page."""
    return write_pdf(page.value, _marks(layout, parts, title, page), title=title)


def _marks(layout: Layout, parts: Mapping[str, Part], title: str, page: Page) -> list[Shape | Words]:
    """Return everything on the page, from back to front, mm, y up."""
    width, height = page.value
    count = len(layout.sheets)
    marks: list[Shape | Words] = [Words(title, (_MARGIN, height - _MARGIN - 5.0), 6.0)]
    kinds = sorted({parts[placement.part].kind for placement in layout.placements if placement.part in parts})
    x = width - _MARGIN - 26.0 * len(kinds)
    for kind in kinds:
        corners = np.array([[0, 0], [4, 0], [4, 4], [0, 4.0]]) + np.array([x, height - _MARGIN - 5.0])
        marks.append(Shape((corners,), fill=FILLS[kind], closed=True))
        marks.append(Words(kind.value, (x + 5.5, height - _MARGIN - 4.0), 3.5))
        x += 26.0
    if not count:
        return marks
    columns, scale = _best_grid(
        [sheet.size for sheet in layout.sheets], width - 2 * _MARGIN, height - 2 * _MARGIN - _HEAD
    )
    cell = (width - 2 * _MARGIN + _GAP) / columns
    row = (height - 2 * _MARGIN - _HEAD) / math.ceil(count / columns)
    for index in range(count):
        left = _MARGIN + cell * (index % columns)
        top = height - _MARGIN - _HEAD - row * (index // columns)
        tall = layout.sheets[index].size[1] * scale
        marks += _sheet(layout, index, parts, np.array([left, top - tall]), scale)
    return marks


def _best_grid(sizes: list[tuple[float, float]], wide: float, high: float) -> tuple[int, float]:
    """Return the number of columns at which the sheets come out largest, and their scale, the same for all."""
    most = max(size[0] for size in sizes), max(size[1] for size in sizes)
    scales = []
    for columns in range(1, len(sizes) + 1):
        rows = math.ceil(len(sizes) / columns)
        across = ((wide + _GAP) / columns - _GAP) / most[0]
        scales.append((min(across, (high / rows - _LINE) / most[1]), -columns))
    scale, columns = max(scales)
    return -columns, max(scale, 1e-3)


def _sheet(
    layout: Layout,
    index: int,
    parts: Mapping[str, Part],
    corner: np.ndarray,
    scale: float,
) -> list[Shape | Words]:
    """Return one sheet with its parts, its lower left corner at ``corner``."""
    sheet = layout.sheets[index]
    wide, tall = sheet.size
    edge = np.array([[0, 0], [wide, 0], [wide, tall], [0, tall]])
    marks: list[Shape | Words] = [Shape((edge * scale + corner,), "#777777", SHEET, 0.25, closed=True)]
    ids = []
    for placement in layout.placements:
        part = parts.get(placement.part)
        if placement.sheet != index or part is None:
            continue

        def put(points: np.ndarray, place: object = placement.place) -> np.ndarray:
            return np.asarray(place(points)) * scale + corner  # type: ignore[operator]

        rings = (part.outline.exterior, *part.outline.interiors)
        lines = tuple(put(np.asarray(ring.coords)[:-1]) for ring in rings)
        marks.append(Shape(lines, fill=FILLS[part.kind], width=0.15, closed=True))
        for placed in part.lattices:
            marks.append(Shape(tuple(put(line) for line in placed.slit_lines), SLITS, width=0.05))
        spot = put(np.asarray(shapely.point_on_surface(part.outline).coords))[0]
        size = min(4.0, max(1.2, 0.5 * min(part.size) * scale))
        # A letter of this face is about 0.6 of its size wide.
        ids.append(Words(part.id, (float(spot[0]) - 0.3 * size * len(part.id), float(spot[1]) - 0.35 * size), size))
    several = len({sheet.laser.name for sheet in layout.sheets}) > 1
    on = f" on the {sheet.laser.label}" if several else ""
    about = f"Sheet {index + 1} of {len(layout.sheets)}: {sheet.stock.label}{on}, {wide:g} x {tall:g} mm, {sheet.file}"
    return [*marks, *ids, Words(about, (float(corner[0]), float(corner[1]) - 4.0), 3.2)]
