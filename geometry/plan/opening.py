"""Openings as a maker orders them: by kind, width, height and sill, with sizes that a base passes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ..errors import BadSettingError
from ..pose import Pose
from ..solid.opening import Opening

__all__ = ["DEFAULT_SIZES", "OpeningKind", "OpeningSize", "opening_ring", "stand_in_wall"]

#: How far a chord of an arch may lie off the arc, mm: well below any kerf.
_SAGITTA = 0.01


class OpeningKind(StrEnum):
    """What an opening is for; an arch is a door with a round head."""

    DOOR = "door"
    WINDOW = "window"
    HATCH = "hatch"
    ARCH = "arch"


@dataclass(frozen=True, slots=True)
class OpeningSize:
    """Width, height over all and height of the sill above the floor, mm."""

    width: float
    height: float
    sill: float = 0.0


# A 25 mm base with a hand's play passes 30 mm, a miniature of 35 mm with its base passes 45 mm; the
# rest looks right beside them (common practice, no source).
DEFAULT_SIZES = {
    OpeningKind.DOOR: OpeningSize(30.0, 45.0),
    OpeningKind.WINDOW: OpeningSize(20.0, 22.0, 22.0),
    OpeningKind.HATCH: OpeningSize(22.0, 22.0, 26.0),
    OpeningKind.ARCH: OpeningSize(32.0, 50.0),
}


def opening_ring(kind: OpeningKind, size: OpeningSize) -> tuple[tuple[float, float], ...]:
    """Return the outline, mm, counter-clockwise from its lower left corner, x from the middle, y from the floor.

    An arch ends in a half circle over its whole width; its chords lie within 0.01 mm of the arc.
    Raises BadSettingError for sizes that are no opening.
    """
    for what, value in (("width", size.width), ("height", size.height)):
        if not (math.isfinite(value) and value > 0.0):
            raise BadSettingError(f"The {what} of the {kind.value} is {value:g} mm; it must be more than 0")
    if not (math.isfinite(size.sill) and size.sill >= 0.0):
        raise BadSettingError(f"The sill of the {kind.value} is {size.sill:g} mm above the floor; it cannot be below")
    half, low, top = size.width / 2.0, size.sill, size.sill + size.height
    if kind is not OpeningKind.ARCH:
        return ((-half, low), (half, low), (half, top), (-half, top))
    if size.height < half:
        raise BadSettingError(
            f"An arch {size.width:g} mm wide needs a height of at least {half:g} mm and has {size.height:g}"
        )
    spring = top - half
    # the sagitta of a chord over the angle a is r (1 - cos(a / 2))
    steps = max(8, math.ceil(math.pi / (2.0 * math.acos(max(0.0, 1.0 - _SAGITTA / half)))))
    turns = [math.pi * k / steps for k in range(steps + 1)]
    arc = [(half * math.cos(turn), spring + half * math.sin(turn)) for turn in turns]
    legs = [(-half, low), (half, low)] if spring > low else []
    return (*legs, *arc)


def stand_in_wall(name: str, kind: OpeningKind, size: OpeningSize, *, foot: np.ndarray, along: np.ndarray) -> Opening:
    """Return an opening whose middle stands over ``foot``, (3,) mm, in a wall that runs ``along``, (3,) level."""
    x = np.asarray(along, dtype=float) / np.linalg.norm(along)
    out = np.cross(x, [0.0, 0.0, 1.0])
    return Opening(name, opening_ring(kind, size), Pose.of(x, [0.0, 0.0, 1.0], out, foot))
