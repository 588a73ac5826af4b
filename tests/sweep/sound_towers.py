"""Towers: walls round a regular plan, with a spire, a flat lid or nothing on top.

Sound: of 5 to 12 sides, sides of 40 mm at least and a width of 12 squares at most, walls 40 to 110 mm high, a
spire of 30 to 60 degrees. Of more than 12 sides, up to 32: a round tower, 60 to 200 mm across, whose sides are 12 mm
long at least (four boards), so that spires have faces that end in a tip and are narrower than other roofs.
"""

from __future__ import annotations

import math

import numpy as np
from drawn_meshes import Drawing
from hooded_roofs import Roof, eave_plane, plane_hood
from sound_houses import draw_height, draw_pitch, house

__all__ = ["draw_tower", "regular_plan"]

Chance = np.random.Generator

#: From and to, the last one not among them.
_SIDES, _ROUND = (5, 13), (13, 33)
_SIDE, _ROUND_SIDE, _WIDEST, _ROUND_WIDEST = 40.0, 12.0, 300.0, 200.0


def regular_plan(sides: int, side: float, turn: float = 0.0) -> np.ndarray:
    """Return a regular plan by the length of its sides, (sides, 2) mm, counter-clockwise round the origin."""
    angles = turn + 2.0 * np.pi * np.arange(sides) / sides
    return np.column_stack([np.cos(angles), np.sin(angles)]) * side / (2.0 * math.sin(math.pi / sides))


def draw_tower(chance: Chance) -> Drawing:
    """Draw a tower; two of three have 5 to 12 sides."""
    few = bool(chance.random() < 0.67)
    sides = int(chance.integers(*(_SIDES if few else _ROUND)))
    shortest, widest = (_SIDE, _WIDEST) if few else (_ROUND_SIDE, _ROUND_WIDEST)
    longest = widest * math.sin(math.pi / sides)
    side = float(chance.uniform(shortest, max(shortest * 1.01, longest)))
    plan = regular_plan(sides, side, float(chance.uniform(0.0, np.pi)))
    height, overhang = draw_height(chance), float(chance.uniform(2.0, 12.0))
    top = ("spire", "flat", "open")[int(chance.choice(3, p=[0.5, 0.3, 0.2]))]
    name = f"{'tower' if few else 'round tower'}, {top}"
    if top == "open":
        walls = [((*a, 0.0), (*b, 0.0), (*b, height), (*a, height)) for a, b in _sides(plan)]
        return Drawing(name, [walls])
    slope = draw_pitch(chance, 30.0, 60.0) if top == "spire" else 0.0
    planes = [eave_plane(a, b, height, slope) for a, b in _sides(plan)]
    roof = Roof((plane_hood(planes if top == "spire" else planes[:1]),))
    return house(name, plan, roof, overhang, chance)


def _sides(plan: np.ndarray) -> list[tuple[list[float], list[float]]]:
    return [(a.tolist(), b.tolist()) for a, b in zip(plan, np.roll(plan, -1, axis=0), strict=True)]
