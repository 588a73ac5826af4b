"""What the maker wishes of a layout: pins, a laser for a part, left-over pieces, and how long to look."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from .placement import Placement

__all__ = ["LayoutWishes", "Pin"]


@dataclass(frozen=True, slots=True)
class Pin:
    """A part that stays where the maker put it: sheet by number from 0, turn in radians, (x, y) shift in mm."""

    part: str
    sheet: int
    turn: float
    shift: tuple[float, float]

    @classmethod
    def of(cls, placement: Placement) -> Pin:
        """Return the pin that holds a part where it lies."""
        x, y = (float(each) for each in placement.shift)
        return cls(placement.part, placement.sheet, float(placement.turn), (x, y))

    @property
    def placement(self) -> Placement:
        """Where the part lies."""
        shift = np.array(self.shift)
        shift.setflags(write=False)
        return Placement(self.part, self.sheet, self.turn, shift)


@dataclass(frozen=True, slots=True)
class LayoutWishes:
    """pins: parts that stay where they are. lasers: name of the laser for a part, by its id.

    leftovers: per stock, (length, width) mm of pieces to use before whole sheets, length along the sheet's.
    improve: let the strip packer look for more room for some seconds, where it is installed.
    """

    pins: tuple[Pin, ...] = ()
    lasers: Mapping[str, str] = field(default_factory=dict)
    leftovers: Mapping[str, tuple[tuple[float, float], ...]] = field(default_factory=dict)
    improve: bool = False
