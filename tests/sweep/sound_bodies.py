"""Closed bodies, each one closed surface with its floor, and open solids: prisms without lid, ramps, steps, tents.

Sound: edges are 20 mm long at least, every face holds a circle of three of the thickest boards as radius (9.6 mm),
every bend lies between 8 and 140 degrees. What lies in a body, such as a shelf, touches its walls and nothing else.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from drawn_meshes import Drawing
from hooded_roofs import Roof, eave_plane, grown, hip_hoods, plane_hood
from house_walls import floor_face, wall_faces
from shapely.geometry import Polygon
from sound_houses import SQUARE, draw_height, draw_pitch, draw_rectangle, draw_winged_plan
from sound_towers import regular_plan

__all__ = ["draw_closed", "draw_open"]

Chance = np.random.Generator
Face = list[tuple[float, float, float]]


# -- closed ----------------------------------------------------------------------------------------


def draw_closed(chance: Chance) -> Drawing:
    """Draw a body of one closed surface: box, cube, or a house with its floor and its roof joined."""
    kind = ("box", "cube", "gable", "hip", "tower", "spire", "wings")[int(chance.integers(7))]
    height = draw_height(chance)
    plan = draw_rectangle(chance)
    if kind == "cube":
        side = float(chance.uniform(40.0, 110.0))
        plan, height = np.array([(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]), side
    elif kind in ("tower", "spire"):
        plan = regular_plan(int(chance.integers(5, 9)), float(chance.uniform(40.0, 90.0)))
    elif kind == "wings":
        plan, _, _ = draw_winged_plan(("L", "T", "U", "Z")[int(chance.integers(4))], chance)
    slope = draw_pitch(chance, 30.0 if kind == "spire" else 20.0)
    sides = list(zip(plan.tolist(), np.roll(plan, -1, axis=0).tolist(), strict=True))
    level = np.array([0.0, 0.0, height])
    if kind == "wings" and chance.random() < 0.5:
        roof, kind = Roof(hip_hoods(Polygon(plan), height, slope)), "wings with hips"
    elif kind == "gable":
        first = int(chance.integers(2))
        roof = Roof((plane_hood([eave_plane(*sides[k], height, slope) for k in (first, first + 2)]),))
    elif kind in ("hip", "spire"):
        roof = Roof((plane_hood([eave_plane(*side, height, slope) for side in sides]),))
    else:
        roof = Roof((plane_hood([level]),))
    walls = wall_faces(roof.tops(plan), {})
    return Drawing(f"closed {kind}", [[*walls, floor_face(plan, {}), *roof.faces(grown(plan, 0.0))]])


# -- open ------------------------------------------------------------------------------------------


def draw_open(chance: Chance) -> Drawing:
    """Draw an open solid or an odd body."""
    kind = list(_OPEN)[int(chance.integers(len(_OPEN)))]
    return Drawing(kind, _OPEN[kind](chance))


def _sizes(chance: Chance, count: int) -> list[float]:
    return chance.uniform(40.0, 110.0, count).tolist()


def _extruded(
    profile: Face, way: tuple[float, float, float], *, ends: bool, open_sides: tuple[int, ...] = ()
) -> list[Face]:
    """Return the sides of an extruded profile, counter-clockwise seen against its way, and its two ends if wanted."""
    far = [tuple((np.array(point) + way).tolist()) for point in profile]
    count = len(profile)
    sides = [
        [profile[k], profile[(k + 1) % count], far[(k + 1) % count], far[k]]
        for k in range(count)
        if k not in open_sides
    ]
    return [*sides, list(reversed(profile)), far] if ends else sides


def _box_without_lid(chance: Chance) -> list[list[Face]]:
    plan, height = draw_rectangle(chance), draw_height(chance)
    return [_extruded([(x, y, 0.0) for x, y in plan.tolist()], (0.0, 0.0, height), ends=True)[:-1]]


def _prism_without_lid(chance: Chance) -> list[list[Face]]:
    plan = regular_plan(int(chance.integers(3, 9)), float(chance.uniform(40.0, 80.0)))
    return [_extruded([(x, y, 0.0) for x, y in plan.tolist()], (0.0, 0.0, draw_height(chance)), ends=True)[:-1]]


def _ramp(chance: Chance) -> list[list[Face]]:
    """A closed wedge whose high end stands upright: its ends are triangles."""
    rise, wide, _ = _sizes(chance, 3)
    run = rise / math.tan(math.radians(float(chance.uniform(20.0, 45.0))))
    return [_extruded([(0.0, 0.0, 0.0), (run, 0.0, 0.0), (run, 0.0, rise)], (0.0, -wide, 0.0), ends=True)]


def _tent(chance: Chance) -> list[list[Face]]:
    """Two slopes on the ground, open in front and behind."""
    half, long, _ = _sizes(chance, 3)
    rise = half * draw_pitch(chance, 35.0, 60.0)
    profile: Face = [(-half, 0.0, 0.0), (half, 0.0, 0.0), (0.0, 0.0, rise)]
    return [_extruded(profile, (0.0, -long, 0.0), ends=False, open_sides=(0,))]


def _steps(chance: Chance) -> list[list[Face]]:
    """Steps as a closed body, two to four of them, as high and deep as a square or half of one more."""
    count, size = int(chance.integers(2, 5)), float(chance.choice([1.0, 1.25, 1.5])) * SQUARE
    profile: Face = [(0.0, 0.0, 0.0), (count * size, 0.0, 0.0)]
    for k in range(count):
        profile += [((count - k) * size, 0.0, (k + 1) * size), ((count - k - 1) * size, 0.0, (k + 1) * size)]
    wide = float(chance.uniform(60.0, 150.0))
    return [_extruded(profile, (0.0, -wide, 0.0), ends=True)]


def _vault(chance: Chance) -> list[list[Face]]:
    """A barrel of five to nine strips on upright sides, open below and at both ends."""
    count, radius, long = (
        int(chance.integers(5, 10)),
        float(chance.uniform(50.0, 90.0)),
        float(chance.uniform(60.0, 150.0)),
    )
    turns = np.pi * np.arange(count + 1) / count
    foot = float(chance.uniform(25.0, 60.0))
    arch = [(radius * math.cos(turn), 0.0, foot + radius * math.sin(turn)) for turn in turns.tolist()]
    profile: Face = [(-radius, 0.0, 0.0), (radius, 0.0, 0.0), *arch]
    return [_extruded(profile, (0.0, -long, 0.0), ends=False, open_sides=(0,))]


def _shelf(chance: Chance) -> list[list[Face]]:
    """A back and two sides that stand round a shelf, a surface of its own."""
    wide, deep, high = _sizes(chance, 3)
    back = [(wide, 0.0), (wide, deep), (0.0, deep), (0.0, 0.0)]
    walls: list[Face] = [[(*a, 0.0), (*b, 0.0), (*b, high), (*a, high)] for a, b in pairwise(back)]
    level = high * float(chance.uniform(0.35, 0.65))
    return [walls, [[(0.0, 0.0, level), (wide, 0.0, level), (wide, deep, level), (0.0, deep, level)]]]


def _funnel(chance: Chance) -> list[list[Face]]:
    """A frustum with a bottom and no lid, wider above or below."""
    sides, side, height = int(chance.integers(3, 9)), float(chance.uniform(40.0, 70.0)), draw_height(chance)
    low = regular_plan(sides, side)
    high = low * float(chance.choice([0.65, 0.8, 1.25, 1.5]))
    lower = [(x, y, 0.0) for x, y in low.tolist()]
    upper = [(x, y, height) for x, y in high.tolist()]
    around = [[lower[k - 1], lower[k], upper[k], upper[k - 1]] for k in range(sides)]
    return [[*around, lower[::-1]]]


_OPEN = {
    "box without lid": _box_without_lid,
    "prism without lid": _prism_without_lid,
    "ramp": _ramp,
    "tent": _tent,
    "steps": _steps,
    "vault": _vault,
    "shelf": _shelf,
    "frustum without lid": _funnel,
}
