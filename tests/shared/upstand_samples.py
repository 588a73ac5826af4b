"""Gable houses with dormers and chimneys on their roofs, as bodies of their own or in the roof's own surface."""

from __future__ import annotations

import math

import numpy as np
from stowfold.geometry.solid.solid import Solid, join_solids, make_solid

__all__ = [
    "chimney_body",
    "dormer_body",
    "gable_house",
    "gable_roof",
    "house_with",
    "porch_body",
    "roof_with_dormer",
]

#: Plan and eaves of the canal's toll house on which everything here stands, mm.
LENGTH, WIDTH, EAVES = 240.0, 160.0, 70.0

#: How far the roof reaches beyond the walls, on the plan, mm.
OVERHANG = 6.0


def gable_house(pitch: float) -> Solid:
    """Four walls, two of them gables, ridge along x. pitch: radians."""
    length, width, height = LENGTH, WIDTH, EAVES
    top = height + width / 2 * math.tan(pitch)
    points = [
        *((0, 0, 0), (length, 0, 0), (length, width, 0), (0, width, 0)),
        *((0, 0, height), (length, 0, height), (length, width, height), (0, width, height)),
        *((length, width / 2, top), (0, width / 2, top)),
    ]
    faces = [(0, 1, 5, 4), (1, 2, 6, 8, 5), (2, 3, 7, 6), (3, 0, 4, 9, 7)]
    return make_solid(np.array(points, dtype=float), faces, source="Walls")


def gable_roof(pitch: float) -> Solid:
    """Two slopes through the tops of the walls, reaching beyond them on all sides."""
    (x0, y0, low), (x1, y1, top) = _slopes(pitch)
    points = [(x0, y0, low), (x1, y0, low), (x1, WIDTH / 2, top), (x0, WIDTH / 2, top), (x1, y1, low), (x0, y1, low)]
    return make_solid(np.array(points, dtype=float), [(0, 1, 2, 3), (3, 2, 4, 5)], source="Roof")


def _slopes(pitch: float) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Return the least corner of the roof and the greatest one, mm."""
    low, top = EAVES - OVERHANG * math.tan(pitch), EAVES + WIDTH / 2 * math.tan(pitch)
    return (-OVERHANG, -OVERHANG, low), (LENGTH + OVERHANG, WIDTH + OVERHANG, top)


def chimney_body(
    middle: tuple[float, float],
    size: tuple[float, float],
    low: float,
    high: float,
    *,
    turn: float = 0.0,
    capped: bool = True,
) -> Solid:
    """A box from ``low`` to ``high`` with its middle on the plan at ``middle``, turned by ``turn`` radians."""
    (a, b), cos, sin = size, math.cos(turn), math.sin(turn)
    plan = np.array([(-a, -b), (a, -b), (a, b), (-a, b)]) / 2 @ np.array([[cos, sin], [-sin, cos]]) + middle
    points = np.vstack([np.column_stack([plan, np.full(4, z)]) for z in (low, high)])
    faces = [(0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7), (3, 2, 1, 0)]
    return make_solid(points, [*faces, (4, 5, 6, 7)] if capped else faces, source="Chimney")


def dormer_body(
    x: float, y: float, width: float, sill: float, height: float, pitch: float, depth: float, below: float = 5.0
) -> Solid:
    """A gabled body whose front stands at ``y`` and faces -y; it goes ``depth`` back into the roof.

    x: its middle. sill: height of the slope at its front; it starts ``below`` under it. height: of its eaves over the
    sill. pitch: of its own roof, radians.
    """
    a, low, eaves = width / 2, sill - below, sill + height
    ridge = eaves + a * math.tan(pitch)
    ring = [(x - a, low), (x + a, low), (x + a, eaves), (x, ridge), (x - a, eaves)]
    points = [(u, y, v) for u, v in ring] + [(u, y + depth, v) for u, v in ring]
    faces = [(0, 1, 2, 3, 4), (9, 8, 7, 6, 5), (1, 6, 7, 2), (2, 7, 8, 3), (3, 8, 9, 4), (4, 9, 5, 0), (0, 5, 6, 1)]
    return make_solid(np.array(points, dtype=float), faces, source="Dormer")


def roof_with_dormer(pitch: float, x: float, y: float, width: float, height: float, own: float) -> Solid:
    """A gable roof with a gabled dormer in its front slope as one surface, the slope open below it."""
    rise = math.tan(pitch)
    a, top = width / 2, EAVES + WIDTH / 2 * rise
    sill, eaves = EAVES + y * rise, EAVES + y * rise + height
    ridge = eaves + a * math.tan(own)
    back, tip = y + height / rise, y + (ridge - sill) / rise
    assert tip < WIDTH / 2
    (x0, y0, low), (x1, y1, _) = _slopes(pitch)
    points = [
        *((x0, y0, low), (x1, y0, low), (x1, WIDTH / 2, top), (x0, WIDTH / 2, top), (x1, y1, low), (x0, y1, low)),
        *((x - a, y, sill), (x + a, y, sill), (x + a, back, eaves), (x, tip, ridge), (x - a, back, eaves)),
        *((x - a, y, eaves), (x + a, y, eaves), (x, y, ridge)),
    ]
    faces = [
        # the front slope goes round the dormer in two pieces
        *((0, 1, 7, 6), (1, 2, 9, 8, 7), (2, 3, 9), (3, 0, 6, 10, 9)),
        (3, 2, 4, 5),
        *((6, 7, 12, 13, 11), (7, 8, 12), (6, 11, 10), (12, 8, 9, 13), (11, 13, 9, 10)),
    ]
    return make_solid(np.array(points, dtype=float), faces, source="Roof")


def house_with(pitch: float, *bodies: Solid) -> Solid:
    """Return walls and roof of the house with what stands on it."""
    return join_solids([gable_house(pitch), gable_roof(pitch), *bodies])


def porch_body(
    x: float, width: float, reach: float, eaves: float, top: float, *, into: float = 0.0, floor: bool = True
) -> Solid:
    """A lean-to before the front wall, which faces -y: ``reach`` deep, ``eaves`` high in front, ``top`` at the wall.

    into: how far it goes through the wall's plane, mm. floor: whether it is closed below.
    """
    a, slope = width / 2, (top - eaves) / reach
    back = top + into * slope
    points = [(x - a, -reach, 0), (x + a, -reach, 0), (x + a, into, 0), (x - a, into, 0)]
    points += [(x - a, -reach, eaves), (x + a, -reach, eaves), (x + a, into, back), (x - a, into, back)]
    faces = [(0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7), (4, 5, 6, 7)]
    return make_solid(np.array(points, dtype=float), [*faces, (3, 2, 1, 0)] if floor else faces, source="Porch")
