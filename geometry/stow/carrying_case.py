"""A carrying case, cut flat from the same stock: bottom, four walls and a lid that is lifted off.

The case is put together once, with glue. Fingers of one board fill the notches of the next; the bottom
takes the walls' lower fingers, so that nothing drops through. The lid is a plate with a second one glued
below it, which lies between the walls and keeps it in place.

A board that no sheet takes is cut in pieces. The bottom then gets a second layer too, and the seams of both
layers lie apart; a wall's pieces are held by laps glued on from inside, for which the case grows wider.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from ..board.stock import Stock
from ..errors import BadSettingError
from ..findings import Finding, Location, Severity
from ..fold.collide import Board, Crossing, find_crossings, prisms
from ..part import FaceUp, Part, PartKind, plain_panel
from ..pose import Pose
from ..tolerance import OVERLAP
from .case_checks import check_bottom, check_pieces
from .case_pieces import Seams, part_outline, seams
from .stow import Stow

__all__ = ["CarryingCase", "CaseSettings", "make_case"]

#: What pieces of one board are called after it.
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True, slots=True)
class CaseSettings:
    """room: between the parts and the walls on every side; head: above the stack, for paint and warp.

    play: what a notch is wider than its finger, and the plates between the walls smaller than the opening on
    every side. finger: aimed at, in board thicknesses. hole: (length, height) of the hand holes, which are
    cut where the short walls leave ``web`` of board round them. lap: width of the strip over a seam in a wall.
    Lengths in mm.
    """

    room: float = 2.0
    head: float = 3.0
    play: float = 0.1
    finger: float = 4.0
    hole: tuple[float, float] = (90.0, 25.0)
    web: float = 15.0
    lap: float = 40.0


@dataclass(frozen=True, slots=True, eq=False)
class CarryingCase:
    """The parts of a case; its inner and outer (length, width, height), mm, closed; what is to be known about it.

    inner: what is clear between laps and plates. overlap: greatest depth by which two of its boards would enter
    each other, mm.
    """

    parts: tuple[Part, ...]
    inner: tuple[float, float, float]
    outer: tuple[float, float, float]
    overlap: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Plan:
    """Every size that the boards share, mm. length, width: between the walls; base: top of the bottom's layers.

    rise: of the walls above the lower layer; along, across, upright: where fingers begin and end.
    """

    t: float
    length: float
    width: float
    base: float
    rise: float
    along: list[tuple[float, float]]
    across: list[tuple[float, float]]
    upright: list[tuple[float, float]]
    bottom: Seams
    long_wall: Seams
    short_wall: Seams

    @property
    def top(self) -> float:
        """The upper end of the walls, mm."""
        return self.t + self.rise


@dataclass(frozen=True, slots=True, eq=False)
class _CaseBoard:
    """One board of the case before it is cut in pieces: its name, outline, how it stands, and where it is parted."""

    name: str
    label: str
    outline: Polygon
    stands: Pose
    at: Seams


def make_case(
    stow: Stow,
    stock: Stock,
    settings: CaseSettings | None = None,
    *,
    largest: tuple[float, float] = (math.inf, math.inf),
) -> CarryingCase:
    """Return a case of this stock that takes the stowed parts, standing with its lower corner in the origin.

    largest: (length, width) of the biggest piece that stock and laser take, mm; larger boards are cut in pieces.
    Raises BadSettingError where there is nothing to stow or a setting is negative.
    """
    settings = settings or CaseSettings()
    _check(stow, settings)
    length, width = (side + 2 * settings.room for side in stow.box[:2])
    height = stow.box[2] + settings.head
    plan = _plan(length, width, height, stock.thickness, settings, largest)
    hole, no_holes = _hand_hole(plan, height, settings)
    boards = [
        _bottom_board(plan, settings),
        *_wall_boards(plan, height, hole, settings),
        *_inner_plates(plan, settings, largest),
    ]
    parts = [part for board in boards for part in _pieces(board, stock)]
    overlap, crossings = find_crossings(_standing(parts), deeper=OVERLAP)
    return CarryingCase(
        parts=tuple(parts),
        inner=(length, width, height),
        outer=(plan.length + 2 * plan.t, plan.width + 2 * plan.t, plan.top + plan.t),
        overlap=overlap,
        findings=(
            *no_holes,
            *check_pieces([board.name for board in boards if board.at], largest),
            *check_bottom(stow, stock, plan.width, layers=2 if plan.bottom else 1),
            *map(_crossed, crossings),
        ),
    )


def _check(stow: Stow, settings: CaseSettings) -> None:
    """Raise BadSettingError where there is nothing to stow or a setting is negative."""
    if min(stow.box) <= 0.0:
        raise BadSettingError("There are no parts to stow, so no carrying case can be made; unfold the building first.")
    for what in ("room", "head", "play"):
        if not getattr(settings, what) >= 0.0:
            raise BadSettingError(f"The case's {what} is {getattr(settings, what):g} mm; it cannot be less than 0.")


def _bottom_board(plan: _Plan, settings: CaseSettings) -> _CaseBoard:
    stands = _stands((0, 0, 0), (1, 0, 0), (0, 1, 0))
    return _CaseBoard("K1", "Case bottom", _bottom(plan, settings.play / 2), stands, plan.bottom)


def _wall_boards(plan: _Plan, height: float, hole: Polygon, settings: CaseSettings) -> Iterator[_CaseBoard]:
    """Yield the four walls, each with the laps that hold its pieces. height: of what they go round, mm."""
    t, slack = plan.t, settings.play / 2
    long = _wall(plan.length, plan.rise, t, plan.along, plan.upright, slack, long=True)
    short = _wall(plan.width, plan.rise, t, plan.across, plan.upright, slack, long=False).difference(hole)
    far, right = plan.length + t, plan.width + t
    for wall in (
        _CaseBoard("K2", "Case front", long, _stands((0, t, 0), (1, 0, 0), (0, 0, 1)), plan.long_wall),
        _CaseBoard("K3", "Case back", long, _stands((far + t, right, 0), (-1, 0, 0), (0, 0, 1)), plan.long_wall),
        _CaseBoard("K4", "Case left side", short, _stands((t, right + t, 0), (0, -1, 0), (0, 0, 1)), plan.short_wall),
        _CaseBoard("K5", "Case right side", short, _stands((far, 0, 0), (0, 1, 0), (0, 0, 1)), plan.short_wall),
    ):
        yield wall
        behind = wall.stands.moved_to((0.0, 0.0, -t))
        for number, seam in enumerate(wall.at.along, start=1):
            strip = box(seam - settings.lap / 2, plan.base, seam + settings.lap / 2, plan.base + height - settings.play)
            yield _CaseBoard(f"{wall.name}-lap{number}", f"{wall.label}, lap from inside", strip, behind, Seams())


def _inner_plates(plan: _Plan, settings: CaseSettings, largest: tuple[float, float]) -> Iterator[_CaseBoard]:
    """Yield the lid, the plate below it, and the upper layer of a bottom that is cut in pieces."""
    t, play = plan.t, settings.play
    cover = box(0, 0, plan.length + 2 * t, plan.width + 2 * t)
    lid = seams(_size(cover), largest)
    yield _CaseBoard("K6", "Case lid", cover, _stands((0, 0, plan.top), (1, 0, 0), (0, 1, 0)), lid)
    plate, inset = box(0, 0, plan.length - 2 * play, plan.width - 2 * play), t + play
    stands = _stands((inset, inset, plan.top - t), (1, 0, 0), (0, 1, 0))
    yield _CaseBoard("K7", "Case lid, lower plate", plate, stands, seams(_size(plate), largest, apart=lid))
    if plan.bottom:
        at = seams(_size(plate), largest, apart=plan.bottom)
        stands = _stands((inset, inset, t), (1, 0, 0), (0, 1, 0))
        yield _CaseBoard("K8", "Case bottom, upper plate", plate, stands, at)


def _crossed(crossing: Crossing) -> Finding:
    one, two = crossing.names
    return Finding(
        Severity.ERROR,
        "boards-cross",
        f"Boards of {one} and {two} of the case would share {crossing.depth:.3f} mm of the same place; "
        "choose another length of the fingers.",
        Location(part=one),
    )


def _plan(
    length: float, width: float, height: float, t: float, settings: CaseSettings, largest: tuple[float, float]
) -> _Plan:
    """Return the sizes at which the contents stay clear. Laps of one pair of walls lengthen the other pair."""
    lapped = [False, False]  # long walls, short walls
    while True:
        run, deep = length + 2 * t * lapped[1], width + 2 * t * lapped[0]
        along, across = _marks(run, settings.finger * t), _marks(deep, settings.finger * t)
        middles = tuple([t + (a + b) / 2 for a, b in marks] for marks in (along, across))
        bottom = seams((run + 2 * t, deep + 2 * t), largest, places=(middles[0], middles[1]))
        base = 2 * t if bottom else t
        rise = base + height
        walls = [
            seams((side + 2 * t, rise + t), largest, places=(middles[k], ()), apart=Seams(at))
            for k, (side, at) in enumerate(((run, bottom.along), (deep, bottom.across)))
        ]
        if [bool(wall) for wall in walls] == lapped:
            upright = _marks(rise, settings.finger * t)
            return _Plan(t, run, deep, base, rise, along, across, upright, bottom, walls[0], walls[1])
        # a case only grows here, so that a wall once parted stays so
        lapped = [known or bool(wall) for known, wall in zip(lapped, walls, strict=True)]


def _bottom(plan: _Plan, slack: float) -> Polygon:
    t, length, width = plan.t, plan.length, plan.width
    notches = [box(t + a - slack, y, t + b + slack, y + t) for a, b in plan.along[1::2] for y in (0.0, width + t)]
    notches += [box(x, t + a - slack, x + t, t + b + slack) for a, b in plan.across[1::2] for x in (0.0, length + t)]
    return box(0, 0, length + 2 * t, width + 2 * t).difference(shapely.union_all(notches))


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


def _hand_hole(plan: _Plan, height: float, settings: CaseSettings) -> tuple[Polygon, tuple[Finding, ...]]:
    """Return the hole for a hand in a short wall, its ends round, or nothing and a finding that says so."""
    long, high = settings.hole
    if plan.short_wall:
        message = (
            "The short walls of the case are joined from pieces where their hand holes would be, so it has none; "
            "carry it by a strap round its middle"
        )
        return Polygon(), (Finding(Severity.NOTE, "case-without-hand-holes", message),)
    if plan.width < long + 2 * settings.web or height < high + 2 * settings.web:
        message = (
            f"The case is {plan.width:.0f} mm wide and {height:.0f} mm high inside, too small for hand holes of "
            f"{long:g} x {high:g} mm; carry it by a strap round its middle"
        )
        return Polygon(), (Finding(Severity.NOTE, "case-without-hand-holes", message),)
    middle, level = plan.t + plan.width / 2, plan.base + height - settings.web - high / 2
    half = (long - high) / 2
    line = shapely.LineString([(middle - half, level), (middle + half, level)])
    return shapely.buffer(line, high / 2, quad_segs=12), ()


def _size(outline: Polygon) -> tuple[float, float]:
    x0, y0, x1, y1 = outline.bounds
    return x1 - x0, y1 - y0


def _stands(origin: Sequence[float], right: Sequence[float], up: Sequence[float]) -> Pose:
    """Return how a part frame with these directions stands in the model."""
    return Pose.of(right, up, np.cross(right, up), origin)


def _pieces(board: _CaseBoard, stock: Stock) -> list[Part]:
    """Return the pieces of one board of the case; each fills z = 0 .. thickness of its frame."""
    outlines = part_outline(board.outline, board.at)
    whole = len(outlines) == 1
    pieces = []
    for number, outline in enumerate(outlines):
        low = np.array(outline.bounds[:2])
        shape = shapely.orient_polygons(shapely.transform(outline, lambda points, low=low: points - low))
        pieces.append(
            Part(
                id=board.name if whole else f"{board.name}{_LETTERS[number]}",
                label=board.label if whole else f"{board.label}, piece {number + 1} of {len(outlines)}",
                kind=PartKind.CASE,
                stock=stock.name,
                thickness=stock.thickness,
                face_up=FaceUp.OUTSIDE,
                board_side=1,
                outline=shape,
                panels=(plain_panel(shape, board.stands.moved_to(low)),),
                stage=4,
            )
        )
    return pieces


def _standing(parts: Sequence[Part]) -> list[Board]:
    return [Board(part.id, part.id, prisms(part.outline, part.panels[0].stands, 0.0, part.thickness)) for part in parts]
