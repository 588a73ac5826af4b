"""A corner in cross-section: how a flat board goes round a model edge, or stops short of it.

The mid-plane of a lattice keeps its length, because a link twists about its own centroid; so the
neutral line lies at half the thickness (K = 0.5 in the sheet-metal formulae).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import BadSettingError

__all__ = ["SHARPEST_BEND", "Bend", "bend", "parted_setback", "setback"]

#: A model edge that bends further than this has its tangent lines too far from the edge to be useful, radians.
SHARPEST_BEND = math.radians(150.0)


@dataclass(frozen=True, slots=True)
class Bend:
    """The cross-section of one flex corner. Lengths in mm, angle signed, radians.

    flat_width: lattice length in the flat (B). neutral_radius: B / |angle|.
    reference_radius: radius at the modelled face, below the neutral one where the board lies outside
    the bend (angle > 0), above it where the board lies inside (angle < 0).
    setback: from the model edge to the tangent line (d).
    """

    angle: float
    flat_width: float
    neutral_radius: float
    reference_radius: float
    setback: float

    @property
    def gain(self) -> float:
        """What the bend adds to the developed length beyond both legs up to the model edge (B - 2 d)."""
        return self.flat_width - 2.0 * self.setback


def bend(angle: float, *, flat_width: float, thickness: float) -> Bend:
    """Return the cross-section of a corner of signed ``angle`` made by a lattice ``flat_width`` long.

    Raises BadSettingError for an angle of zero or beyond SHARPEST_BEND, and where the lattice is so
    short that the board's inner face would have to fold through itself.

    >>> import math
    >>> corner = bend(math.radians(90), flat_width=18.0, thickness=3.0)
    >>> round(corner.setback, 3), round(corner.gain, 3)
    (9.959, -1.918)
    """
    size = abs(angle)
    if not 0.0 < size <= SHARPEST_BEND:
        raise BadSettingError(
            f"A bend of {math.degrees(size):.1f} degrees cannot be a flex corner; between 0 and "
            f"{math.degrees(SHARPEST_BEND):.0f} degrees can."
        )
    neutral = flat_width / size
    if neutral < thickness / 2:
        raise BadSettingError(
            f"A lattice {flat_width:.2f} mm long is too short to bend {math.degrees(size):.0f} degrees in "
            f"{thickness:.2f} mm board; at least {size * thickness / 2:.2f} mm are needed."
        )
    reference = neutral - math.copysign(thickness / 2, angle)
    return Bend(angle, flat_width, neutral, reference, reference * math.tan(size / 2))


def setback(angle: float, *, radius: float) -> float:
    """Return the distance from the sharp corner to the tangent line, radius * tan(|angle| / 2), mm.

    >>> import math
    >>> round(setback(math.radians(90), radius=10.0), 6)
    10.0
    """
    return radius * math.tan(abs(angle) / 2)


def parted_setback(angle: float, *, thickness: float) -> float:
    """Return how far a square-cut board stops short of a parted edge of signed ``angle``, mm.

    Boards on the outside of the edge (angle > 0) meet at its sharp line and leave a V open; boards on
    its inside (angle < 0) would cross there and each gives way by thickness * tan(|angle| / 2).
    """
    return 0.0 if angle >= 0.0 else thickness * math.tan(-angle / 2)
