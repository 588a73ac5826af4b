"""Porches: a front that stands before a wall on two posts, with a roof against it; its sides open or closed.

A porch is one body, glued once. It reaches a little into the wall, where it is cut off when the solid is read.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ..errors import BadSettingError

__all__ = ["LEAST_REACH", "USUAL_PORCH", "PorchRoof", "PorchSize", "check_porch", "peak_of_porch", "porch_body"]

#: How far the body reaches behind the wall, mm: it is cut off there.
_SUNK = 5.0

#: A post narrower than this breaks off, mm (common practice for board of 3 mm, no source).
_LEAST_POST = 6.0

#: Over the way in stays so much board, mm, and the way in is at least so wide and high: less holds nothing.
_LINTEL, _LEAST_WAY = 6.0, 5.0

#: A porch reaches at least so far before its wall, mm: boards of less have no room for a joint.
LEAST_REACH = 12.0

#: Slopes that the roof may have, radians.
_STEEPEST = math.radians(70.0)


class PorchRoof(StrEnum):
    """What lies over a porch."""

    LEAN_TO = "lean-to"
    GABLE = "gable"


@dataclass(frozen=True, slots=True)
class PorchSize:
    """Sizes, mm: width along the wall, height of the front at its eaves, reach before the wall; post: width of a post.

    pitch: of its roof, radians; a lean-to rises from its front to the wall, a gable from both sides to a ridge.
    closed: whether its sides are walls.
    """

    width: float
    height: float
    reach: float
    pitch: float
    roof: PorchRoof = PorchRoof.LEAN_TO
    closed: bool = False
    post: float = 8.0


# A base of 25 mm passes between posts this far apart, under a lintel as high as a door (common practice, no source).
USUAL_PORCH = PorchSize(50.8, 34.0, 25.4, math.radians(25.0))


def porch_body(size: PorchSize) -> tuple[np.ndarray, tuple[tuple[int, ...], ...]]:
    """Return points, (n, 3) mm, and faces of a body that faces -y; its foot, in the middle, at the wall: y = 0.

    Raises BadSettingError, in one sentence, for sizes that give no body.
    """
    check_porch(size)
    half, way, lintel = size.width / 2.0, size.width / 2.0 - size.post, size.height - _LINTEL
    gabled = size.roof is PorchRoof.GABLE
    ends = [(half, size.height), *([(0.0, peak_of_porch(size))] if gabled else []), (-half, size.height)]
    front = [(-half, 0.0), (-way, 0.0), (-way, lintel), (way, lintel), (way, 0.0), (half, 0.0), *ends]
    rise = 0.0 if gabled else math.tan(size.pitch) * (size.reach + _SUNK)
    points = [(x, -size.reach, z) for x, z in front]
    points += [(x, _SUNK, z + rise) for x, z in ends]
    count, last = len(front), len(front) + len(ends)
    faces = [tuple(range(count)), *((6 + k, count + k, count + k + 1, 7 + k) for k in range(len(ends) - 1))]
    if size.closed:
        points += [(half, _SUNK, 0.0), (-half, _SUNK, 0.0)]
        faces += [(5, last, count, 6), (last + 1, 0, count - 1, last - 1)]
    return np.array(points, dtype=float), tuple(faces)


def peak_of_porch(size: PorchSize) -> float:
    """Return how high the highest line of its roof lies over the ground, at the wall or along its ridge, mm."""
    run = size.width / 2.0 if size.roof is PorchRoof.GABLE else size.reach
    return size.height + run * math.tan(size.pitch)


def check_porch(size: PorchSize) -> None:
    """Raise BadSettingError, in one sentence, for sizes of which no porch can be made."""
    for what, value in (("wide", size.width), ("high", size.height), ("deep", size.reach)):
        if not (math.isfinite(value) and value > 0.0):
            raise BadSettingError(f"The porch is {value:g} mm {what}; it must be more than 0")
    if size.reach < LEAST_REACH:
        raise BadSettingError(f"The porch is {size.reach:g} mm deep; make it {LEAST_REACH:g} mm or more")
    if not size.post >= _LEAST_POST:
        raise BadSettingError(f"The posts of the porch are {size.post:g} mm wide; make them {_LEAST_POST:g} mm or more")
    if size.width - 2.0 * size.post < _LEAST_WAY:
        least = 2.0 * size.post + _LEAST_WAY
        raise BadSettingError(f"The porch is {size.width:g} mm wide; with its posts it needs {least:g} mm or more")
    if size.height - _LINTEL < _LEAST_WAY:
        raise BadSettingError(f"The porch is {size.height:g} mm high; make it {_LINTEL + _LEAST_WAY:g} mm or more")
    least_pitch = math.radians(1.0) if size.roof is PorchRoof.GABLE else 0.0
    if not least_pitch <= size.pitch <= _STEEPEST:
        raise BadSettingError(
            f"The porch's roof has {math.degrees(size.pitch):g} degrees; "
            f"choose between {math.degrees(least_pitch):.0f} and {math.degrees(_STEEPEST):.0f}"
        )
