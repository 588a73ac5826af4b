"""A carrying case, cut flat from the same stock: bottom, four walls and a lid that is lifted off.

The case is put together once, with glue. Fingers of one board fill the notches of the next; the bottom
takes the walls' lower fingers, so that nothing drops through. The lid is a plate with a second one glued
below it, which lies between the walls and keeps it in place.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ..board.stock import Stock
from ..errors import BadSettingError
from ..findings import Finding, Location, Severity
from ..tolerance import OVERLAP
from .collide import Board, find_crossings, prisms
from .part import FaceUp, Part, PartKind, plain_panel
from .stow import Stow

__all__ = ["CarryingCase", "CaseSettings", "make_case"]


@dataclass(frozen=True, slots=True)
class CaseSettings:
    """room: between the parts and the walls on every side; head: above the stack, for paint and warp.

    play: what a notch is wider than its finger, and the lid's lower plate smaller than the opening on
    every side. finger: aimed at, in board thicknesses. hole: (length, height) of the hand holes, which are
    cut where the short walls leave ``web`` of board round them. Lengths in mm.
    """

    room: float = 2.0
    head: float = 3.0
    play: float = 0.1
    finger: float = 4.0
    hole: tuple[float, float] = (90.0, 25.0)
    web: float = 15.0


@dataclass(frozen=True, slots=True, eq=False)
class CarryingCase:
    """The parts of a case; its inner and outer (length, width, height), mm, closed; what is to be known about it.

    overlap: greatest depth by which two of its boards would enter each other, mm.
    """

    parts: tuple[Part, ...]
    inner: tuple[float, float, float]
    outer: tuple[float, float, float]
    overlap: float
    findings: tuple[Finding, ...]


def make_case(stow: Stow, stock: Stock, settings: CaseSettings | None = None) -> CarryingCase:
    """Return a case of this stock that takes the stowed parts, standing with its lower corner in the origin.

    Raises BadSettingError where there is nothing to stow or a setting is negative.
    """
    settings = settings or CaseSettings()
    if min(stow.box) <= 0.0:
        raise BadSettingError("There are no parts to stow, so no carrying case can be made; unfold the building first.")
    for what in ("room", "head", "play"):
        if not getattr(settings, what) >= 0.0:
            raise BadSettingError(f"The case's {what} is {getattr(settings, what):g} mm; it cannot be less than 0.")
    t = stock.thickness
    length, width = (side + 2 * settings.room for side in stow.box[:2])
    height = stow.box[2] + settings.head
    # Walls stand on the bottom's plane z = t and reach up past the lid's lower plate.
    rise = height + t
    along, across, upright = (_marks(run, settings.finger * t) for run in (length, width, rise))
    slack = settings.play / 2
    bottom = box(0, 0, length + 2 * t, width + 2 * t)
    notches = [box(t + a - slack, y, t + b + slack, y + t) for a, b in along[1::2] for y in (0.0, width + t)]
    notches += [box(x, t + a - slack, x + t, t + b + slack) for a, b in across[1::2] for x in (0.0, length + t)]
    bottom = bottom.difference(shapely.union_all(notches))
    long_wall = _wall(length, rise, t, along, upright, slack, long=True)
    short_wall = _wall(width, rise, t, across, upright, slack, long=False)
    hole, findings = _hand_hole(t, width, height, settings)
    short_wall = short_wall.difference(hole)
    plate = box(0, 0, length + 2 * t, width + 2 * t)
    lower = box(0, 0, length - 2 * settings.play, width - 2 * settings.play)
    top = t + rise
    inset = t + settings.play
    parts = (
        _board("K1", "Case bottom", bottom, stock, _stands((0, 0, 0), (1, 0, 0), (0, 1, 0))),
        _board("K2", "Case front", long_wall, stock, _stands((0, t, 0), (1, 0, 0), (0, 0, 1))),
        _board("K3", "Case back", long_wall, stock, _stands((length + 2 * t, width + t, 0), (-1, 0, 0), (0, 0, 1))),
        _board("K4", "Case left side", short_wall, stock, _stands((t, width + 2 * t, 0), (0, -1, 0), (0, 0, 1))),
        _board("K5", "Case right side", short_wall, stock, _stands((length + t, 0, 0), (0, 1, 0), (0, 0, 1))),
        _board("K6", "Case lid", plate, stock, _stands((0, 0, top), (1, 0, 0), (0, 1, 0))),
        _board("K7", "Case lid, lower plate", lower, stock, _stands((inset, inset, top - t), (1, 0, 0), (0, 1, 0))),
    )
    overlap, crossings = find_crossings(_standing(parts), deeper=OVERLAP)
    findings += tuple(
        Finding(
            Severity.ERROR,
            "boards-cross",
            f"Boards of {one} and {two} of the case would share {crossing.depth:.3f} mm of the same place; "
            "choose another length of the fingers.",
            Location(part=one),
        )
        for crossing in crossings
        for one, two in [crossing.names]
    )
    outer = (length + 2 * t, width + 2 * t, top + t)
    return CarryingCase(parts, (length, width, height), outer, overlap, findings)


def _marks(run: float, aim: float) -> list[tuple[float, float]]:
    """Return an odd number of equal fingers along a run, (from, to) mm, each about ``aim`` long, at least three."""
    count = max(3, 2 * round((run / aim - 1) / 2) + 1)
    ends = np.linspace(0.0, run, count + 1)
    return list(zip(ends[:-1].tolist(), ends[1:].tolist(), strict=True))


def _wall(
    run: float,
    rise: float,
    t: float,
    below: Sequence[tuple[float, float]],
    beside: Sequence[tuple[float, float]],
    slack: float,
    *,
    long: bool,
) -> Polygon:
    """Return a wall of the case seen from outside, x from the case's corner, y from its foot, mm.

    Every other finger fills a notch of the bottom, which has the play. At the upright ends a long wall has the
    first finger, the third and so on; a short one those between, each ``slack`` shorter at both sides.
    """
    pieces = [box(t, t, t + run, t + rise)]
    pieces += [box(t + a, 0.0, t + b, t) for a, b in below[1::2]]
    for a, b in beside[0 if long else 1 :: 2]:
        low, high = (a, b) if long else (a + slack, b - slack)
        pieces += [box(x, t + low, x + t, t + high) for x in (0.0, t + run)]
    return shapely.union_all(pieces)


def _hand_hole(t: float, width: float, height: float, settings: CaseSettings) -> tuple[Polygon, tuple[Finding, ...]]:
    """Return the hole for a hand in a short wall, its ends round, or nothing and a finding that says so."""
    long, high = settings.hole
    if width < long + 2 * settings.web or height < high + 2 * settings.web:
        message = (
            f"The case is {width:.0f} mm wide and {height:.0f} mm high inside, too small for hand holes of "
            f"{long:g} x {high:g} mm; carry it by a strap round its middle"
        )
        return Polygon(), (Finding(Severity.NOTE, "case-without-hand-holes", message),)
    middle, level = t + width / 2, t + height - settings.web - high / 2
    half = (long - high) / 2
    line = shapely.LineString([(middle - half, level), (middle + half, level)])
    return shapely.buffer(line, high / 2, quad_segs=12), ()


def _stands(origin: Sequence[float], right: Sequence[float], up: Sequence[float]) -> np.ndarray:
    """Return the (3, 4) matrix of a part frame with these directions in the model."""
    return np.column_stack([right, up, np.cross(right, up), origin]).astype(float)


def _board(name: str, label: str, outline: Polygon, stock: Stock, stands: np.ndarray) -> Part:
    """Return one board of the case; it fills z = 0 .. thickness of its frame."""
    outline = shapely.orient_polygons(outline)
    return Part(
        id=name,
        label=label,
        kind=PartKind.CASE,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.OUTSIDE,
        board_side=1,
        outline=outline,
        panels=(plain_panel(outline, stands),),
        stage=4,
    )


def _standing(parts: Sequence[Part]) -> list[Board]:
    return [Board(part.id, part.id, prisms(part.outline, part.panels[0].stands, 0.0, part.thickness)) for part in parts]
