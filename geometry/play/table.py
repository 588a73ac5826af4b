"""Table: where people sit round it, and whether building, table and seats go together.

A player sits before a point of the table's edge, belly a hand's breadth away, relaxed, and may lean the
trunk forward about the hip. ``eye_of`` and ``shoulder_of`` give where eye and shoulder are then,
``propose_seats`` spreads places evenly round the edge, ``check_table`` says what does not go together.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations

import numpy as np
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from ..arrays import frozen
from ..errors import BadSettingError
from ..findings import Finding, Location, Severity, place
from ..tolerance import LENGTH, SNAP
from .stature import Stature, find_stature
from .table_top import Seat, Table

__all__ = [
    "check_table",
    "eye_above_table",
    "eye_of",
    "lean_of_trunk",
    "propose_seats",
    "shoulder_of",
    "table_outline",
]

#: From the table's edge to the belly, from the back to the eye and to the acromion, mm (common practice, no source).
_BELLY_GAP = 50.0
_BACK_TO_EYE = 200.0
_BACK_TO_ACROMION = 110.0

#: What these make of an abdomen 250 deep: nobody is taken to sit nearer, mm.
_EYE_SETBACK = 100.0
_SHOULDER_SETBACK = 190.0

#: Width of one place at the table and depth of who sits there, mm (common practice, no source).
_PLACE = 600.0
_SITTING_DEPTH = 300.0


def lean_of_trunk(above_hip: float, lean: float) -> tuple[float, float]:
    """Return how far forward and how far down a point ``above_hip`` mm above the seat goes, mm.

    The trunk turns about the hip, taken to lie at the seat, by ``lean`` radians.
    """
    return above_hip * math.sin(lean), above_hip * (1.0 - math.cos(lean))


def eye_above_table(seat: Seat, table: Table, stature: Stature) -> float:
    """Return the height of the eye above the table's top, mm; negative for an eye below it."""
    return _above_table(stature.eye, seat, table)


def _above_table(sitting: float, seat: Seat, table: Table) -> float:
    _, down = lean_of_trunk(sitting - seat.slump, seat.lean)
    return seat.chair + sitting - seat.slump - table.height - down


def eye_of(seat: Seat, table: Table, statures: Iterable[Stature]) -> np.ndarray:
    """Return the eye of who sits at the seat, (3,) mm in the model's frame.

    Raises BadSettingError where the seat names an unknown stature.
    """
    stature = find_stature(seat.stature, statures)
    setback = max(_EYE_SETBACK, _BELLY_GAP + stature.abdomen - _BACK_TO_EYE)
    return _point(stature.eye, setback, seat, table)


def shoulder_of(seat: Seat, table: Table, statures: Iterable[Stature]) -> np.ndarray:
    """Return the shoulder point, midway between both shoulders, of who sits at the seat, (3,) mm in the model's frame.

    Raises BadSettingError where the seat names an unknown stature.
    """
    stature = find_stature(seat.stature, statures)
    setback = max(_SHOULDER_SETBACK, _BELLY_GAP + stature.abdomen - _BACK_TO_ACROMION)
    return _point(stature.acromion, setback, seat, table)


def _point(sitting: float, setback: float, seat: Seat, table: Table) -> np.ndarray:
    forward, _ = lean_of_trunk(sitting - seat.slump, seat.lean)
    point = seat.edge + (forward - setback) * seat.toward + np.array([0.0, 0.0, _above_table(sitting, seat, table)])
    return frozen(point)


def table_outline(table: Table) -> Polygon:
    """Return the table's top in the model's plan, mm, counter-clockwise from its front left corner."""
    length, depth = table.size
    corners = box(-length / 2, -depth / 2, length / 2, depth / 2, ccw=True).exterior.coords[:-1]
    start = corners.index((-length / 2, -depth / 2))
    turned = affinity.rotate(Polygon([*corners[start:], *corners[:start]]), table.turn, origin=(0, 0), use_radians=True)
    return affinity.translate(turned, float(table.centre[0]), float(table.centre[1]))


