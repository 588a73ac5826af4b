"""The paint plan: one number for every colour, light ones first, with the true areas that it covers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import ColourField, FaceUp, PaintRole, Part, PartKind
from ..pose import Pose
from ..tolerance import SNAP
from .contrast import luminance
from .paint import Paint

__all__ = ["Colour", "PaintPlan", "is_outside", "paint_plan", "seen_edges"]

#: The edge of a board looks up or down where its normal is nearer to upright than this (sine of 6 degrees).
_LEVEL = 0.1

#: Smaller holes are for pegs and wires, whose edges nobody sees, mm^2.
_LEAST_OPENING = 30.0

#: Kinds whose edges show when the building stands: all others stand on or in something.
_EDGED = (
    *(PartKind.WALL, PartKind.CHEEK, PartKind.ROOF, PartKind.PANEL),
    *(PartKind.UPSTAND, PartKind.CAP, PartKind.TRIM),
)

Key = tuple[str, PaintRole]


@dataclass(frozen=True, slots=True)
class Colour:
    """One colour of the plan. number: from 1, in the order of work; colour: empty where none is chosen.

    outside, room: painted areas on the outside, and on room side and floor, mm^2, lattices among them; thin: what of
    these are lattices; edges: areas of edges that show, at openings, eaves and verges and at tops of walls without a
    roof. parts: ids of those that bear it.
    """

    number: int
    finish: str
    role: PaintRole
    colour: str
    outside: float
    room: float
    thin: float
    edges: float
    parts: tuple[str, ...]

    @property
    def area(self) -> float:
        """All of it, mm^2."""
        return self.outside + self.room + self.edges


@dataclass(frozen=True, slots=True)
class PaintPlan:
    """All colours of a building in the order of work."""

    colours: tuple[Colour, ...] = ()

    def number_of(self, field: ColourField) -> int:
        """Return the number of a field's colour."""
        return next(
            colour.number for colour in self.colours if (colour.finish, colour.role) == (field.finish, field.role)
        )


def paint_plan(parts: Sequence[Part], paint: Paint) -> PaintPlan:
    """Return the colours of all parts with their areas; those without a colour of their own come last."""
    roofed = any(part.kind is PartKind.ROOF for part in parts)
    sums: dict[Key, list[float]] = {}
    bearers: dict[Key, list[str]] = {}
    for part in parts:
        for field in part.colour_fields:
            key = (field.finish, field.role)
            own, area = sums.setdefault(key, [0.0] * 4), float(field.area.area)
            room = not is_outside(part, field)
            own[room] += area
            own[2] += area if field.thin else 0.0
            if not room and not field.thin and part.kind in _EDGED:
                own[3] += part.thickness * seen_edges(part, field, roofed=roofed)
            bearers.setdefault(key, []).append(part.id)
    ordered = sorted(sums, key=lambda key: _rank(key, paint))
    return PaintPlan(
        tuple(
            Colour(
                number,
                *key,
                paint.colour_of(*key),
                outside=sums[key][0],
                room=sums[key][1],
                thin=sums[key][2],
                edges=sums[key][3],
                parts=tuple(dict.fromkeys(bearers[key])),
            )
            for number, key in enumerate(ordered, start=1)
        )
    )


def is_outside(part: Part, field: ColourField) -> bool:
    """Return whether a field lies on the outside of the building, not on its room side or floor."""
    if part.kind in (PartKind.FLOOR, PartKind.TILE, PartKind.DARK_TILE):
        return False
    return field.up is (part.face_up is FaceUp.OUTSIDE)


def _rank(key: Key, paint: Paint) -> tuple[bool, float, str, str]:
    """Return what colours are ordered by: light before dark, since dark covers light (common practice, no source)."""
    colour = paint.colour_of(*key)
    return (not colour, -luminance(colour) if colour else 0.0, key[0], key[1].value)


def seen_edges(part: Part, field: ColourField, *, roofed: bool) -> float:
    """Return how long the edges of a part are that a field reaches and that show, mm.

    Those on the ground never do, tops of walls only without a roof.
    """
    holes = [Polygon(hole) for hole in part.outline.interiors]
    rings = [part.outline.exterior, *(hole.exterior for hole in holes if hole.area > _LEAST_OPENING)]
    rim = shapely.buffer(shapely.union_all(rings), SNAP)
    shared = shapely.intersection(shapely.boundary(field.area), rim)
    if part.kind not in (PartKind.WALL, PartKind.CHEEK):
        return float(shapely.length(shared))
    return sum(_shown(part, shared, roofed=roofed))


def _shown(part: Part, shared: shapely.Geometry, *, roofed: bool) -> Iterator[float]:
    """Yield the lengths of those edges of a wall that show."""
    boards = [(Polygon(panel.ring).buffer(SNAP), panel.stands) for panel in part.panels]
    foot = min(float(panel.stands.apply(panel.ring)[:, 2].min()) for panel in part.panels)
    shapely.prepare(part.outline)
    for line in shapely.get_parts(shared):
        points = shapely.get_coordinates(line)
        for start, end in pairwise(points):
            way, middle = end - start, (start + end) / 2
            size = float(np.hypot(*way))
            stands = next((pose for shape, pose in boards if shapely.intersects_xy(shape, *middle)), None)
            if size < SNAP or stands is None:
                continue
            out = np.array([way[1], -way[0]]) / size
            if shapely.contains_xy(part.outline, *(middle + 2 * SNAP * out)):
                out = -out
            rises = float(stands.turn[2, :2] @ out)
            hidden = roofed if rises > _LEVEL else rises < -_LEVEL and _height(stands, middle) < foot + SNAP
            if not hidden:
                yield size


def _height(stands: Pose, point: np.ndarray) -> float:
    return float(stands.apply(point[None])[0, 2])
