"""Cut files: one true-size SVG per sheet that any laser program reads the same way.

Width and height are in millimetres and so is the viewBox, lines are plain paths in absolute
coordinates, operations are groups in the order of cutting, told apart by stroke colour. There is
nothing in the file that some program might ignore: no transforms, styles, texts or references.
Only here does y point down.
"""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter
from collections.abc import Mapping

import numpy as np
import svgwrite

from ..beam.laser import Operation
from ..beam.lines import Lines
from ..part import Part
from ..tolerance import ANGLE
from .layout import Layout, Placement, Sheet
from .order import CutLines, sheet_lines

__all__ = ["draw_sheet", "path_data", "place_matrix"]

_STROKE_WIDTH = "0.1"

# What XML cannot carry: control characters other than tab and line ends, lone surrogates, non-characters.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def draw_sheet(
    layout: Layout,
    index: int,
    parts_by_id: Mapping[str, Part],
    lines: CutLines | None = None,
    *,
    title: str,
    date: str = "",
) -> str:
    """Return sheet ``index`` of the layout as the text of an SVG file.

    Groups fill, engrave, score, slits, inner, outer follow one another in the order of cutting. In each of them all
    that belongs to one part and is cut in one go lies in a group of its own, F1-inner of the part F1, so that a part
    can be switched off. It holds one path per line or, for hatching, engraving, scores and each lattice, one compound
    path, with ids from part id and running number. Coordinates have three decimals.
    lines: of the sheet, where they are known already.
    """
    sheet = layout.sheets[index]
    stock, laser = sheet.stock, sheet.laser
    width, height = (_number(side) for side in sheet.size)
    drawing = svgwrite.Drawing(size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False)
    about = (
        f"{stock.label}, {stock.thickness:g} mm thick; lines are drawn for a kerf of {stock.kerf:g} mm; "
        f"for the {laser.label}; cut in the order {', '.join(operation.value for operation in Operation)}"
    )
    if date:
        about = f"{about}; {date}"
    name = f"{title}: sheet {index + 1} of {len(layout.sheets)}"
    drawing.set_desc(title=_UNPRINTABLE.sub("\ufffd", name), desc=_UNPRINTABLE.sub("\ufffd", about))
    lines = sheet_lines(layout, index, parts_by_id) if lines is None else lines
    numbers: Counter[str] = Counter()
    groups: Counter[tuple[str, Operation]] = Counter()
    for operation, paths in lines.items():
        colour = laser.colours[operation]
        group = drawing.g(id=operation.value, stroke=colour, fill="none", stroke_width=_STROKE_WIDTH)
        for part, run in itertools.groupby(paths, key=lambda entry: entry[0]):
            path_name = _xml_name(part)
            groups[path_name, operation] += 1
            again = f"-{groups[path_name, operation]}" if groups[path_name, operation] > 1 else ""
            own = drawing.g(id=f"{path_name}-{operation.value}{again}")
            for _, path in run:
                numbers[path_name] += 1
                down = np.column_stack([path.points[:, 0], sheet.size[1] - path.points[:, 1]])
                own.add(
                    drawing.path(d=path_data(path.moved(down)), id=f"{path_name}-{numbers[path_name]}", stroke=colour)
                )
            group.add(own)
        drawing.add(group)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{drawing.tostring()}\n'


def place_matrix(placement: Placement, sheet: Sheet) -> tuple[float, float, float, float, float, float]:
    """Return (a, b, c, d, e, f) from the part frame to SVG user units: x' = a x + c y + e, y' = b x + d y + f.

    The determinant is -1, since y points down in the file; +1 would be a mirrored part.
    """
    c, s = _exact(math.cos(placement.turn)), _exact(math.sin(placement.turn))
    x, y = (float(value) for value in placement.shift)
    return c, _exact(-s), _exact(-s), -c, x, sheet.size[1] - y


def path_data(lines: Lines) -> str:
    """Return the path data of all lines, absolute coordinates with three decimals and no step of no length."""
    if not len(lines):
        return ""
    lines = _without_standstill(lines)
    forms: dict[tuple[int, bool], str] = {}
    pattern = []
    for count, closed in zip(np.diff(lines.starts).tolist(), lines.closed.tolist(), strict=True):
        form = forms.get((count, closed))
        if form is None:
            form = "M%s,%s" + "L%s,%s" * (count - 1) + ("Z" if closed else "")
            forms[count, closed] = form
        pattern.append(form)
    # The rows of a lattice repeat their coordinates, so each is written as text only once.
    values, which = np.unique(np.rint(lines.points * 1000).astype(np.int64).ravel(), return_inverse=True)
    texts = [f"{value / 1000:.3f}" for value in values.tolist()]
    return "".join(pattern) % tuple(map(texts.__getitem__, which.tolist()))


def _without_standstill(lines: Lines) -> Lines:
    """Return the lines without points that the file's decimals put onto the point before, where a beam would wait."""
    written = np.rint(lines.points * 1000)
    moves = np.ones(len(written), dtype=bool)
    moves[1:] = (written[1:] != written[:-1]).any(axis=1)
    moves[lines.starts[:-1]] = True
    if moves.all():
        return lines
    kept = np.add.reduceat(moves, lines.starts[:-1])
    # a point alone is no line: what is shorter than a decimal keeps its last point
    moves[lines.starts[1:][kept < 2] - 1] = True
    kept = np.maximum(kept, 2)
    return Lines(lines.points[moves], np.concatenate([[0], np.cumsum(kept)]), lines.closed)


def _exact(value: float) -> float:
    """Return the value, or the whole number that it misses by rounding alone."""
    whole = round(value)
    return whole + 0.0 if abs(value - whole) < ANGLE else value


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _xml_name(part: str) -> str:
    name = re.sub(r"[^A-Za-z0-9_.-]+", "-", part)
    return name if re.match(r"[A-Za-z_]", name) else f"part-{name}"