def propose_seats(
    table: Table,
    number: int,
    *,
    keep_clear: BaseGeometry | None = None,
    stature: str = "median",
    chair: float = 450.0,
) -> tuple[Seat, ...]:
    """Spread ``number`` seats round the table's edge so that everyone has the same room as nearly as can be.

    Each further seat goes to the stretch of edge that gives it most room; the seats of one stretch
    divide it evenly. keep_clear: an area of the plan, mm, in which nobody can sit, such as a wall beside
    the table. The order is counter-clockwise from the left end of the front.
    Raises BadSettingError where the number is not positive or the edge has no room for it.
    """
    if number < 1:
        raise BadSettingError(f"{number} seats were asked for; choose at least 1.")
    stretches = _free_stretches(table, keep_clear)
    counts = [0] * len(stretches)
    for _ in range(number):
        room = [(high - low) / (count + 1) for (_, low, high), count in zip(stretches, counts, strict=True)]
        # Rounded, so that sides of equal length are filled in their order however the table is turned.
        best = max(range(len(room)), key=lambda k: (round(room[k], 3), -k), default=None)
        if best is None or room[best] < _PLACE - LENGTH:
            raise BadSettingError(
                f"{number} seats do not fit round this table, {sum(counts)} do at {_PLACE:g} mm each; "
                "choose fewer seats or a larger table."
            )
        counts[best] += 1
    seats: list[Seat] = []
    for side, name in enumerate(("front", "right", "back", "left")):
        inward, start, along = _side(table, side)
        spots = [
            low + (k + 0.5) * (high - low) / count
            for (where, low, high), count in zip(stretches, counts, strict=True)
            if where == side
            for k in range(count)
        ]
        for k, spot in enumerate(spots):
            edge = np.array([*(start + spot * along), float(table.centre[2])])
            seats.append(
                Seat(
                    name if len(spots) == 1 else f"{name} {k + 1}",
                    frozen(edge),
                    frozen(np.array([*inward, 0.0])),
                    chair=chair,
                    stature=stature,
                )
            )
    return tuple(seats)


