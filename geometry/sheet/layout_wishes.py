"""What the maker wishes of a layout: pins, a laser for a part, offcuts, and how long to look."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from ..errors import BadSettingError
from ..part import Part
from .piece import Placement

__all__ = ["LayoutWishes", "Pin", "check_wishes"]


@dataclass(frozen=True, slots=True)
class Pin:
    """A part that stays where the maker put it: sheet by number from 0, turn in radians, (x, y) shift in mm.

    laser: name of the one that cuts that sheet, empty for the one that the part is routed to.
    """

    part: str
    sheet: int
    turn: float
    shift: tuple[float, float]
    laser: str = ""

    @classmethod
    def of(cls, placement: Placement, laser: str = "") -> Pin:
        """Return the pin that holds a part where it lies, on a sheet of this laser."""
        x, y = (float(value) for value in placement.shift)
        return cls(placement.part, placement.sheet, float(placement.turn), (x, y), laser)

    @property
    def placement(self) -> Placement:
        """Where the part lies."""
        shift = np.array(self.shift)
        shift.setflags(write=False)
        return Placement(self.part, self.sheet, self.turn, shift)


@dataclass(frozen=True, slots=True)
class LayoutWishes:
    """pins: parts that stay where they are. lasers: name of the laser for a part, by its id.

    offcuts: per stock, (length, width) mm of pieces to use before whole sheets, length along the sheet's.
    improve: let the strip packer look for more room for some seconds, where it is installed.
    """

    pins: tuple[Pin, ...] = ()
    lasers: Mapping[str, str] = field(default_factory=dict)
    offcuts: Mapping[str, tuple[tuple[float, float], ...]] = field(default_factory=dict)
    improve: bool = False

    def lasers_among(self, known: Collection[str]) -> dict[str, str]:
        """Return the name of the laser for each part that has one: its pin's, else the one wished for it.

        known: names of the lasers there are; a pin on another one holds its part wherever that is cut now.
        """
        return {**self.lasers, **{pin.part: pin.laser for pin in self.pins if pin.laser in known}}


def check_wishes(
    parts: Sequence[Part], pinned: Sequence[Placement], offcuts: Mapping[str, Sequence[tuple[float, float]]]
) -> None:
    """Raise BadSettingError for parts that cannot be told apart, pins that lie nowhere and pieces of no size."""
    twice = sorted(name for name, count in Counter(part.id for part in parts).items() if count > 1)
    if twice:
        raise BadSettingError(f"There are several parts named {', '.join(twice)}; each needs a name of its own")
    for pin in pinned:
        if not np.isfinite([pin.turn, *pin.shift]).all() or pin.sheet < 0:
            raise BadSettingError(
                f"The pin of part {pin.part} lies on no place of a sheet; take it out and pin it again"
            )
    for stock, pieces in offcuts.items():
        for length, width in pieces:
            if not (math.isfinite(length) and math.isfinite(width) and min(length, width) > 0.0):
                raise BadSettingError(
                    f"An offcut of {stock} is said to measure {length:g} x {width:g} mm; both sides must be more than 0"
                )
