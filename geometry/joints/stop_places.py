"""Places for stops: stretches under a roof's slopes just inside the walls, along eaves and beside gables."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import transform
from shapely.geometry import LineString, Polygon

from ..settings import BoardFace, BuildSettings
from ..solid.facets import Facet, Facets
from ..solid.solid import Role
from ..tolerance import SNAP
from ..unfold.cheeks import joiner_at
from ..unfold.section import Sections

__all__ = ["SHORTEST", "Place", "Wall", "best_place", "eave_walls", "gables"]

#: Kept free between a stop and whatever bounds its place, mm (common practice, no source).
_AIR = 3.0

#: Where along a wall it is asked which slope lies there, as shares.
_LOOKS = (0.25, 0.5, 0.75)

#: Where a stop would be shorter than this, a narrower one is tried that may be longer, mm (common practice, no source).
_USEFUL = 20.0

#: A shorter stop guides nothing, mm (common practice, no source).
SHORTEST = 8.0

#: Pieces of a place to try where something stands in it, as shares of its length.
_SHARES = (0.75, 0.5, 0.25)

#: Widths to try, as shares of the width that is set: near a hip a narrower stop is longer.
_WIDTHS = (1.0, 0.75, 0.5)


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """A wall under an eave: its facet, the ends of its top edge, (2, 3) mm, and the level direction into the room."""

    facet: Facet
    ends: np.ndarray
    into: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A rectangle under a slope: (low, high) along a wall and from ``base`` into the room by ``width``, mm.

    turn: (2, 2), takes points of the slope's plane to the axes along the wall and into the room. wall: beside it.
    """

    low: float
    high: float
    base: float
    width: float
    turn: np.ndarray
    wall: Wall

    @property
    def length(self) -> float:
        return self.high - self.low

    @property
    def ring(self) -> np.ndarray:
        """Its corners in the slope's plane, (4, 2) mm, counter-clockwise."""
        top = self.base + self.width
        corners = np.array([[self.low, self.base], [self.high, self.base], [self.high, top], [self.low, top]])
        return corners @ self.turn


def eave_walls(facets: Facets, sections: Sections, settings: BuildSettings) -> dict[tuple[int, bool], list[Wall]]:
    """Return the walls that a roof slope falls outward over, by its id, and those that it falls into the room from."""
    found: dict[tuple[int, bool], list[Wall]] = {}
    for facet, into in _walls_of_rooms(facets, settings):
        for edge in facets.edges_of(facet):
            if edge.right is not None:
                continue
            ends = facets.ends(edge)
            for slope in _slopes_over(sections, ends):
                # beside a rake the slope falls along the wall; on the higher wall of a lean-to it falls into the room
                outward = float(facets.facets[slope].frame.n @ into)
                if outward < -SNAP or (outward > SNAP and abs(ends[1, 2] - ends[0, 2]) < SNAP):
                    found.setdefault((slope, outward > 0.0), []).append(Wall(facet, ends, into))
    return found


def _walls_of_rooms(facets: Facets, settings: BuildSettings) -> Iterator[tuple[Facet, np.ndarray]]:
    """Yield the walls that stand on the floor, each with the direction into the room, (3,) unit."""
    for facet in facets.facets:
        if facets.is_wall(facet) and not facets.shell_of(facet).stands_on:
            yield facet, facet.frame.n if settings.face is BoardFace.OUTSIDE else -facet.frame.n


def _slopes_over(sections: Sections, ends: np.ndarray) -> tuple[int, ...]:
    """Return the slopes that lie on an edge, (2, 3) mm: on that of a roof in halves more than one."""
    over = (sections.setbacks.eaves.slope_over(ends[0] + share * (ends[1] - ends[0])) for share in _LOOKS)
    return tuple(dict.fromkeys(slope for slope in over if slope is not None))


def gables(facets: Facets, sections: Sections, settings: BuildSettings) -> Iterator[tuple[Wall, tuple[Facet, ...]]]:
    """Yield walls whose top edges climb with the slopes over them, each with its longest such edge and its slopes."""
    for facet, into in _walls_of_rooms(facets, settings):
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
            _, ends, slopes = max(edges, key=lambda entry: round(entry[0], 6))
            yield Wall(facet, ends, into), tuple(facets.facets[slope] for slope in slopes)


def best_place(
    facets: Facets,
    sections: Sections,
    settings: BuildSettings,
    slope: Facet,
    walls: Sequence[Wall],
    is_free: Callable[[Place], bool],
) -> Place | None:
    """Return the free place for the longest stop under a slope, at the wall or, where that leaves it short, elsewhere.

    Tried in turn until a stop is useful: beside the joiners at the wall's face, before the faces of their inner
    cheeks, and narrower; where all of that is taken, shorter pieces of it.
    """
    room = _room(facets, sections, slope)
    best: Place | None = None
    blocked: list[Place] = []
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


def _shorter(places: list[Place]) -> Iterator[Place]:
    """Yield pieces of places, the longest first: from their middles and both of their ends."""
    pieces = [
        replace(place, low=low, high=low + share * place.length)
        for place in places
        for share in _SHARES
        for low in place.low + (1.0 - share) * place.length * np.array([0.5, 0.0, 1.0])
    ]
    yield from sorted((piece for piece in pieces if piece.length >= SHORTEST), key=lambda piece: -piece.length)


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
    wall: Wall,
    width: float,
    before: float,
) -> Iterator[Place]:
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
        # a fin alone is no longer than a board is thick
        least = min(SHORTEST, eaves.stop_length)
        if ends[1] - ends[0] < least:
            continue
        band = shapely.box(ends[0], base, ends[1], base + width)
        blocked = [part.bounds[::2] for part in shapely.get_parts(band.difference(turned))]
        for start, end in _free(ends, blocked):
            length = min(eaves.stop_length, end - start)
            if length >= least:
                middle = (start + end) / 2
                yield Place(middle - length / 2, middle + length / 2, base, width, turn, wall)


def _turn_along(foot: np.ndarray, slope: Facet, wall: Wall) -> np.ndarray:
    """Return what takes points of a slope's plane to the axes along a wall and into the room, (2, 2).

    foot: the wall's line on the slope, (2, 2) mm. Beside a wall square to the slope the axes are the slope's own.
    """
    along = foot[1] - foot[0]
    inward = slope.frame.flatten((slope.frame.origin + wall.into)[None])[0]
    if abs(along[1]) < SNAP:
        return np.eye(2) if inward[1] > 0.0 else -np.eye(2)
    along = along / np.hypot(*along)
    if along[0] * inward[1] < along[1] * inward[0]:
        along = -along
    return np.array([along, [-along[1], along[0]]])


def _under(settings: BuildSettings, slope: Facet, wall: Wall, low: float, high: float, before: float) -> np.ndarray:
    """Return the line, (2, 3) mm, on a slope's underside that runs clear of the wall's room-side face."""
    # the room-side face of the wall, shifted into the room by the clearance, brought up to the slope
    inward = settings.walls.thickness if settings.face is BoardFace.OUTSIDE else 0.0
    v = float(wall.facet.frame.flatten(wall.ends)[0, 1])
    line = wall.facet.frame.raise_(np.array([[low, v], [high, v]]))
    n, origin = slope.frame.n, slope.frame.origin
    # below a slope that falls into the room the lower face of a strip comes nearer to the wall
    lean = settings.roof.thickness * max(0.0, float(n @ wall.into))
    line = line + wall.into * (inward + before + settings.eaves.stop_clearance + lean)
    line[:, 2] = origin[2] - ((line[:, :2] - origin[:2]) @ n[:2]) / n[2]
    return line


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