def _side(table: Table, side: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return one side of the table, (2,) each: the way in, its first corner, the way along it."""
    corners = np.array(table_outline(table).exterior.coords)
    along = corners[side + 1] - corners[side]
    along = along / np.hypot(*along)
    return np.array([-along[1], along[0]]), corners[side], along


def _free_stretches(table: Table, keep_clear: BaseGeometry | None) -> list[tuple[int, float, float]]:
    """Return (side, low, high) mm along the side for every stretch where people can sit, longer sides first."""
    length, depth = table.size
    stretches = []
    for side in (0, 2, 1, 3) if length >= depth else (1, 3, 0, 2):
        extent = length if side in (0, 2) else depth
        inward, start, along = _side(table, side)
        taken: list[tuple[float, float]] = []
        if keep_clear is not None:
            far = start + extent * along
            strip = Polygon([start, far, far - _SITTING_DEPTH * inward, start - _SITTING_DEPTH * inward])
            within = strip.intersection(keep_clear)
            for piece in getattr(within, "geoms", (within,)):
                if piece.area > LENGTH:
                    spots = (np.array(piece.exterior.coords) - start) @ along
                    taken.append((float(spots.min()), float(spots.max())))
        low = 0.0
        for begin, end in [*sorted(taken), (extent, extent)]:
            if begin - low >= _PLACE - LENGTH:
                stretches.append((side, low, begin))
            low = max(low, end)
    return stretches


def check_table(
    table: Table, seats: Iterable[Seat], footprint: BaseGeometry, statures: Iterable[Stature]
) -> tuple[Finding, ...]:
    """Report what does not go together: building and table, seats and table's edge, seats and each other.

    footprint: plan of the building with its floor, mm, in the model's frame.
    """
    seats, statures = tuple(seats), tuple(statures)
    found = [*_check_building(table, footprint)]
    for seat in seats:
        found += _check_seat(table, seat, find_stature(seat.stature, statures))
    for one, other in combinations(seats, 2):
        apart = float(np.hypot(*(one.edge - other.edge)[:2]))
        if apart < _PLACE - SNAP and one.toward @ other.toward > 0.5:
            found.append(
                Finding(
                    Severity.NOTE,
                    "seats-crowded",
                    f"The seats {one.name} and {other.name} are {apart:.0f} mm apart; "
                    f"move them to at least {_PLACE:g} mm, the width of one place.",
                    Location(point=place(one.edge)),
                )
            )
    return tuple(found)


def _check_building(table: Table, footprint: BaseGeometry) -> list[Finding]:
    inside = affinity.translate(footprint, -float(table.centre[0]), -float(table.centre[1]))
    inside = affinity.rotate(inside, -table.turn, origin=(0, 0), use_radians=True)
    low_x, low_y, high_x, high_y = inside.bounds
    size, top = (high_x - low_x, high_y - low_y), tuple(table.size)
    where = Location(point=place((footprint.centroid.x, footprint.centroid.y, table.centre[2])))
    too_long, too_wide = max(size) - max(top), min(size) - min(top)
    if max(too_long, too_wide) > SNAP:
        return [
            Finding(
                Severity.WARNING,
                "table-too-small",
                f"The building takes {size[0]:.0f} x {size[1]:.0f} mm and the table is {top[0]:.0f} x {top[1]:.0f} mm; "
                f"the table lacks {max(too_long, too_wide):.0f} mm, so choose a larger table or a smaller building.",
                where,
            )
        ]
    beyond = max(high_x - top[0] / 2, -low_x - top[0] / 2, high_y - top[1] / 2, -low_y - top[1] / 2)
    if beyond > SNAP:
        return [
            Finding(
                Severity.WARNING,
                "building-off-table",
                f"The building reaches {beyond:.0f} mm beyond the table's edge; move or turn table or building.",
                where,
            )
        ]
    return []


def _check_seat(table: Table, seat: Seat, stature: Stature) -> list[Finding]:
    found = []
    outline, spot = table_outline(table), Point(seat.edge[:2])
    off = float(outline.exterior.distance(spot))
    where = Location(point=place(seat.edge))
    if off > SNAP:
        stands = "on the table, " if outline.contains(spot) else ""
        found.append(
            Finding(
                Severity.WARNING,
                "seat-off-edge",
                f"The seat {seat.name} is {stands}{off:.0f} mm from the table's edge; move it to the edge.",
                where,
            )
        )
    elif not outline.contains(Point(seat.edge[:2] + 2 * SNAP * seat.toward[:2])):
        found.append(
            Finding(
                Severity.WARNING,
                "seat-faces-away",
                f"The seat {seat.name} does not face the table; turn it by "
                f"{math.degrees(_turn_inward(table, seat)):.0f} degrees.",
                where,
            )
        )
    height = eye_above_table(seat, table, stature)
    if height <= 0.0:
        found.append(
            Finding(
                Severity.WARNING,
                "eye-below-table",
                f"At the seat {seat.name} the eye of a {stature.label} is {-height:.0f} mm below the table's top; "
                "raise the chair or choose a lower table.",
                where,
            )
        )
    return found


def _turn_inward(table: Table, seat: Seat) -> float:
    """Return the angle, radians, between where the seat faces and straight into its nearest side."""
    sides = [_side(table, side) for side in range(4)]
    inward, _, _ = min(sides, key=lambda side: abs(float((seat.edge[:2] - side[1]) @ side[0])))
    return math.acos(max(-1.0, min(1.0, float(inward @ seat.toward[:2]))))
