"""A surface: a flat stretch of a building unrolled, on which a finish is laid out."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import Polygon

__all__ = ["Surface"]


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A flat stretch of a building, x along it and y up, mm; x runs on round corners, y counts from foot or eaves.

    box: (x0, y0, x1, y1) of all its boards. outline: those boards together, without openings.
    openings: doors and windows. joiners: (from, to) along x that cheeks cover.
    ring: length round the building after which x comes back to where it began, None where it does not close.
    rise: height that courses are to fill evenly, None for none; reach: height of the highest board round the building.
    """

    box: tuple[float, float, float, float]
    outline: Polygon
    openings: tuple[Polygon, ...] = ()
    joiners: tuple[tuple[float, float], ...] = ()
    ring: float | None = None
    rise: float | None = None
    reach: float = field(default=0.0)

    @classmethod
    def of(cls, outline: Polygon, *, ring: float | None = None, rise: float | None = None) -> Surface:
        """Return the surface of one board; its holes are its openings."""
        x0, y0, x1, y1 = outline.bounds
        whole = Polygon(outline.exterior)
        holes = tuple(Polygon(hole) for hole in outline.interiors)
        return cls((x0, y0, x1, y1), whole, holes, ring=ring, rise=rise, reach=y1)

    def along(self, unit: float) -> float:
        """Return the length next to ``unit`` of which a whole number goes round the building, mm."""
        return unit if self.ring is None else self.ring / max(round(self.ring / unit), 1)

    def up(self, unit: float) -> float:
        """Return the height next to ``unit`` of which a whole number fills the rise, mm."""
        return unit if self.rise is None else self.rise / max(round(self.rise / unit), 1)

    def around(self, unit: float) -> int | None:
        """Return how many of ``unit`` go round the building; None where it does not close."""
        return None if self.ring is None else max(round(self.ring / unit), 1)

    def columns(self, unit: float) -> np.ndarray:
        """Return the numbers k for which k * unit .. (k + 1) * unit meets the box along x, (n,)."""
        return np.arange(math.floor(self.box[0] / unit), math.ceil(self.box[2] / unit) + 1)

    def courses(self, unit: float) -> np.ndarray:
        """Return the numbers k for which k * unit .. (k + 1) * unit meets the box along y, (n,)."""
        return np.arange(math.floor(self.box[1] / unit), math.ceil(self.box[3] / unit) + 1)
