"""Fillings: what stands in an opening: glazing bars, mullions, lattice panes, boards and ledges, panels, louvres.

A filling says which panes of an opening are cut and which lines are engraved on the board that stays. Bars are board of
the wall itself, so that all that knows the wall knows them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box

from ..errors import BadSettingError
from ..tolerance import LENGTH

__all__ = ["BAR", "FILLED", "STILE", "Filled", "Filling", "FillingKind", "fill", "fill_rectangle"]

#: What the laser's time and the report call the lines of all fillings.
FILLED = "Doors and windows"

#: Width of a glazing bar, mm: thinner ones break in the hand. Real ones of 35 to 10 mm (early 18th century to about
#: 1800) would be 0.6 to 0.2 mm at the scale of the figures. A mullion of stone is about 150 mm wide (from memory).
BAR, _MULLION = 1.5, 2.5

#: Board that stays round the panes and lines of a leaf, mm (common practice, no source).
STILE = 3.0

#: Lines keep this from the edges of the board that they are engraved on, mm, as finishes do.
_EDGE = 1.0

#: A pane is no narrower than this, mm: smaller ones are closed by char and paint (common practice, no source).
_LEAST_PANE = 4.0

#: Corner panes that hold no circle of this radius, mm, stay board.
_LEAST_CORNER = 0.5

#: Panes, wide and high, mm: as the hand can cut them; at the scale of the figures (panes of 250 x 350 mm, from memory).
_PANE = (6.5, 7.0)
_TRUE_PANE = (4.2, 5.8)

#: Panes between mullions: lights of 400 x 600 mm (from memory) and what a hand can cut.
_LIGHT, _TRUE_LIGHT = (7.0, 10.0), (6.7, 10.0)

#: Panes of a lattice, from node to node, mm. Quarries of 100 x 150 mm would be 1.7 x 2.5; what is finer than this
#: cannot be cut with bars of 1.5 mm between.
_QUARRY = (5.0, 7.5)

#: A ledged door of 1940 x 800 mm has boards of 95, ledges of 125 and braces of 70 mm: as large as on a door of 45 x 28
#: mm that a base passes, and at the scale of the figures.
_BOARD, _LEDGE, _BRACE = 4.0, 4.0, 3.0
_TRUE_BOARD, _TRUE_LEDGE, _TRUE_BRACE = 1.6, 2.1, 1.2

#: A door higher than this has a ledge in the middle, mm (common practice, no source).
_HIGH_DOOR = 30.0

#: Ledges lie so far from head and foot, as shares of the height (common practice, no source).
_LEDGE_AT = 0.13

#: Pitch of louvres, mm: finer lines burn together.
_LOUVRE, _TRUE_LOUVRE = 2.0, 1.2

#: The glazed share of a half-glazed door (common practice, no source), and of a window above its transom.
_GLAZED, _OVER_TRANSOM = 0.5, 0.35

#: More panes than these in one direction are none that can be cut, whatever the size of the opening.
_MOST = 60


class FillingKind(StrEnum):
    """What stands in an opening."""

    BARS = "glazing bars"
    MULLIONS = "mullions and transom"
    LATTICE = "lattice panes"
    BOARDS = "boards and ledges"
    PANELS = "panels"
    LOUVRES = "louvres"
    HALF_GLAZED = "half glazed"


@dataclass(frozen=True, slots=True)
class Filling:
    """A filling as one maker wants it.

    true_to_scale: as large as the figures, else as it can be cut and seen; bars are never below 1.5 mm.
    across, up: how many panes or boards side by side and above one another, 0 for as many as fit.
    """

    kind: FillingKind
    true_to_scale: bool = False
    across: int = 0
    up: int = 0

    def __post_init__(self) -> None:
        if not (0 <= self.across <= _MOST and 0 <= self.up <= _MOST):
            raise BadSettingError(
                f"{self.across} x {self.up} panes cannot be cut in one opening; take 0 to {_MOST} either way."
            )


@dataclass(frozen=True, slots=True, eq=False)
class Filled:
    """What a filling makes of an opening. panes: what is cut out; lines: (k, 2) mm each, engraved on what stays."""

    panes: tuple[Polygon, ...] = ()
    lines: tuple[np.ndarray, ...] = ()


def fill(outline: Polygon, filling: Filling, *, stile: float = 0.0, hinge_on_left: bool = True) -> Filled:
    """Return the panes and lines of a filling in an outline, mm, y up.

    stile: board that stays round the panes, 0 where the wall beside them does. hinge_on_left: where a leaf hangs, from
    which its braces rise. Too many panes are made fewer, so that each stays 4 mm wide.

    >>> filled = fill(box(0, 0, 20, 22), Filling(FillingKind.BARS))
    >>> len(filled.panes), round(sum(pane.area for pane in filled.panes), 2)
    (9, 323.0)
    """
    return _KINDS[filling.kind](outline, filling, stile, hinge_on_left)


def fill_rectangle(width: float, height: float, filling: Filling, *, stile: float = 0.0) -> Filled:
    """Return the panes and lines of a filling in a rectangle of this size, mm; see ``fill``."""
    return fill(box(0.0, 0.0, width, height), filling, stile=stile)


# -- panes ------------------------------------------------------------------------------------------


def _bars(outline: Polygon, filling: Filling, stile: float, _on_left: bool) -> Filled:
    pane = _TRUE_PANE if filling.true_to_scale else _PANE
    x0, y0, x1, y1 = outline.bounds
    x0, y0, x1, y1 = x0 + stile, y0 + stile, x1 - stile, y1 - stile
    columns = _count(x1 - x0, pane[0], BAR, filling.across)
    rows = _count(y1 - y0, pane[1], BAR, filling.up)
    bars = [*_upright(x0, x1, y0, y1, columns, BAR), *_level(x0, x1, y0, y1, rows, BAR)]
    return Filled(_panes(outline, stile, bars))


def _mullions(outline: Polygon, filling: Filling, stile: float, _on_left: bool) -> Filled:
    light = _TRUE_LIGHT if filling.true_to_scale else _LIGHT
    x0, y0, x1, y1 = outline.bounds
    x0, y0, x1, y1 = x0 + stile, y0 + stile, x1 - stile, y1 - stile
    bars = _upright(x0, x1, y0, y1, _count(x1 - x0, light[0], _MULLION, filling.across), _MULLION)
    if _count(y1 - y0, light[1], _MULLION, filling.up) > 1:
        transom = y1 - _OVER_TRANSOM * (y1 - y0)
        bars.append(box(x0, transom - _MULLION / 2, x1, transom + _MULLION / 2))
    return Filled(_panes(outline, stile, bars))


def _lattice(outline: Polygon, filling: Filling, stile: float, _on_left: bool) -> Filled:
    x0, y0, x1, y1 = outline.bounds
    x0, y0, x1, y1 = x0 + stile, y0 + stile, x1 - stile, y1 - stile
    wide, high = x1 - x0, y1 - y0
    if min(wide, high) < _LEAST_PANE:
        return Filled()
    columns, rows = (
        max(min(wanted or round(size / unit), math.floor(size / unit)), 1)
        for wanted, size, unit in ((filling.across, wide, _QUARRY[0]), (filling.up, high, _QUARRY[1]))
    )
    over, rise = wide / columns, high / rows
    # from wall to wall and one node beyond, so that bars end in the frame
    lines = []
    for k in range(-columns - 1, rows + 2):
        low = y0 + k * rise
        lines.append([(x0 - over, low - rise), (x1 + over, low + (columns + 1) * rise)])
        lines.append([(x1 + over, low - rise), (x0 - over, low + (columns + 1) * rise)])
    bars = [LineString(line).buffer(BAR / 2, cap_style="flat") for line in lines]
    return Filled(_panes(outline, stile, bars))


def _half_glazed(outline: Polygon, filling: Filling, stile: float, on_left: bool) -> Filled:
    x0, y0, x1, y1 = outline.bounds
    middle = y1 - _GLAZED * (y1 - y0)
    # a rail stays between glass and panels, and a stile round the glass even where no leaf hangs
    upper = outline.intersection(box(x0, middle, x1, y1))
    lower = outline.intersection(box(x0, y0, x1, middle))
    glass = _bars(upper, filling, max(stile, STILE), on_left)
    return Filled(glass.panes, _panels(lower, Filling(filling.kind, across=filling.across, up=1), stile, on_left).lines)


def _count(length: float, unit: float, bar: float, wanted: int) -> int:
    """Return how many panes lie along a length with bars between: as wanted or by their size, but none too narrow."""
    most = math.floor((length + bar) / (_LEAST_PANE + bar))
    return max(min(wanted or round((length + bar) / (unit + bar)), most), 1)


def _upright(x0: float, x1: float, y0: float, y1: float, columns: int, bar: float) -> list[Polygon]:
    pitch = (x1 - x0 + bar) / columns
    return [box(x0 + k * pitch - bar, y0, x0 + k * pitch, y1) for k in range(1, columns)]


def _level(x0: float, x1: float, y0: float, y1: float, rows: int, bar: float) -> list[Polygon]:
    pitch = (y1 - y0 + bar) / rows
    return [box(x0, y0 + k * pitch - bar, x1, y0 + k * pitch) for k in range(1, rows)]


def _panes(outline: Polygon, stile: float, bars: list[Polygon]) -> tuple[Polygon, ...]:
    """Return what bars leave of an outline, from the lower left on."""
    area = outline.buffer(-stile, join_style="mitre") if stile else outline
    if area.is_empty or min(np.ptp(np.reshape(area.bounds, (2, 2)), axis=0)) < _LEAST_PANE:
        return ()
    rest = area.difference(shapely.union_all(bars)) if bars else area
    # where bars meet an edge, overlays leave corners apart by their rounding
    kept = [
        pane
        for pane in shapely.get_parts(shapely.simplify(shapely.get_parts(rest), LENGTH))
        if isinstance(pane, Polygon) and not pane.buffer(-_LEAST_CORNER, join_style="mitre").is_empty
    ]
    return tuple(sorted(kept, key=lambda pane: (round(pane.centroid.y, 3), round(pane.centroid.x, 3))))


# -- lines ------------------------------------------------------------------------------------------


def _boards(outline: Polygon, filling: Filling, _stile: float, on_left: bool) -> Filled:
    """Boards side by side, ledges across them, and braces that rise from the side of the hinge."""
    true = filling.true_to_scale
    board, ledge, brace = (_TRUE_BOARD, _TRUE_LEDGE, _TRUE_BRACE) if true else (_BOARD, _LEDGE, _BRACE)
    area = outline.buffer(-_EDGE, join_style="mitre")
    if area.is_empty:
        return Filled()
    x0, y0, x1, y1 = outline.bounds
    count = filling.across or max(round((x1 - x0) / board), 2)
    pitch, shift = (x1 - x0) / count, _LEDGE_AT * (y1 - y0)
    levels = [y0 + shift, *([(y0 + y1) / 2] if y1 - y0 > _HIGH_DOOR else []), y1 - shift]
    ledges = [box(x0, level - ledge / 2, x1, level + ledge / 2) for level in levels]
    hinge, latch = (x0 + _EDGE + brace, x1 - _EDGE - brace) if on_left else (x1 - _EDGE - brace, x0 + _EDGE + brace)
    between = [box(x0, low + ledge / 2, x1, high - ledge / 2) for low, high in pairwise(levels)]
    braces = [
        LineString([(hinge, field.bounds[1]), (latch, field.bounds[3])]).buffer(brace / 2, cap_style="square")
        for field in between
    ]
    sides = [_long_sides(one) for one in braces]
    covered = shapely.union_all([*ledges, *(b.intersection(f) for b, f in zip(braces, between, strict=True))])
    joints = [LineString([(x0 + k * pitch, y0), (x0 + k * pitch, y1)][:: -1 if k % 2 else 1]) for k in range(1, count)]
    drawn = [joint.intersection(area).difference(covered) for joint in joints]
    drawn += [
        LineString([(x0, level), (x1, level)]).intersection(area)
        for field in ledges
        for level in (field.bounds[1], field.bounds[3])
    ]
    drawn += [
        side.intersection(field).intersection(area) for two, field in zip(sides, between, strict=True) for side in two
    ]
    return Filled((), _lines(drawn))


def _panels(outline: Polygon, filling: Filling, _stile: float, _on_left: bool) -> Filled:
    x0, y0, x1, y1 = outline.buffer(-_EDGE, join_style="mitre").bounds if outline.area else (0.0, 0.0, 0.0, 0.0)
    columns, rows = filling.across or 2, filling.up or 3
    rail = STILE / 2 if filling.true_to_scale else STILE - _EDGE
    fields = [
        box(*low, *high).intersection(outline.buffer(-rail, join_style="mitre"))
        for i in range(rows)
        for j in range(columns)
        for low in [(x0 + j * (x1 - x0) / columns + rail / 2, y0 + i * (y1 - y0) / rows + rail / 2)]
        for high in [(x0 + (j + 1) * (x1 - x0) / columns - rail / 2, y0 + (i + 1) * (y1 - y0) / rows - rail / 2)]
        if high[0] - low[0] > rail and high[1] - low[1] > rail
    ]
    return Filled((), _lines([field.exterior for field in fields if isinstance(field, Polygon) and field.area > 0.0]))


def _louvres(outline: Polygon, filling: Filling, _stile: float, _on_left: bool) -> Filled:
    pitch = _TRUE_LOUVRE if filling.true_to_scale else _LOUVRE
    field = outline.buffer(-STILE, join_style="mitre")
    if not isinstance(field, Polygon) or field.is_empty:
        return Filled()
    x0, y0, x1, y1 = field.bounds
    count = filling.up or max(round((y1 - y0) / pitch), 1)
    levels = [y0 + k * (y1 - y0) / count for k in range(1, count)]
    slats = [
        LineString([(x0, level), (x1, level)][:: -1 if k % 2 else 1]).intersection(field)
        for k, level in enumerate(levels)
    ]
    return Filled((), _lines([field.exterior, *slats]))


def _long_sides(brace: Polygon) -> list[LineString]:
    ring = np.asarray(brace.exterior.coords)
    sides = [LineString(ring[k : k + 2]) for k in range(len(ring) - 1)]
    return sorted(sides, key=lambda side: -side.length)[:2]


def _lines(shapes: list[shapely.Geometry]) -> tuple[np.ndarray, ...]:
    """Return the lines of shapes one after another, those shorter than a burnt dot left out."""
    parts = [part for shape in shapes for part in shapely.get_parts(shape) if part.length > _EDGE / 2]
    return tuple(np.asarray(part.coords) for part in parts if part.geom_type in {"LineString", "LinearRing"})


_KINDS: Mapping[FillingKind, Callable[[Polygon, Filling, float, bool], Filled]] = {
    FillingKind.BARS: _bars,
    FillingKind.MULLIONS: _mullions,
    FillingKind.LATTICE: _lattice,
    FillingKind.BOARDS: _boards,
    FillingKind.PANELS: _panels,
    FillingKind.LOUVRES: _louvres,
    FillingKind.HALF_GLAZED: _half_glazed,
}
