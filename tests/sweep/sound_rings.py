"""Rings of walls without a roof: right-angled and convex plans, courtyards, two rings in one block-out.

Sound: sides are 40 mm long at least, walls 40 to 110 mm high, corners of convex plans lie between 60 and 160 degrees,
40 mm of room stay between the walls round a courtyard and outside, and between two rings. Openings as in houses.
"""

from __future__ import annotations

import numpy as np
from drawn_meshes import Drawing
from house_walls import Hole, draw_holes, floor_face, wall_faces
from shapely.geometry import MultiPoint
from sound_houses import SHORTEST, SQUARE, draw_height, draw_rectangle, draw_winged_plan

__all__ = ["draw_ring"]

Chance = np.random.Generator
Face = tuple[tuple[float, float, float], ...]

#: Shares of walls with an opening and of rings with a face as floor.
_OPENED, _FLOORED = 0.3, 0.4

#: Corners of convex plans, degrees; their longest reach, mm.
_CORNERS, _REACH = (60.0, 160.0), (60.0, 150.0)


def draw_ring(chance: Chance) -> Drawing:
    """Draw rings of one of the kinds."""
    kind = ("rectangle", "right-angled", "convex", "courtyard", "two rings")[int(chance.integers(5))]
    height = draw_height(chance)
    floored = bool(chance.random() < _FLOORED) and kind != "courtyard"
    if kind == "rectangle":
        plans = [draw_rectangle(chance)]
    elif kind == "right-angled":
        plans = [draw_winged_plan(("L", "T", "U", "Z")[int(chance.integers(4))], chance)[0]]
    elif kind == "convex":
        plans = [_convex_plan(chance)]
    elif kind == "courtyard":
        plans = _courtyard(chance)
    else:
        first, second = draw_rectangle(chance), draw_rectangle(chance)
        plans = [first, second + np.array([float(first[:, 0].max()) + SHORTEST, 0.0])]
    surfaces, opened = [], False
    for plan in plans:
        tops = [
            [(*start, height), (*end, height)]
            for start, end in zip(plan.tolist(), np.roll(plan, -1, axis=0).tolist(), strict=True)
        ]
        holes: dict[int, Hole] = draw_holes(tops, chance, _OPENED) if len(tops) > 2 else {}
        faces: list[Face] = wall_faces(tops, holes)
        if floored:
            faces.append(floor_face(plan, holes))
        opened = opened or bool(holes)
        surfaces.append(list(faces))
    return Drawing(f"{kind}{', floor' if floored else ''}{', openings' if opened else ''}", surfaces)


def _convex_plan(chance: Chance) -> np.ndarray:
    """Return corners on an ellipse, from three to eight of them."""
    while True:
        count = int(chance.integers(3, 9))
        turns = (np.arange(count) + chance.uniform(-0.25, 0.25, count)) * 2.0 * np.pi / count
        reach = chance.uniform(*_REACH, 2)
        ring = np.array(MultiPoint(np.column_stack([np.cos(turns), np.sin(turns)]) * reach).convex_hull.exterior.coords)
        ring = ring[:-1][::-1]  # shapely gives hulls clockwise
        sides = np.roll(ring, -1, axis=0) - ring
        lengths = np.hypot(*sides.T)
        before = np.roll(sides, 1, axis=0)
        bends = np.degrees(np.arccos(np.clip((sides * before).sum(axis=1) / lengths / np.roll(lengths, 1), -1.0, 1.0)))
        if lengths.min() >= SHORTEST and (180.0 - bends).min() >= _CORNERS[0] and (180.0 - bends).max() <= _CORNERS[1]:
            return ring if _turns_left(ring) else ring[::-1]


def _turns_left(ring: np.ndarray) -> bool:
    after = np.roll(ring, -1, axis=0)
    return bool((ring[:, 0] * after[:, 1] - ring[:, 1] * after[:, 0]).sum() > 0.0)


def _courtyard(chance: Chance) -> list[np.ndarray]:
    """Return the outer walls and those round the courtyard, whose fronts look into it."""
    wide, deep = chance.uniform(3.0, 5.0, 2) * SQUARE
    rooms = chance.uniform(SHORTEST, 2.5 * SQUARE, 4)
    x, y = rooms[0] + wide + rooms[1], rooms[2] + deep + rooms[3]
    outer = np.array([(0.0, 0.0), (x, 0.0), (x, y), (0.0, y)])
    low, high = (rooms[0], rooms[2]), (rooms[0] + wide, rooms[2] + deep)
    inner = np.array([(low[0], low[1]), (low[0], high[1]), (high[0], high[1]), (high[0], low[1])])
    return [outer, inner]
