"""Stops: what is glued under a roof's slopes just inside the walls, so that it cannot slide off.

Under an eave a strip with a fin at either end (see ``fins``), beside a gable a strip flat under the slope, whose
edge is square to it at any pitch.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import transform
from shapely.geometry import LineString, Polygon

from ..part import FaceUp, Part, PartKind
from ..settings import BoardFace, BuildSettings
from ..solid.facets import Facet, Facets
from ..solid.solid import Role
from ..tolerance import SNAP
from ..unfold.cheeks import joiner_at
from ..unfold.section import Sections
from .fins import fin
from .layer import board_layer
from .taken import Taken

__all__ = ["make_stops"]

#: Kept free between a stop and whatever bounds its place, mm (common practice, no source).
_AIR = 3.0

#: Where along a wall it is asked which slope lies there, as shares.
_LOOKS = (0.25, 0.5, 0.75)

#: Where a stop would be shorter than this, a narrower one is tried that may be longer, mm (common practice, no source).
_USEFUL = 20.0

#: A shorter stop guides nothing, mm (common practice, no source).
_SHORTEST = 8.0

#: Pieces of a place to try where something stands in it, as shares of its length.
_SHARES = (0.75, 0.5, 0.25)

#: Level lengths of a fin's glued edge to try, mm (common practice, no source).
_LEGS = (15.0, 10.0, 6.0)

#: A strip beside a gable: its length and width, and what it must reach below the slope, mm.
_RAKE_LENGTH, _RAKE_WIDTH, _RAKE_DEPTH = 40.0, 10.0, 2.5

#: Widths to try, as shares of the width that is set: near a hip a narrower stop is longer.
_WIDTHS = (1.0, 0.75, 0.5)


@dataclass(frozen=True, slots=True, eq=False)
class _Wall:
    """A wall under an eave: its facet, the ends of its top edge, (2, 3) mm, and the level direction into the room."""

    facet: Facet
    ends: np.ndarray
    into: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class _Place:
    """A rectangle under a slope: (low, high) along a wall and from ``base`` into the room by ``width``, mm.

    turn: (2, 2), takes points of the slope's plane to the axes along the wall and into the room. wall: beside it.
    """

    low: float
    high: float
    base: float
    width: float
    turn: np.ndarray
    wall: _Wall

    @property
    def length(self) -> float:
        return self.high - self.low

    @property
    def ring(self) -> np.ndarray:
        """Its corners in the slope's plane, (4, 2) mm, counter-clockwise."""
        top = self.base + self.width
        corners = np.array([[self.low, self.base], [self.high, self.base], [self.high, top], [self.low, top]])
        return corners @ self.turn


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
    for slope_id, walls in sorted(_eave_walls(facets, sections, settings).items()):
        if slope_id not in sections.part_of:
            continue
        slope, name = facets.facets[slope_id], f"S{_count(parts) + 1}"
        finned = _Cut(facets, sections, settings, slope, name, fins=True)
        for cut in (finned, replace(finned, fins=False)):
            place = _best_place(
                facets, sections, settings, slope, walls, lambda place, cut=cut: cut.is_free(place, taken)
            )
            if place is not None:
                made = cut(place)
                parts += made
                taken.take(made)
                break
    for wall, slopes in _gables(facets, sections, settings):
        eaves = replace(settings.eaves, stop_length=_RAKE_LENGTH, stop_width=_RAKE_WIDTH)
        under = replace(settings, eaves=eaves)
        tried: list[tuple[_Place, _Cut]] = []
        for slope in slopes:
            cut = _Cut(facets, sections, under, slope, f"S{_count(parts) + 1}", layers=_layers(settings))
            place = _best_place(
                facets, sections, under, slope, [wall], lambda place, cut=cut: cut.is_free(place, taken)
            )
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

    def __call__(self, place: _Place) -> tuple[Part, ...]:
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

    def is_free(self, place: _Place, taken: Taken) -> bool:
        made = self(place)
        return bool(made) and taken.is_free(made)


def _eave_walls(facets: Facets, sections: Sections, settings: BuildSettings) -> dict[int, list[_Wall]]:
    """Return, per roof slope, the walls that it falls outward over."""
    found: dict[int, list[_Wall]] = {}
    for facet in facets.facets:
        if not facets.is_wall(facet) or facets.shell_of(facet).stands_on:
            continue
        into = facet.frame.n if settings.face is BoardFace.OUTSIDE else -facet.frame.n
        for edge in facets.edges_of(facet):
            if edge.right is not None:
                continue
            ends = facets.ends(edge)
            for slope in _slopes_over(sections, ends):
                # beside a rake the slope falls along the wall; on the higher wall of a lean-to it falls into the room
                outward = float(facets.facets[slope].frame.n @ into)
                if outward < -SNAP or (outward > SNAP and abs(ends[1, 2] - ends[0, 2]) < SNAP):
                    found.setdefault(slope, []).append(_Wall(facet, ends, into))
    return found


