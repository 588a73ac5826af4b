"""Walls under a roof, with doors and windows cut fairly, as faces of a surface."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.polygon import orient

__all__ = ["Hole", "draw_holes", "floor_face", "wall_faces"]

Point = tuple[float, float, float]
Chance = np.random.Generator

#: An opening stays this far from the ends of its wall and below its top, mm: what a maker leaves beside a door.
FAIR_SIDE, FAIR_TOP = 20.0, 12.0

#: ... and its sides lie no nearer than this below a bend in the wall's top, mm: such strips are no sound mesh.
FAIR_BEND = 4.0

#: Openings are this wide and high at least and at most, mm: a base of 25 mm goes through most of them.
_WIDTH, _HEIGHT = (14.0, 40.0), (20.0, 45.0)


@dataclass(frozen=True)
class Hole:
    """An opening in a wall: from and to along the wall and in height, mm; ``low`` is 0 for a door."""

    start: float
    end: float
    low: float
    high: float


def draw_holes(tops: Sequence[Sequence[Point]], chance: Chance, share: float) -> dict[int, Hole]:
    """Draw at most one opening for about ``share`` of the walls; at least two walls stay whole."""
    holes: dict[int, Hole] = {}
    order = chance.permutation(len(tops)).tolist()
    for k in order[: len(tops) - 2]:
        if chance.random() >= share:
            continue
        length = float(np.hypot(tops[k][-1][0] - tops[k][0][0], tops[k][-1][1] - tops[k][0][1]))
        room, height = length - 2.0 * FAIR_SIDE, min(point[2] for point in tops[k]) - FAIR_TOP
        width, rise = float(chance.uniform(*_WIDTH)), float(chance.uniform(*_HEIGHT))
        start = FAIR_SIDE + float(chance.uniform()) * (room - width)
        door, share_up = chance.random() < 0.5, chance.random()
        bends = [float(np.hypot(point[0] - tops[k][0][0], point[1] - tops[k][0][1])) for point in tops[k][1:-1]]
        near = any(abs(bend - side) < FAIR_BEND for bend in bends for side in (start, start + width))
        if width > room or rise > height or near:
            continue
        low = 0.0 if door or height - rise < FAIR_TOP else FAIR_TOP + float(share_up) * (height - rise - FAIR_TOP)
        holes[k] = Hole(start, start + width, low, low + rise)
    return holes


def wall_faces(tops: Sequence[Sequence[Point]], holes: dict[int, Hole]) -> list[tuple[Point, ...]]:
    """Return the walls from the ground to their tops, fronts outward; a wall with an opening is cut into strips."""
    faces: list[tuple[Point, ...]] = []
    for k, top in enumerate(tops):
        (ax, ay, _), (bx, by, _) = top[0], top[-1]
        whole = ((ax, ay, 0.0), (bx, by, 0.0), *reversed(top))
        faces += [whole] if k not in holes else _around(whole, holes[k])
    return faces


def _around(wall: Sequence[Point], hole: Hole) -> list[tuple[Point, ...]]:
    """Return a wall without its opening: what stands left and right of it, above and, of a window, below."""
    foot = np.array(wall[0])
    along = np.array(wall[1]) - foot
    length = float(np.linalg.norm(along))
    along = along / length
    flat = orient(Polygon([((np.array(point) - foot) @ along, point[2]) for point in wall]))
    high = max(point[2] for point in wall) + 1.0
    pieces = [
        box(-1.0, -1.0, hole.start, high),
        box(hole.end, -1.0, length + 1.0, high),
        box(hole.start, hole.high, hole.end, high),
        *([box(hole.start, -1.0, hole.end, hole.low)] if hole.low > 0.0 else []),
    ]
    cut = [orient(flat.intersection(piece)) for piece in pieces]
    return [tuple((*(foot + along * x)[:2].tolist(), z) for x, z in list(piece.exterior.coords)[:-1]) for piece in cut]


def floor_face(plan: np.ndarray, holes: dict[int, Hole]) -> tuple[Point, ...]:
    """Return the floor as one face seen from below; it has corners where doors begin and end."""
    ring: list[Point] = []
    for k, (start, end) in enumerate(zip(plan, np.roll(plan, -1, axis=0), strict=True)):
        ring.append((float(start[0]), float(start[1]), 0.0))
        if k in holes and holes[k].low <= 0.0:
            line = LineString([start, end])
            ring += [(*line.interpolate(way).coords[0][:2], 0.0) for way in (holes[k].start, holes[k].end)]
    return tuple(reversed(ring))
