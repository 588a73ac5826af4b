"""Sketches for the brush: a face of a part to scale, its colours numbered, its masks, hatched where it stays bare."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Polygon

from ..paint.boundaries import boundaries_of
from ..paint.contrast import LEAST_TEXT, readable
from ..paint.paint import Paint
from ..paint.plan import PaintPlan
from ..part import ColourField, Part
from ..polygons import polygons_in
from .markup import text

__all__ = ["LEAST_TAPED", "bare_of", "draw_face"]

#: Height of numbers on paper, and the least that is read without a lens, mm (common practice, no source).
_LETTER, _SMALLEST = 2.6, 1.3

#: Between the strokes of the hatching over what stays bare, and round a lattice, mm on paper and mm of the board.
_HATCH, _AROUND = 1.6, 1.0

#: What of a face is smaller stays unhatched, mm^2: no tape covers it.
_LEAST_BARE = 3.0

#: Smaller pieces of a field are picked out with a fine brush and not taped, mm^2: two bricks (common practice, no
#: source).
LEAST_TAPED = 40.0

#: A digit is so many times as wide as it is high.
_WIDE = 0.6

#: At most so many fields of one colour get their number on a face, the largest ones.
_MOST = 40

#: Fill of a field without a colour of its own.
_PLAIN = "#f6f1e4"

#: Ink of letters and lines.
_INK = "#1d1d1b"


def bare_of(part: Part, fields: Sequence[ColourField]) -> shapely.Geometry:
    """Return what of a face stays bare, in the part frame: all that is in none of its fields."""
    covered = shapely.union_all([field.area for field in fields])
    return MultiPolygon(polygons_in(shapely.difference(part.outline, covered), above=_LEAST_BARE))


def draw_face(part: Part, fields: Sequence[ColourField], plan: PaintPlan, paint: Paint, *, scale: float) -> str:
    """Return one face of a part as an ``<svg>`` element.

    fields: those of this face. The face that lies down on the laser is seen from below.
    """
    up = fields[0].up
    x0, y0, x1, y1 = part.outline.bounds
    turn = np.array([1.0, -1.0]) if up else np.array([-1.0, -1.0])
    low = turn[0] * (x0 if up else x1)

    def path(area: shapely.Geometry) -> str:
        rings = shapely.get_rings(shapely.get_parts(area))
        return "".join(_path(shapely.get_coordinates(ring)[:-1] * turn, closed=True) for ring in rings)

    body = [f'<path d="{path(part.outline)}" fill="#ffffff" stroke="none"/>']
    for field in fields:
        fill = paint.colour_of(field.finish, field.role) or _PLAIN
        body.append(f'<path d="{path(field.area)}" fill="{fill}" fill-rule="evenodd" stroke="none"/>')
    if up:
        body += _lines(part, paint, fields, turn)
    bare = bare_of(part, fields)
    body += [f'<path d="{_path(line * turn)}" class="bare"/>' for line in _hatched(bare, _HATCH / scale)]
    body += [
        f'<path d="{path(Polygon(placed.zone).buffer(_AROUND, join_style="mitre"))}" class="thin"/>'
        for placed in part.lattices
    ]
    body += [
        f'<path d="{_path(shapely.get_coordinates(line) * turn)}" class="mask"/>' for line in _masks(fields, paint)
    ]
    body.append(f'<path d="{path(part.outline)}" fill="none" stroke="{_INK}"/>')
    for field in fields:
        body += _numbers(field, plan.number_of(field), paint, turn, scale)
    wide, high = x1 - x0 + 2, y1 - y0 + 2
    side = "the face that lies up" if up else "the face that lies down"
    return (
        f'<svg role="img" class="paint" viewBox="{low - 1:.2f} {-y1 - 1:.2f} {wide:.2f} {high:.2f}"'
        f' style="width:{wide * scale:.1f}mm;aspect-ratio:{wide:.2f}/{high:.2f}">'
        f"<title>{text(part.name)}, {side}</title>{''.join(body)}</svg>"
    )


def _lines(part: Part, paint: Paint, fields: Sequence[ColourField], turn: np.ndarray) -> Iterator[str]:
    """Yield the lines of finishes, each in the colour that is read on its ground."""
    for dressing in part.dressings:
        ground = next((field for field in fields if field.finish == dressing.finish and not field.thin), None)
        ink = paint.line_on(ground.finish, ground.role) if ground is not None else _INK
        drawn = "".join(_path(line * turn) for line in dressing.lines)
        yield f'<path d="{drawn}" fill="none" stroke="{ink}" class="finish"/>'


def _masks(fields: Sequence[ColourField], paint: Paint) -> list[LineString]:
    """Return the lines along which tape lies: where two colours meet, but not round single bricks and stones."""
    large = [replace(field, area=MultiPolygon(kept)) for field in fields if (kept := _taped(field))]
    return [line for line in shapely.get_parts(boundaries_of(large, paint)) if line.length > 0.0]


def _taped(field: ColourField) -> list[Polygon]:
    """Return the pieces of a field that are masked with tape."""
    return [piece for piece in shapely.get_parts(field.area) if piece.area > LEAST_TAPED]


def _hatched(bare: shapely.Geometry, spacing: float) -> list[np.ndarray]:
    """Return strokes at 45 degrees over an area, (2, 2) mm each."""
    if shapely.is_empty(bare):
        return []
    x0, y0, x1, y1 = shapely.bounds(bare).tolist()
    step, high = spacing * math.sqrt(2.0), y1 - y0
    starts = np.arange(math.floor((x0 - high) / step), math.ceil(x1 / step) + 1) * step
    strokes = shapely.linestrings([[(x, y0), (x + high, y1)] for x in starts])
    shapely.prepare(bare)
    kept = shapely.get_parts(shapely.intersection(strokes[shapely.intersects(bare, strokes)], bare))
    return [shapely.get_coordinates(line) for line in shapely.get_parts(kept) if shapely.length(line) > 0.0]


def _numbers(field: ColourField, number: int, paint: Paint, turn: np.ndarray, scale: float) -> Iterator[str]:
    """Yield the number of a field in its pieces, as large as these take it, the larger pieces first."""
    words = str(number)
    ink = readable(_INK, paint.colour_of(field.finish, field.role) or _PLAIN, LEAST_TEXT)
    pieces = sorted(shapely.get_parts(field.area), key=lambda piece: -piece.area)[:_MOST]
    for k, piece in enumerate(pieces):
        circle = shapely.maximum_inscribed_circle(piece, tolerance=max(0.3, math.sqrt(piece.area) / 20))
        x, y = shapely.get_coordinates(circle)[0] * turn
        room = 2.0 * shapely.length(circle) / math.hypot(1.0, _WIDE * len(words))
        size = min(_LETTER / scale, room)
        if size * scale < _SMALLEST:
            if k:
                break
            size = _SMALLEST / scale
        yield f'<text x="{x:.2f}" y="{y:.2f}" dy="0.35em" font-size="{size:.2f}" style="fill:{ink}">{words}</text>'


def _path(points: np.ndarray, *, closed: bool = False) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + ("Z" if closed else "")
