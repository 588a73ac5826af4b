"""What holds a roof: stops under its slopes and whatever keeps its closures shut share the room below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..part import Part
from ..settings import BuildSettings
from ..solid.facets import Facets
from ..unfold.section import Sections
from .closures import Closures, make_closures
from .stops import make_stops
from .taken import Taken

__all__ = ["hold_roofs"]

#: Sizes of stops to try, as shares of the length and width that are set: a smaller one still guides.
_SIZES = ((1.0, 1.0), (0.5, 1.0), (0.25, 1.0), (0.25, 0.5))


def hold_roofs(
    facets: Facets, sections: Sections, joiners: Sequence[Part], settings: BuildSettings
) -> tuple[tuple[Part, ...], Closures]:
    """Return the stops and what holds the closures; stops are smaller where a closure would find no room otherwise."""
    tried: list[tuple[int, tuple[Part, ...], Closures]] = []
    eaves = settings.eaves
    taken = Taken((*sections.parts, *joiners), settings)
    for length, width in _SIZES:
        smaller = replace(eaves, stop_length=length * eaves.stop_length, stop_width=width * eaves.stop_width)
        stops = make_stops(facets, sections, replace(settings, eaves=smaller), taken.copy())
        closures = make_closures(facets, sections, (*sections.parts, *joiners, *stops), settings)
        unpaired = sum(finding.code == "closure-unpaired" for finding in closures.findings) + len(closures.glued)
        tried.append((unpaired, stops, closures))
        if not unpaired or not stops:
            break
    _, stops, closures = min(tried, key=lambda each: each[0])
    return stops, closures