def _slopes_over(sections: Sections, ends: np.ndarray) -> tuple[int, ...]:
    """Return the slopes that lie on an edge, (2, 3) mm: on that of a roof in halves more than one."""
    over = (sections.setbacks.eaves.slope_over(ends[0] + share * (ends[1] - ends[0])) for share in _LOOKS)
    return tuple(dict.fromkeys(slope for slope in over if slope is not None))


def _gables(facets: Facets, sections: Sections, settings: BuildSettings) -> Iterator[tuple[_Wall, tuple[Facet, ...]]]:
    """Yield walls whose top edges climb with the slopes over them, each with its longest such edge and its slopes."""
    for facet in facets.facets:
        if not facets.is_wall(facet) or facets.shell_of(facet).stands_on:
            continue
        into = facet.frame.n if settings.face is BoardFace.OUTSIDE else -facet.frame.n
        edges: list[tuple[float, np.ndarray, tuple[int, ...]]] = []
        for edge in facets.edges_of(facet):
            ends = facets.ends(edge)
            if edge.right is not None or abs(ends[1, 2] - ends[0, 2]) < SNAP:
                continue
            slopes = tuple(
                slope
                for slope in _slopes_over(sections, ends)
                if abs(float(facets.facets[slope].frame.n @ into)) < SNAP and slope in sections.part_of
            )
            if slopes:
                edges.append((facets.length(edge), ends, slopes))
        if edges:
            _, ends, slopes = max(edges, key=lambda each: round(each[0], 6))
            yield _Wall(facet, ends, into), tuple(facets.facets[slope] for slope in slopes)


def _best_place(
    facets: Facets,
    sections: Sections,
    settings: BuildSettings,
    slope: Facet,
    walls: list[_Wall],
    is_free: Callable[[_Place], bool],
) -> _Place | None:
    """Return the free place for the longest stop under a slope, at the wall or, where that leaves it short, elsewhere.

    Tried in turn until a stop is useful: beside the joiners at the wall's face, before the faces of their inner
    cheeks, and narrower; where all of that is taken, shorter pieces of it.
    """
    room = _room(facets, sections, slope)
    best: _Place | None = None
    blocked: list[_Place] = []
    for share, before in itertools.product(_WIDTHS, (0.0, settings.joiners.thickness)):
        width = share * settings.eaves.stop_width
        for wall in walls:
            for place in _places(facets, sections, settings, slope, room, wall, width, before):
                if best is not None and place.length <= best.length + SNAP:
                    continue
                if is_free(place):
                    best = place
                else:
                    blocked.append(place)
        if best is not None and best.length >= _USEFUL:
            break
    return best if best is not None else next(filter(is_free, _shorter(blocked)), None)


def _shorter(places: list[_Place]) -> Iterator[_Place]:
    """Yield pieces of places, the longest first: from their middles and both of their ends."""
    pieces = [
        replace(place, low=low, high=low + share * place.length)
        for place in places
        for share in _SHARES
        for low in place.low + (1.0 - share) * place.length * np.array([0.5, 0.0, 1.0])
    ]
    yield from sorted((piece for piece in pieces if piece.length >= _SHORTEST), key=lambda piece: -piece.length)


def _room(facets: Facets, sections: Sections, slope: Facet) -> Polygon:
    """Return where in the plane of a slope a strip may lie under its panel.

    A strip stays on its own side of the plane that bisects a bent or parted edge: at the depth t of its lower
    face that plane has come t * tan(angle / 2) nearer.
    """
    moved = sections.setbacks.facets[slope.id]
    depth = next(part.thickness for part in sections.parts if part.id == sections.part_of[slope.id])
    room = Polygon(moved.rings[0].points, [ring.points for ring in moved.rings[1:]]).buffer(0)
    for r in range(len(slope.rings)):
        ring = facets.ring(slope, r)
        for k, edge in enumerate(facets.edges_of(slope, r)):
            if edge.right is None and r == 0:
                continue
            bend = sections.setbacks.bends.get(edge.id)
            reach = max(bend.setback if bend is not None else 0.0, depth * math.tan(max(edge.angle, 0.0) / 2))
            side = LineString([ring[k], ring[(k + 1) % len(ring)]])
            room = room.difference(side.buffer(reach + _AIR))
    return room


