"""Members: the shapes of trim on a wall, x along it and y up, mm. Corners are butted: mitres of 3 mm break off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon, box

__all__ = ["FOOT", "LEAST_WIDTH", "Member", "frame_of", "shutters_of"]

#: A member is no narrower than this, mm: thinner strips break when they are taken out (common practice, no source).
LEAST_WIDTH = 3.0

#: A sill stands out so far beyond the frame on either side, mm (common practice, no source).
_EARS = 2.0

#: Trim ends so far over the floor, mm, so that paint and glue do not lift the wall.
FOOT = 0.2

#: Between a shutter and what lies beside it, mm (common practice, no source).
_BESIDE = 0.6

#: An outline whose area differs from its box by more than this share is round or pointed.
_SQUARE = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Member:
    """One piece of trim. word: what it is called; shape: on the wall, mm; vital: whether it may be cut short."""

    word: str
    shape: Polygon
    shortened: bool = False


def frame_of(
    opening: Polygon, *, width: float, over: float, foot: float | None, frame: bool, sill: bool
) -> Iterator[Member]:
    """Yield the members round an opening: head, jambs, and below a window a sill or a fourth member.

    over: how far they reach over the opening, below 0 what stays bare beside it. foot: height of the floor under a
    door, None for a window. frame, sill: which of them are wanted.
    """
    x0, y0, x1, y1 = opening.bounds
    out = width - over
    if opening.area < (1.0 - _SQUARE) * box(x0, y0, x1, y1).area:
        if frame:
            yield from _round_frame(opening, out, over, foot)
        return
    ears = _EARS if sill else 0.0
    bottom = (foot + FOOT) if foot is not None else y0 + over
    if foot is None and (frame or sill):
        low = box(x0 - out - ears, y0 - out, x1 + out + ears, y0 + over)
        yield Member("sill" if sill else "foot", low, shortened=True)
    if frame:
        yield Member("head", box(x0 - out, y1 - over, x1 + out, y1 + out), shortened=True)
        yield Member("jamb", box(x0 - out, bottom, x0 + over, y1 - over))
        yield Member("jamb", box(x1 - over, bottom, x1 + out, y1 - over))


def _round_frame(opening: Polygon, out: float, over: float, foot: float | None) -> Iterator[Member]:
    """Yield the frame of an opening that is no rectangle in one piece, open at the foot of a door."""
    outer = opening.buffer(out, join_style="mitre")
    ring = outer.difference(opening.buffer(-over, join_style="mitre"))
    if foot is not None:
        x0, _, x1, y1 = outer.bounds
        ring = ring.intersection(box(x0, foot + FOOT, x1, y1))
        # the strip along the floor between both legs
        inner = opening.buffer(-over, join_style="mitre").bounds
        ring = ring.difference(box(inner[0], foot - 1.0, inner[2], inner[1] + 1.0))
    for piece in shapely.get_parts(ring):
        if isinstance(piece, Polygon):
            yield Member("frame", piece)


def shutters_of(opening: Polygon, *, beside: float, sill: float | None) -> Iterator[Member]:
    """Yield a pair of shutters that stand open beside a window.

    beside: how far its frame reaches onto the wall, mm; sill: how far its sill reaches over it, None without one.
    """
    x0, y0, x1, y1 = opening.bounds
    y0 += 0.0 if sill is None else sill + _BESIDE
    wide, gap = (x1 - x0) / 2.0, beside + _BESIDE
    yield Member("shutter", box(x0 - gap - wide, y0, x0 - gap, y1))
    yield Member("shutter", box(x1 + gap, y0, x1 + gap + wide, y1))
