"""Roofs as a maker asks for them: kind, pitches and overhang, and the sizes that make no roof."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from ..errors import BadSettingError
from ..tolerance import SNAP

__all__ = ["Roof", "RoofKind", "check_roof", "pitch_of_rise"]


class RoofKind(StrEnum):
    """What lies over the walls."""

    NONE = "none"
    GABLE = "gable"
    HIP = "hip"
    HALF_HIP = "half-hip"
    PYRAMID = "pyramid"
    LEAN_TO = "lean-to"
    GAMBREL = "gambrel"
    MANSARD = "mansard"
    CROSSING = "crossing-gable"
    FLAT = "flat"


def pitch_of_rise(rise: float) -> float:
    """Return the pitch in radians of a roof that rises ``rise`` in 12, as a framing square counts.

    >>> import math
    >>> round(math.degrees(pitch_of_rise(8.0)), 2)
    33.69
    """
    return math.atan2(rise, 12.0)


#: Pitches between which there is a slope that other boards meet, radians.
_FLATTEST, _STEEPEST = math.radians(1.0), math.radians(85.0)

#: Shares at which a slope may break, so that something of it is left on either side.
_LEAST_SHARE, _MOST_SHARE = 0.1, 0.9


@dataclass(frozen=True, slots=True)
class Roof:
    """A roof over a plan.

    pitch: of the slopes, radians, of no account for a flat roof; of a gambrel or mansard that of the upper ones.
    overhang: level, beyond the walls, mm. lower_pitch: of the lower slopes of a gambrel or mansard, radians.
    lower_share: how much of the way in the lower slopes of a gambrel or mansard take, or of the height the gable
    under a half-hip, 0 to 1.
    """

    kind: RoofKind = RoofKind.NONE
    pitch: float = pitch_of_rise(8.0)
    overhang: float = 6.0
    lower_pitch: float = math.radians(60.0)
    lower_share: float = 0.5

    @property
    def is_broken(self) -> bool:
        """Whether its slopes are steep below and flat above."""
        return self.kind in (RoofKind.GAMBREL, RoofKind.MANSARD)

    @property
    def eaves_pitch(self) -> float:
        """The pitch at the eaves, radians."""
        if self.kind is RoofKind.FLAT:
            return 0.0
        return self.lower_pitch if self.is_broken else self.pitch

    @property
    def drop(self) -> float:
        """How far the eaves hang below the wall tops, mm."""
        return math.tan(self.eaves_pitch) * self.overhang


def check_roof(roof: Roof, *, inset: float, height: float, of: str = "") -> None:
    """Raise BadSettingError, in one sentence, for sizes that make no roof.

    inset: how far the middle of the plan lies from its nearest walls, mm; height: of the walls at the eaves, mm.
    of: what part of the building is spoken of; empty for all of it.
    """
    whose = f" of the {of}" if of else ""
    pitches = [] if roof.kind is RoofKind.FLAT else [("pitch", roof.pitch)]
    for name, pitch in (*pitches, *((("lower pitch", roof.lower_pitch),) if roof.is_broken else ())):
        if not _FLATTEST <= pitch <= _STEEPEST:
            raise BadSettingError(f"The {name}{whose} is {math.degrees(pitch):.4g} degrees; choose between 1 and 85")
    if roof.is_broken and roof.lower_pitch < roof.pitch + _FLATTEST:
        raise BadSettingError(
            f"The lower slopes of a {roof.kind.value} are the steep ones; choose a lower pitch above "
            f"{math.degrees(roof.pitch):.4g} degrees, or a flatter pitch"
        )
    if (roof.is_broken or roof.kind is RoofKind.HALF_HIP) and not _LEAST_SHARE <= roof.lower_share <= _MOST_SHARE:
        raise BadSettingError(
            f"The lower share is {roof.lower_share:g}; choose between {_LEAST_SHARE:g} and {_MOST_SHARE:g}"
        )
    # without any overhang the roof would share its corners with the walls and be one surface with them
    if not SNAP < roof.overhang <= inset + SNAP:
        raise BadSettingError(
            f"The overhang{whose} is {roof.overhang:g} mm; choose from above 0 to {inset:g}, half the room's width"
        )
    if roof.drop >= height:
        raise BadSettingError(
            f"The eaves{whose} would hang {roof.drop:.4g} mm below the wall tops, "
            f"to the ground of walls {height:g} mm high; "
            "choose less overhang or a lower pitch"
        )
