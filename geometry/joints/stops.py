"""Stops: what is glued under a roof's slopes just inside the walls, so that it cannot slide off.

Under an eave a strip with a fin at either end (see ``fins``), or a fin alone where bends and joiners leave no room for
that; beside a gable a strip flat under the slope, whose edge is square to it at any pitch.
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
from .fins import ENGAGED, fin
from .layer import board_layer
from .stop_places import SHORTEST, Place, Wall, best_place, eave_walls, gables
from .taken import Taken

__all__ = ["make_stops"]

#: Level lengths of a fin's glued edge to try, mm (common practice, no source).
_LEGS = (15.0, 10.0, 6.0)

#: Room under a slope that a fin alone is tried in, up the slope, mm: with the shares of ``best_place`` down to a half.
_LONE_ROOM = 20.0

#: A wall's top that climbs by less than this, mm per mm, is as good as level: noise of the model.
_CLIMBS = 0.02

#: Beside a gable a fin's glued edge gapes by so much at most on its upper side, mm (common practice, no source).
_WEDGE = 2.0

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
        strip = _Cut(facets, sections, settings, slope, name)
        # where the slope falls into the room, a strip reaches below the wall's top by more than its thickness
        for cut in (strip,) if falls_in else (replace(strip, fins=True), _lone_fin(strip), strip):
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
        for slope in slopes if not tried else ():
            cut = _lone_fin(_Cut(facets, sections, settings, slope, f"S{_count(parts) + 1}"), gable=True)
            place = cut.best_place([wall], taken)
            if place is not None:
                tried.append((place, cut))
        if tried:
            place, cut = max(tried, key=lambda entry: round(entry[0].length, 6))
            made = cut(place)
            parts += made
            taken.take(made)
    return tuple(parts)


def _count(parts: Sequence[Part]) -> int:
    """Return how many stops there are by now: the fins of a strip and its second layer belong to it."""
    return len({part.id.partition("-")[0].rstrip("ab") for part in parts})


def _layers(settings: BuildSettings) -> int:
    return math.ceil(_RAKE_DEPTH / settings.roof.thickness)


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """Cuts the stop of one slope at a place.

    fins: with one at either end; lone: a fin alone; layers: of boards on each other.
    """

    facets: Facets
    sections: Sections
    settings: BuildSettings
    slope: Facet
    name: str
    fins: bool = False
    lone: bool = False
    layers: int = 1

    def __call__(self, place: Place) -> tuple[Part, ...]:
        """Return the parts at a place, none where its fins have no depth."""
        if self.lone:
            one = _alone(self, place)
            return () if one is None else (one,)
        if not self.fins:
            return tuple(_stop(self, place, layer) for layer in range(self.layers))
        for leg in _LEGS:
            fins = _fins(self, place, leg)
            if fins is not None:
                less = self.settings.roof.thickness + self._lean(place)
                between = replace(place, low=place.low + less, high=place.high - less)
                return (_stop(self, between), *fins)
        return ()

    def _lean(self, place: Place) -> float:
        """Return how far the ends of a strip lean toward its upright fins, mm: nothing along a wall that is level."""
        ends = self.slope.frame.raise_(np.array([[place.low, place.base], [place.high, place.base]]) @ place.turn)
        climb = abs(float(ends[1, 2] - ends[0, 2])) / place.length
        return climb * (place.width + self.settings.roof.thickness)

    def best_place(self, walls: Sequence[Wall], taken: Taken) -> Place | None:
        """Return the best place beside the walls at which all of it is free."""

        def is_free(place: Place) -> bool:
            made = self(place)
            return bool(made) and taken.is_free(made)

        return best_place(self.facets, self.sections, self.settings, self.slope, walls, is_free)


def _lone_fin(strip: _Cut, *, gable: bool = False) -> _Cut:
    """Return what cuts a fin alone, in the least room along a wall. gable: the slope falls along it."""
    # a board on edge covers more of a slope that it stands askew to
    length = strip.settings.roof.thickness / (float(strip.slope.frame.n[2]) if gable else 1.0)
    eaves = replace(strip.settings.eaves, stop_length=length, stop_width=_LONE_ROOM)
    return replace(strip, lone=True, settings=replace(strip.settings, eaves=eaves))


def _stop(cut: _Cut, place: Place, layer: int = 0) -> Part:
    """Return the strip at a place, or the layer below it that is glued to it."""
    ring, slope, name = place.ring, cut.slope, cut.name
    stock = cut.settings.roof
    outline, panel = board_layer(slope, ring, ring, height=-layer * stock.thickness, eye=-1)
    where = _where(cut.facets, slope, ring)
    note = f"Glue it flat under {cut.sections.part_of[slope.id]}, long edge along the wall: {where}."
    return Part(
        id=f"{name}-{layer + 1}" if layer else name,
        label=f"Roof stop {name[1:]}{f' layer {layer + 1}' if layer else ''}",
        kind=PartKind.STOP,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.ROOM,
        board_side=1,
        outline=outline,
        panels=(panel,),
        stage=3,
        notes=(f"Glue it under {name}, edges in line." if layer else note,),
    )


def _where(facets: Facets, slope: Facet, ring: np.ndarray) -> str:
    """Say where the lower left corner of what is glued under a slope lies. ring: (k, 2) mm in the slope's plane."""
    (low, base), eave = ring.min(axis=0), facets.ring(slope).min(axis=0)
    return (
        f"{base - eave[1]:.1f} mm up the slope from the eave edge and {low - eave[0]:.1f} mm from that slope's left "
        "end as seen from outside"
    )


