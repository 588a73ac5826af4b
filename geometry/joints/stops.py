"""Stops: what is glued under a roof's slopes just inside the walls, so that it cannot slide off.

Under an eave a strip with a fin at either end (see ``fins``), beside a gable a strip flat under the slope, whose
edge is square to it at any pitch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..part import FaceUp, Part, PartKind
from ..settings import BuildSettings
from ..solid.facets import Facet, Facets
from ..tolerance import SNAP
from ..unfold.section import Sections
from .fins import fin
from .layer import board_layer
from .stop_places import SHORTEST, Place, Wall, best_place, eave_walls, gables
from .taken import Taken

__all__ = ["make_stops"]

#: Level lengths of a fin's glued edge to try, mm (common practice, no source).
_LEGS = (15.0, 10.0, 6.0)

#: A strip beside a gable: its length and width, and what it must reach below the slope, mm.
_RAKE_LENGTH, _RAKE_WIDTH, _RAKE_DEPTH = 40.0, 10.0, 2.5


def make_stops(
    facets: Facets, sections: Sections, settings: BuildSettings, taken: Taken | None = None
) -> tuple[Part, ...]:
    """Cut a stop for every roof slope over an eave wall and one inside every gable, clear of all other boards.

    A stop is a strip with two fins, the strip alone where fins find no room, and beside a gable as many strips on each
    other as reach deep enough.

    taken: the room of what stands by now, which the stops take as well; without it that of the sections.
    """
    taken = Taken(sections.parts, settings) if taken is None else taken
    parts: list[Part] = []
    for (slope_id, falls_in), walls in sorted(eave_walls(facets, sections, settings).items(), key=lambda item: item[0]):
        if slope_id not in sections.part_of:
            continue
        slope, name = facets.facets[slope_id], f"S{_count(parts) + 1}"
        finned = _Cut(facets, sections, settings, slope, name, fins=True)
        # where the slope falls into the room, a strip reaches below the wall's top by more than its thickness
        for cut in (replace(finned, fins=False),) if falls_in else (finned, replace(finned, fins=False)):
            place = cut.best_place(walls, taken)
            if place is not None:
                made = cut(place)
                parts += made
                taken.take(made)
                break
    for wall, slopes in gables(facets, sections, settings):
        eaves = replace(settings.eaves, stop_length=_RAKE_LENGTH, stop_width=_RAKE_WIDTH)
        under = replace(settings, eaves=eaves)
        tried: list[tuple[Place, _Cut]] = []
        for slope in slopes:
            cut = _Cut(facets, sections, under, slope, f"S{_count(parts) + 1}", layers=_layers(settings))
            place = cut.best_place([wall], taken)
            if place is not None:
                tried.append((place, cut))
        if tried:
            place, cut = max(tried, key=lambda each: round(each[0].length, 6))
            made = cut(place)
            parts += made
            taken.take(made)
    return tuple(parts)


def _count(parts: Sequence[Part]) -> int:
    """Return how many stops there are by now: a fin and a second layer belong to their strip."""
    return sum("-" not in part.id for part in parts)


def _layers(settings: BuildSettings) -> int:
    return math.ceil(_RAKE_DEPTH / settings.roof.thickness)


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """Cuts the stop of one slope at a place. fins: with one at either end; layers: of boards on each other."""

    facets: Facets
    sections: Sections
    settings: BuildSettings
    slope: Facet
    name: str
    fins: bool = False
    layers: int = 1

    def __call__(self, place: Place) -> tuple[Part, ...]:
        """Return the parts at a place, none where its fins have no depth."""
        if not self.fins:
            return tuple(
                _stop(self.facets, self.sections, self.settings, self.slope, place, self.name, layer)
                for layer in range(self.layers)
            )
        for leg in _LEGS:
            fins = _fins(self.facets, self.sections, self.settings, self.slope, place, leg, self.name)
            if fins is not None:
                thickness = self.settings.roof.thickness
                between = replace(place, low=place.low + thickness, high=place.high - thickness)
                strip = _stop(self.facets, self.sections, self.settings, self.slope, between, self.name)
                return (strip, *fins)
        return ()

    def best_place(self, walls: Sequence[Wall], taken: Taken) -> Place | None:
        """Return the best place beside the walls at which all of it is free."""

        def is_free(place: Place) -> bool:
            made = self(place)
            return bool(made) and taken.is_free(made)

        return best_place(self.facets, self.sections, self.settings, self.slope, walls, is_free)


def _stop(
    facets: Facets,
    sections: Sections,
    settings: BuildSettings,
    slope: Facet,
    place: Place,
    name: str,
    layer: int = 0,
) -> Part:
    """Return the strip at a place, or the layer below it that is glued to it."""
    ring = place.ring
    low, base = ring.min(axis=0)
    thickness = settings.roof.thickness
    outline, panel = board_layer(slope, ring, ring, height=-layer * thickness, eye=-1)
    eave = facets.ring(slope)
    roof = sections.part_of[slope.id]
    note = (
        f"Glue it flat under {roof}, long edge along the wall: {base - eave[:, 1].min():.1f} mm up the slope from the "
        f"eave edge and {low - eave[:, 0].min():.1f} mm from that slope's left end as seen from outside."
    )
    return Part(
        id=f"{name}-{layer + 1}" if layer else name,
        label=f"Roof stop {name[1:]}{f' layer {layer + 1}' if layer else ''}",
        kind=PartKind.STOP,
        stock=settings.roof.name,
        thickness=thickness,
        face_up=FaceUp.ROOM,
        board_side=1,
        outline=outline,
        panels=(panel,),
        stage=3,
        notes=(f"Glue it under {name}, edges in line." if layer else note,),
    )


def _fins(
    facets: Facets,
    sections: Sections,
    settings: BuildSettings,
    slope: Facet,
    place: Place,
    leg: float,
    name: str,
) -> tuple[Part, Part] | None:
    """Return the fins at both ends of a place, or None where they have no depth or leave their slope."""
    thickness = settings.roof.thickness
    wall = place.wall
    top = float(wall.ends[0, 2]) - sections.setbacks.eaves.drop(
        wall.facet, wall.ends[0], wall.ends[1], (0.0, settings.walls.thickness)
    )
    if abs(wall.ends[1, 2] - wall.ends[0, 2]) > SNAP or place.length < SHORTEST + 2 * thickness:
        return None
    edge = np.array([[place.low, place.base], [place.high - thickness, place.base]]) @ place.turn
    starts = slope.frame.raise_(edge)
    along = (starts[1] - starts[0]) / np.linalg.norm(starts[1] - starts[0])
    made = []
    for start, letter in zip(starts, "ab", strict=True):
        note = f"Glue it upright to the end of {name} and to the roof, its straight edge toward the wall."
        one = fin(settings, slope, start, wall.into, along, leg=leg, top=top, name=f"{name}{letter}-fin", note=note)
        if one is None:
            return None
        made.append(one)
    return made[0], made[1]
