"""Laying plans: pieces in their places, in the colour of their board and with their names, as one picture."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from .markup import text

__all__ = ["LaidPiece", "laying_plan"]

#: Widest plan that a page takes, mm, and the largest letters on it, mm on paper.
_PAGE, _LETTER = 120.0, 3.0

#: Letters are this share of the width of a piece, and so many times as high as a name is wide in letters.
_SHARE, _WIDE = 0.42, 0.62

#: How near the middle of the largest circle in a piece is looked for, mm; a centroid with this share of its radius
#: round it is as good.
_NEAR, _CENTRAL = 0.2, 0.8

#: Names run along pieces that are so many times as long as wide.
_LONG = 1.2


@dataclass(frozen=True, slots=True, eq=False)
class LaidPiece:
    """A piece on a plan. name: empty for none; area: on the plan, mm; fill: its colour; dark: its letters are white."""

    name: str
    area: Polygon
    fill: str
    dark: bool


def laying_plan(grounds: Sequence[shapely.Geometry], fill: str, pieces: Iterable[LaidPiece], *, label: str) -> str:
    """Return pieces on their grounds as an ``<svg>`` element, y up. fill: colour of the grounds; label: what it is."""
    laid = list(pieces)
    x0, y0, x1, y1 = shapely.total_bounds([*grounds, *(piece.area for piece in laid)]).tolist()
    scale = min(_PAGE / (x1 - x0), 1.0)
    body = [f'<path d="{_rings(ground)}" fill="{fill}" stroke="#3a3a38"/>' for ground in grounds]
    body += [f'<path d="{_rings(piece.area)}" fill="{piece.fill}" stroke="#3a3a38"/>' for piece in laid]
    body += [_written(piece, _LETTER / scale) for piece in laid if piece.name]
    width, height = (x1 - x0) * scale, (y1 - y0) * scale
    return (
        f'<svg width="{width:.2f}mm" height="{height:.2f}mm" viewBox="{x0:.2f} {-y1:.2f} {x1 - x0:.2f} {y1 - y0:.2f}" '
        f'stroke-width="0.3" role="img" aria-label="{text(label)}">{"".join(body)}</svg>'
    )


def _written(piece: LaidPiece, largest: float) -> str:
    """Return the name of a piece along its longer side; largest: size of letters, mm on the plan."""
    circle = shapely.maximum_inscribed_circle(piece.area, tolerance=_NEAR)
    middle, rim = shapely.points(shapely.get_coordinates(circle))
    radius = shapely.distance(middle, rim)
    centroid = piece.area.centroid
    if piece.area.contains(centroid) and piece.area.boundary.distance(centroid) > _CENTRAL * radius:
        middle = centroid
    long, turn = _lie(piece.area)
    size = min(_SHARE * 2.0 * radius, long / (_WIDE * (len(piece.name) + 1)), largest)
    ink = "#ffffff" if piece.dark else "#1d1d1b"
    return (
        f'<text transform="translate({middle.x:.2f} {-middle.y:.2f}) rotate({-turn:.1f})" y="{size / 3:.2f}" '
        f'font-size="{size:.2f}" style="fill:{ink}" stroke="none" text-anchor="middle">{text(piece.name)}</text>'
    )


def _lie(area: Polygon) -> tuple[float, float]:
    """Return the length of the smallest box round an area, mm, and how it is turned, degrees in -90 .. 90.

    What is about as long as wide is read level.
    """
    sides = np.diff(shapely.get_coordinates(shapely.minimum_rotated_rectangle(area))[:3], axis=0)
    wide, long = sorted(np.hypot(*sides.T).tolist())
    if long < _LONG * wide:
        return wide, 0.0
    x, y = sides[int(np.argmax(np.hypot(*sides.T)))].tolist()
    return long, (math.degrees(math.atan2(y, x)) + 89.9) % 180.0 - 89.9


def _rings(area: shapely.Geometry) -> str:
    """Return the path of all rings of an area, y down."""
    rings = [shapely.get_coordinates(ring)[:-1] * np.array([1.0, -1.0]) for ring in shapely.get_rings(area)]
    return "".join("M" + "L".join(f"{x:.2f},{y:.2f}" for x, y in ring) + "Z" for ring in rings)
