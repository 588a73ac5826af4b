"""Handles of a roof: its pitch, how far it reaches beyond the walls, and where steep slopes turn into flat ones."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..host.lengths import as_typed
from .handle import DEGREE, FREE, LEAST_MM, MM, Handle, Stands, degrees, mm

__all__ = ["handles_of_roof"]

#: Kinds of roof whose one slope follows from the height of the top.
_ONE_SLOPE = frozenset({"GABLE", "HIP", "PYRAMID", "LEAN_TO", "CROSSING", "HALF_HIP"})

#: Slopes that a handle gives to a roof, radians: flatter and steeper ones are typed.
_PITCHES = math.radians(5.0), math.radians(75.0)

#: Kinds of roof with steep slopes below flat ones.
_BROKEN = frozenset({"GAMBREL", "MANSARD"})

#: Shares of the way in that a handle gives to the lower slopes, and what they snap to.
_SHARES, _TWENTIETH = (0.1, 0.9), 0.05


def handles_of_roof(
    stands: Stands, points: np.ndarray, feet: np.ndarray, fields: Any, up: float, scale: float
) -> Iterator[Handle]:
    """Yield the handles of the roof over walls that reach up to a height.

    points: (n, 3) of the whole building, feet: (k, 3) of its walls, in its own axes; scale: mm in a unit of them.
    """
    rise = float(points[:, 2].max()) - up
    if fields.roof in _ONE_SLOPE and rise > 0.0:
        yield _of_slope(stands, points, fields, up, rise)
    eaves = None if fields.roof == "NONE" else _find_eaves(points, feet[:, :2].min(axis=0), feet[:, :2].max(axis=0))
    if eaves is not None:
        yield _of_overhang(stands, fields, eaves, scale)
        if fields.roof in _BROKEN and fields.wings != "OWN":
            yield from _of_knee(stands, points, fields, eaves, up)


@dataclass(frozen=True, slots=True, eq=False)
class _Eaves:
    """Where a roof ends lowest on one side. middle: (3,) of that line; out: (2,) unit, level, away from the walls.

    reach: from the wall to that line, level; half: half of the line's length; all in the object's axes.
    """

    middle: np.ndarray
    out: np.ndarray
    reach: float
    half: float

    @property
    def aside(self) -> float:
        """Half way from the middle to the end of the wall: there a second handle stands clear of one in the middle."""
        return (self.half - self.reach) / 2.0

    def over_wall(self, inward: float, height: float, aside: float = 0.0) -> tuple[float, float, float]:
        """Return the place so far in from the wall at a height, and so far along the wall from the middle."""
        x, y = self.middle[:2] - (self.reach + inward) * self.out + aside * self.out[::-1]
        return float(x), float(y), height


def _find_eaves(points: np.ndarray, low: np.ndarray, high: np.ndarray) -> _Eaves | None:
    """Return the level eaves of a roof on one side of walls from low to high, (2,); None where it has none."""
    found = []
    for axis, sign, wall in ((1, 1.0, high[1]), (0, 1.0, high[0]), (1, -1.0, low[1]), (0, -1.0, low[0])):
        reach = float((sign * points[:, axis]).max() - sign * wall)
        outer = points[sign * points[:, axis] > sign * wall + reach * (1.0 - 1e-3)]
        if reach > 0.0 and np.ptp(outer[:, 2]) < 1e-3 * reach:
            out = np.zeros(2)
            out[axis] = sign
            found.append(_Eaves(outer.mean(axis=0), out, reach, float(np.ptp(outer[:, 1 - axis])) / 2.0))
    return min(found, key=lambda eaves: round(float(eaves.middle[2]), 3), default=None)


def _of_overhang(stands: Stands, fields: Any, eaves: _Eaves, scale: float) -> Handle:
    """Return the handle on the eaves, which lie on the slope however far they reach."""
    pitch = 0.0 if fields.roof == "FLAT" else float(fields.lower_pitch) if fields.roof in _BROKEN else _pitch(fields)
    fall = math.tan(pitch)
    long = math.hypot(1.0, fall)
    share = as_typed(fields.overhang) / (eaves.reach * scale)  # at a corner of a round plan the eaves reach farther

    def value(reach: float) -> float:
        return max(reach * share * scale / long, LEAST_MM)

    # beside the handle of the walls below, which stands in the middle
    base = eaves.over_wall(0.0, float(eaves.middle[2]) + eaves.reach * fall, -eaves.aside)
    way = (*(eaves.out / long).tolist(), -fall / long)
    return stands.handle("Overhang", "overhang", base, way, eaves.reach * long, value, (MM, FREE), mm)


def _of_knee(stands: Stands, points: np.ndarray, fields: Any, eaves: _Eaves, up: float) -> list[Handle]:
    """Return the handles of a roof with steep slopes below flat ones: how far in and how steep, and the upper pitch."""
    rise = float(points[:, 2].max()) - up
    above = points[points[:, 2] > up + 1e-3 * rise]
    knee = float(above[:, 2].min()) - up
    lower = float(fields.lower_pitch)
    run = knee / math.tan(lower)
    inset = run / float(fields.lower_share)
    long = math.hypot(1.0, math.tan(lower))

    def share(reach: float) -> float:
        return min(max(reach / long / inset, _SHARES[0]), _SHARES[1])

    def steep(reach: float) -> float:
        return min(max(math.atan2(max(reach, 0.0), run), _pitch(fields) + 2.0 * DEGREE), _PITCHES[1])

    way = (*(-eaves.out / long).tolist(), math.tan(lower) / long)
    return [
        stands.handle(
            "Lower Share",
            "lower_share",
            eaves.over_wall(0.0, up),
            way,
            run * long,
            share,
            (_TWENTIETH, _TWENTIETH / 10.0),
            lambda size: f"{size:.3g}",
        ),
        stands.handle(
            "Lower Pitch",
            "lower_pitch",
            eaves.over_wall(run, up, eaves.aside),
            (0.0, 0.0, 1.0),
            knee,
            steep,
            (DEGREE, DEGREE / 10.0),
            degrees,
        ),
        _of_slope(stands, points, fields, up + knee, rise - knee, steepest=lower - 2.0 * DEGREE),
    ]


def _pitch(fields: Any) -> float:
    """Return the pitch of a building's slopes, of the upper ones where there are two, radians."""
    return math.atan(float(fields.rise) / 12.0) if fields.pitch_as == "RISE" else float(fields.angle)


def _of_slope(
    stands: Stands, points: np.ndarray, fields: Any, up: float, rise: float, *, steepest: float = _PITCHES[1]
) -> Handle:
    """Return the handle at the top of a roof, which sets how steep its slopes are that begin at a height."""
    top = points[points[:, 2] > points[:, 2].max() - 1e-4 * rise]
    as_rise = fields.pitch_as == "RISE"
    run = rise / math.tan(_pitch(fields))

    def value(reach: float) -> float:
        slope = min(max(math.atan2(max(reach, 0.0), run), _PITCHES[0]), steepest)
        return 12.0 * math.tan(slope) if as_rise else slope

    return stands.handle(
        "Pitch",
        "rise" if as_rise else "angle",
        (*top[:, :2].mean(axis=0).tolist(), up),
        (0.0, 0.0, 1.0),
        rise,
        value,
        (0.5, FREE) if as_rise else (DEGREE, DEGREE / 10.0),
        (lambda size: f"{size:.3g} in 12") if as_rise else degrees,
    )
