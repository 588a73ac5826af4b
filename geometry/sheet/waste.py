"""Waste of openings: what of the sheets is cut from holes of other parts, and so takes no new board."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely
from shapely.geometry import Polygon

from ..part import Part

if TYPE_CHECKING:
    from .layout import Layout

__all__ = ["InWaste", "find_in_waste"]

#: Square millimetres in a square centimetre.
_CM2 = 100.0


@dataclass(frozen=True, slots=True)
class InWaste:
    """The parts that lie in holes of others."""

    parts: tuple[Part, ...] = ()

    @property
    def area(self) -> float:
        """The area of board that they save, mm^2."""
        return math.fsum(part.area for part in self.parts)

    def of(self, wanted: Iterable[Part]) -> InWaste:
        """Return the same of these parts alone."""
        ids = {part.id for part in wanted}
        return InWaste(tuple(part for part in self.parts if part.id in ids))

    @property
    def words(self) -> str:
        """What a maker reads about it, empty where nothing lies in waste."""
        if not self.parts:
            return ""
        count = len(self.parts)
        lie, save = ("piece lies", "saves") if count == 1 else ("pieces lie", "save")
        return f"{count} {lie} in the waste of openings and {save} {self.area / _CM2:.1f} cm\u00b2 of board"


def find_in_waste(layout: Layout, parts: Iterable[Part]) -> InWaste:
    """Return which parts lie in holes of other parts on their sheet."""
    by_id = {part.id: part for part in parts}
    found: list[Part] = []
    for index in range(len(layout.sheets)):
        here = [placement for placement in layout.on_sheet(index) if placement.part in by_id]
        lying = [shapely.transform(by_id[placement.part].outline, placement.place) for placement in here]
        holes = [Polygon(hole) for outline in lying for hole in outline.interiors]
        if not holes:
            continue
        tree = shapely.STRtree(holes)
        for placement, outline in zip(here, lying, strict=True):
            if len(tree.query(outline, predicate="covered_by")):
                found.append(by_id[placement.part])
    return InWaste(tuple(sorted(found, key=lambda part: part.id)))
