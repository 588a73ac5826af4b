"""What holds a roof: stops under its slopes and whatever keeps its closures shut share the room below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..part import Part
from ..settings import BuildSettings
from ..solid.facets import Facets
from ..unfold.section import Sections
from .closures import Closures, make_closures
from .in_hand import InHand
from .stops import make_stops
from .taken import Taken

__all__ = ["hold_roofs"]

#: Sizes of stops to try, as shares of the length and width that are set: a smaller one still guides.
_SIZES = ((1.0, 1.0), (0.5, 1.0), (0.25, 1.0), (0.25, 0.5))


def hold_roofs(
    facets: Facets, sections: Sections, joiners: Sequence[Part], settings: BuildSettings
) -> tuple[tuple[Part, ...], Closures]:
    """Return the stops and what holds the closures; stops are smaller where a closure would find no room otherwise."""
    room = Taken((*sections.parts, *joiners), settings, InHand(sections.parts, settings))

    def hold(length: float, width: float) -> _Held:
        eaves = settings.eaves
        smaller = replace(eaves, stop_length=length * eaves.stop_length, stop_width=width * eaves.stop_width)
        taken = room.copy()
        stops = make_stops(facets, sections, replace(settings, eaves=smaller), taken)
        return _Held(stops, make_closures(facets, sections, taken, settings))

    largest = hold(*_SIZES[0])
    if not largest.unpaired or not largest.stops:
        return largest.stops, largest.closures
    smallest = hold(*_SIZES[-1])
    # where the smallest stops leave no more room, those between do not either
    best = largest
    if smallest.unpaired < largest.unpaired:
        for size in _SIZES[1:-1]:
            between = hold(*size)
            best = between if between.unpaired < best.unpaired else best
            if not best.unpaired:
                return best.stops, best.closures
        best = smallest if smallest.unpaired < best.unpaired else best
    return best.stops, best.closures


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """Stops of one size, and what holds the closures beside them."""

    stops: tuple[Part, ...]
    closures: Closures

    @property
    def unpaired(self) -> int:
        """How many closures are not held as they should: not at all, or glued once."""
        findings = self.closures.findings
        return sum(finding.code == "closure-unpaired" for finding in findings) + len(self.closures.glued)
