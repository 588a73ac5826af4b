"""A cap: one part that is glued outside over what stays open on a roof, and the room that it finds there."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..board.stock import Stock
from ..part import Part, PartKind, frozen
from ..pose import Pose
from ..solid.facets import Facet
from ..unfold.section import Sections
from .carriers import upright_board
from .taken import Taken

__all__ = ["BEYOND", "INSET", "CapRoom", "CapTry", "cut_cap"]

#: How far a cap reaches beyond what it covers, mm (common practice, no source).
BEYOND = 0.5

#: Scored lines end so far inside a cap, mm.
INSET = 0.5


@dataclass(frozen=True, slots=True)
class CapTry:
    """A cap that may find room: the facet that would bear it, and what cuts it."""

    facet: int
    cut: Callable[[], Part]


class CapRoom:
    """The room that caps find: on the standing building, and on the flat sections that bear them."""

    def __init__(self, sections: Sections, taken: Taken) -> None:
        self._taken = taken
        self._bearing = {
            panel.facet: (part.id, panel.stands) for part in sections.parts for panel in part.panels if panel.facet >= 0
        }
        self._flat: dict[str, list[Polygon]] = {}

    def between(self, stands: Pose, low: float, high: float) -> shapely.Geometry:
        """Return what stands between two planes; see ``Taken.between``."""
        return self._taken.between(stands, low, high)

    def glued_on(self, facet: Facet) -> shapely.Geometry:
        """Return the caps on the flat section that bears a facet, in the facet's plane, mm."""
        bearer, stands = self._bearing[facet.id]
        flats = [np.asarray(flat.exterior.coords) for flat in self._flat.get(bearer, ())]
        lifted = [np.column_stack([flat, np.zeros(len(flat))]) for flat in flats]
        return shapely.union_all([Polygon(facet.frame.flatten(stands.apply(flat))) for flat in lifted])

    def first_free(self, tries: Iterable[CapTry]) -> tuple[Part, ...]:
        """Return the first cap that finds room, and take that room; nothing where none does."""
        for cap_try in tries:
            part = cap_try.cut()
            bearer, stands = self._bearing[cap_try.facet]
            flat = Polygon(stands.back(part.panels[0].stands.apply(part.panels[0].ring))[:, :2])
            beside = self._flat.setdefault(bearer, [])
            if all(flat.distance(other) > BEYOND for other in beside) and self._taken.is_free((part,)):
                self._taken.take((part,))
                beside.append(flat)
                return (part,)
        return ()


def cut_cap(
    name: str, words: str, stock: Stock, outline: Polygon, stands: Pose, note: str, lines: Sequence[np.ndarray]
) -> Part:
    """Return a cap; outline and scored lines, (k, 2) mm, in the plane of ``stands``, whose z points to the roof."""
    corner = np.array(outline.bounds[:2])
    cap = upright_board(name, f"{words} {name[3:]}", PartKind.CAP, stock, outline, stands, note)
    return replace(cap, score=tuple(frozen(line - corner) for line in lines))