def _places(
    facets: Facets,
    sections: Sections,
    settings: BuildSettings,
    slope: Facet,
    room: Polygon,
    wall: _Wall,
    width: float,
    before: float,
) -> Iterator[_Place]:
    """Yield the free stretches along a wall as places for stops under a slope, each in the middle of its stretch.

    before: how far before the wall's face the stop lies, beside its clearance, mm; above 0 before the joiners too.
    """
    eaves = settings.eaves
    run = np.sort(wall.facet.frame.flatten(wall.ends)[:, 0])
    for low, high in _free(run, _taken(facets, sections, settings, wall.facet, joiners=before == 0.0)):
        foot = slope.frame.flatten(_under(settings, slope, wall, low, high, before))
        turn = _turn_along(foot, slope, wall)
        foot, turned = foot @ turn.T, transform(room, lambda points, turn=turn: points @ turn.T)
        base = float(foot[:, 1].min())
        ends = np.sort(foot[:, 0]) + np.array([_AIR, -_AIR])
        if ends[1] - ends[0] < _SHORTEST:
            continue
        band = shapely.box(ends[0], base, ends[1], base + width)
        blocked = [part.bounds[::2] for part in shapely.get_parts(band.difference(turned))]
        for start, end in _free(ends, blocked):
            length = min(eaves.stop_length, end - start)
            if length >= _SHORTEST:
                middle = (start + end) / 2
                yield _Place(middle - length / 2, middle + length / 2, base, width, turn, wall)


def _turn_along(foot: np.ndarray, slope: Facet, wall: _Wall) -> np.ndarray:
    """Return what takes points of a slope's plane to the axes along a wall and into the room, (2, 2).

    foot: the wall's line on the slope, (2, 2) mm. Beside a wall square to the slope the axes are the slope's own.
    """
    along = foot[1] - foot[0]
    if abs(along[1]) < SNAP:
        return np.eye(2)
    along = along / np.hypot(*along)
    inward = slope.frame.flatten((slope.frame.origin + wall.into)[None])[0]
    if along[0] * inward[1] < along[1] * inward[0]:
        along = -along
    return np.array([along, [-along[1], along[0]]])


def _under(settings: BuildSettings, slope: Facet, wall: _Wall, low: float, high: float, before: float) -> np.ndarray:
    """Return the line, (2, 3) mm, on a slope's underside that runs clear of the wall's room-side face."""
    # the room-side face of the wall, shifted into the room by the clearance, brought up to the slope
    inward = settings.walls.thickness if settings.face is BoardFace.OUTSIDE else 0.0
    v = float(wall.facet.frame.flatten(wall.ends)[0, 1])
    line = wall.facet.frame.raise_(np.array([[low, v], [high, v]]))
    line = line + wall.into * (inward + before + settings.eaves.stop_clearance)
    n, origin = slope.frame.n, slope.frame.origin
    line[:, 2] = origin[2] - ((line[:, :2] - origin[:2]) @ n[:2]) / n[2]
    return line


def _stop(
    facets: Facets,
    sections: Sections,
    settings: BuildSettings,
    slope: Facet,
    place: _Place,
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
    place: _Place,
    leg: float,
    name: str,
) -> tuple[Part, Part] | None:
    """Return the fins at both ends of a place, or None where they have no depth or leave their slope."""
    thickness = settings.roof.thickness
    wall = place.wall
    top = float(wall.ends[0, 2]) - sections.setbacks.eaves.drop(
        wall.facet, wall.ends[0], wall.ends[1], (0.0, settings.walls.thickness)
    )
    if abs(wall.ends[1, 2] - wall.ends[0, 2]) > SNAP or place.length < _SHORTEST + 2 * thickness:
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


def _taken(
    facets: Facets, sections: Sections, settings: BuildSettings, wall: Facet, *, joiners: bool
) -> list[tuple[float, float]]:
    """Return the stretches of a wall's u where a stop would meet the inside of a bend, or a joiner as well."""
    taken = []
    for edge in facets.edges_of(wall):
        at = facets.u_of(edge, wall)
        if edge.role is Role.BREAK and joiners:
            half = joiner_at(sections.setbacks, facets, edge, settings).cheek_width / 2
            taken.append((at - half, at + half))
        elif edge.id in sections.setbacks.bends:
            reach = sections.setbacks.bends[edge.id].setback
            taken.append((at - reach, at + reach))
    return taken


def _free(run: np.ndarray, taken: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the stretches of a run, (low, high) mm, that nothing takes."""
    pieces = [(float(run[0]), float(run[1]))]
    for low, high in taken:
        pieces = [piece for a, b in pieces for piece in ((a, min(b, low)), (max(a, high), b)) if piece[1] > piece[0]]
    return pieces