def _alone(cut: _Cut, place: Place) -> Part | None:
    """Return a fin at the start of a place, or None where it has no depth or too little of it would be glued.

    Beside a gable the slope falls along the wall, so that the fin hangs from the lower side of its glued edge.
    """
    sections, settings, slope = cut.sections, cut.settings, cut.slope
    ends = np.array([[place.low, place.base], [place.high, place.base]]) @ place.turn
    raised = slope.frame.raise_(ends)
    along = (raised[1] - raised[0]) * np.array([1.0, 1.0, 0.0])
    along = along / np.linalg.norm(along)
    start = np.array([*raised[0, :2], raised[:, 2].min()])
    level = abs(float(slope.frame.n[2]))
    if np.ptp(raised[:, 2]) > SNAP:
        if np.ptp(raised[:, 2]) > _WEDGE:
            return None
        # as deep as it must reach square to the slope
        top: float | None = float(start[2]) - ENGAGED * (1.0 / level - 1.0)
        leg = min(_LEGS[0], place.width)
    else:
        top, leg = _wall_top(sections, settings, place.wall, start), place.width * level
    if top is None:
        return None
    note = (
        f"Glue it upright under {sections.part_of[slope.id]}, its straight edge toward the wall, with a bead of glue "
        f"along both sides: {_where(cut.facets, slope, ends)}."
    )
    return fin(settings, slope, start, place.wall.into, along, leg=leg, top=top, name=f"{cut.name}-fin", note=note)


def _wall_top(sections: Sections, settings: BuildSettings, wall: Wall, beside: np.ndarray) -> float | None:
    """Return the height of a wall's top as it is cut beside a point, (3,) mm; None where it climbs like a gable."""
    run, rise = wall.ends[1, :2] - wall.ends[0, :2], float(wall.ends[1, 2] - wall.ends[0, 2])
    if abs(rise) > _CLIMBS * float(np.hypot(*run)):
        return None
    drop = sections.setbacks.eaves.drop(wall.facet, wall.ends[0], wall.ends[1], (0.0, settings.walls.thickness))
    share = float((beside[:2] - wall.ends[0, :2]) @ run / (run @ run))
    return float(wall.ends[0, 2]) + share * rise - drop


def _fins(cut: _Cut, place: Place, leg: float) -> tuple[Part, Part] | None:
    """Return the fins at both ends of a place, or None where they have no depth or leave their slope.

    leg: how long their glued edges are, mm.
    """
    settings, slope, name = cut.settings, cut.slope, cut.name
    thickness, wall = settings.roof.thickness, place.wall
    if place.length < SHORTEST + 2 * thickness:
        return None
    edge = np.array([[place.low, place.base], [place.high - thickness, place.base]]) @ place.turn
    starts = slope.frame.raise_(edge)
    along = (starts[1] - starts[0]) / np.linalg.norm(starts[1] - starts[0])
    made = []
    for start, letter in zip(starts, "ab", strict=True):
        top = _wall_top(cut.sections, settings, wall, start)
        if top is None:
            return None
        note = f"Glue it upright to the end of {name} and to the roof, its straight edge toward the wall."
        one = fin(settings, slope, start, wall.into, along, leg=leg, top=top, name=f"{name}{letter}-fin", note=note)
        if one is None:
            return None
        made.append(one)
    return made[0], made[1]
