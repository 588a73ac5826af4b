"""Dormers and chimneys as a maker orders them: bodies that are pushed through a roof and cut off at its slope."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ..errors import BadSettingError

__all__ = ["DEFAULT_SIZES", "LEAST_FRONT", "UpstandKind", "UpstandSize", "depth_of", "peak_of", "upstand_body"]

#: How far a body reaches below its foot and behind the slope, mm: the roof cuts it off, and it may be moved a little.
_SUNK = 5.0

#: A chimney stands at least so high over the slope behind it, a dormer's front over the slope before it, mm.
LEAST_FRONT = 5.0

#: A slope flatter than this has no room for a dormer between it and the dormer's own roof (tangent, 6 degrees).
_FLATTEST = 0.1


class UpstandKind(StrEnum):
    """What stands on a roof."""

    DORMER = "dormer"
    CHIMNEY = "chimney"


@dataclass(frozen=True, slots=True)
class UpstandSize:
    """Sizes, mm: width along the eaves; height over the slope at the front, of a dormer up to its own eaves.

    depth: of a chimney, up the slope on the plan; a dormer reaches back as far as its roof does.
    pitch: of a dormer's own roof, radians; 0 is a flat one.
    """

    width: float
    height: float
    depth: float = 0.0
    pitch: float = 0.0


# Board of 3 mm leaves a window of two squares in a dormer this wide (common practice, no source).
DEFAULT_SIZES = {
    UpstandKind.DORMER: UpstandSize(40.0, 22.0, 0.0, math.radians(35.0)),
    UpstandKind.CHIMNEY: UpstandSize(24.0, 50.0, 20.0, 0.0),
}


def depth_of(kind: UpstandKind, size: UpstandSize, rise: float) -> float:
    """Return how far it reaches up the slope on the plan, mm. rise: of the slope, tangent of its pitch."""
    return size.depth if kind is UpstandKind.CHIMNEY else peak_of(size) / rise


def upstand_body(
    kind: UpstandKind, size: UpstandSize, *, rise: float
) -> tuple[np.ndarray, tuple[tuple[int, ...], ...]]:
    """Return points, (n, 3) mm, and faces of a closed body that faces -y, its front's foot at the origin.

    rise: of the slope it stands on, tangent of its pitch; it goes up along y. The body starts below the slope.
    Raises BadSettingError for sizes that give no body above the slope.
    """
    _check(kind, size, rise)
    half, low = size.width / 2.0, -_SUNK
    ring = [(-half, low), (half, low), (half, size.height)]
    if kind is UpstandKind.DORMER and size.pitch > 0.0:
        ring.append((0.0, peak_of(size)))
    ring.append((-half, size.height))
    back = depth_of(kind, size, rise) + (_SUNK if kind is UpstandKind.DORMER else 0.0)
    count = len(ring)
    points = np.array([(x, y, z) for y in (0.0, back) for x, z in ring])
    sides = tuple((k, count + k, count + (k + 1) % count, (k + 1) % count) for k in range(count))
    return points, (tuple(range(count)), tuple(range(2 * count - 1, count - 1, -1)), *sides)


def peak_of(size: UpstandSize) -> float:
    """Return how high the ridge of a dormer lies over its foot, mm."""
    return size.height + size.width / 2.0 * math.tan(size.pitch)


def _check(kind: UpstandKind, size: UpstandSize, rise: float) -> None:
    for what, value in (("width", size.width), ("height", size.height)):
        if not (math.isfinite(value) and value > 0.0):
            raise BadSettingError(f"The {what} of the {kind.value} is {value:g} mm; it must be more than 0")
    if kind is UpstandKind.DORMER:
        if rise < _FLATTEST:
            raise BadSettingError(
                f"The roof rises by {math.degrees(math.atan(rise)):.0f} degrees there; a dormer needs "
                f"{math.degrees(math.atan(_FLATTEST)):.0f} degrees or more, so take a chimney"
            )
        if size.height < LEAST_FRONT:
            raise BadSettingError(f"The dormer's front is {size.height:g} mm high; make it {LEAST_FRONT:g} mm or more")
        if not 0.0 <= size.pitch < math.radians(75.0):
            raise BadSettingError(
                f"The dormer's roof has {math.degrees(size.pitch):g} degrees; choose between 0 and 75 degrees"
            )
        return
    if not (math.isfinite(size.depth) and size.depth > 0.0):
        raise BadSettingError(f"The depth of the chimney is {size.depth:g} mm; it must be more than 0")
    over = size.height - rise * size.depth
    if over < LEAST_FRONT:
        raise BadSettingError(
            f"The chimney ends {over:.1f} mm above the slope behind it; make it {LEAST_FRONT - over:.1f} mm higher"
        )
