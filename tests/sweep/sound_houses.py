"""Families of houses over a rectangle or right-angled plan: gables, hips, lean-tos, broken slopes, wings.

Sound, for all of them: every side of the plan is 40 mm long at least, walls are 40 to 110 mm high at the eaves,
pitches lie between 20 and 60 degrees, roofs of their own reach 2 to 12 mm over the walls, every face of a roof is at
least as wide as three of the thickest boards, openings keep 20 mm from the ends of their wall and 12 mm from its top.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from drawn_meshes import Drawing
from hooded_roofs import Hood, Roof, eave_plane, gable_hood, grown, hip_hoods, plane_hood
from house_walls import draw_holes, floor_face, wall_faces
from shapely.affinity import scale
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

__all__ = [
    "SHORTEST",
    "SQUARE",
    "draw_broken",
    "draw_crossing",
    "draw_gable",
    "draw_height",
    "draw_hip",
    "draw_lean_to",
    "draw_pitch",
    "draw_rectangle",
    "draw_winged_plan",
    "draw_wings",
    "house",
]

Chance = np.random.Generator

SQUARE = 25.4

#: Walls at the eaves, mm; pitches, degrees; how far roofs of their own reach over the walls, mm.
_WALLS, _PITCHES, _OVERHANGS = (40.0, 110.0), (20.0, 60.0), (2.0, 12.0)

#: Shares of houses whose roof is a surface of its own, whose ground is a face, and of walls with an opening.
_OWN_ROOF, _FLOORED, _OPENED = 0.75, 0.15, 0.15

#: Sides of a plan, squares.
_LONG, _WIDE = (2, 14), (2, 9)

#: No side of a plan is shorter, mm; no face of a roof is narrower, mm: three of the thickest boards.
SHORTEST, NARROWEST = 40.0, 10.0


def draw_height(chance: Chance) -> float:
    """Draw the height of walls at the eaves, mm."""
    return float(chance.uniform(*_WALLS))


def draw_pitch(chance: Chance, low: float = _PITCHES[0], high: float = _PITCHES[1]) -> float:
    """Draw a slope, rise over run, between two pitches in degrees."""
    return math.tan(math.radians(float(chance.uniform(low, high))))


def draw_rectangle(chance: Chance) -> np.ndarray:
    """Draw a rectangle, on whole squares or anywhere between, (4, 2) mm, counter-clockwise, either way round."""
    length, width = float(chance.uniform(*_LONG)), float(chance.uniform(*_WIDE))
    if chance.random() < 0.5:
        length, width = round(length), round(width)
    if chance.random() < 0.3:
        length, width = width, length
    x, y = length * SQUARE, width * SQUARE
    return np.array([(0.0, 0.0), (x, 0.0), (x, y), (0.0, y)])


def house(kind: str, plan: np.ndarray, roof: Roof, overhang: float, chance: Chance) -> Drawing:
    """Return walls up to a roof and the roof: beside them as a surface of its own, or joined and without overhang."""
    own, floored = bool(chance.random() < _OWN_ROOF), bool(chance.random() < _FLOORED)
    tops = roof.tops(plan)
    holes = draw_holes(tops, chance, _OPENED)
    walls = wall_faces(tops, holes)
    if floored:
        walls.append(floor_face(plan, holes))
    drawing = Drawing(f"{kind}, {'own roof' if own else 'joined'}{', floor' if floored else ''}")
    cover = roof.faces(grown(plan, overhang) if own else Polygon(plan))
    drawing.surfaces = [list(walls), list(cover)] if own else [[*walls, *cover]]
    return drawing


def _overhang(chance: Chance) -> float:
    return float(chance.uniform(*_OVERHANGS))


def _eaves(plan: np.ndarray, height: float, slope: float) -> list[np.ndarray]:
    """Return the planes that rise from every side of a plan."""
    return [eave_plane(a, b, height, slope) for a, b in zip(plan, np.roll(plan, -1, axis=0), strict=True)]


# -- rectangles ------------------------------------------------------------------------------------


def draw_gable(chance: Chance) -> Drawing:
    """Two slopes over a rectangle, of one pitch or, in one house of five, of two; the ridge runs either way."""
    plan = draw_rectangle(chance)
    height, slope, overhang = draw_height(chance), draw_pitch(chance), _overhang(chance)
    first = int(chance.integers(2))
    other = draw_pitch(chance) if chance.random() < 0.2 else slope
    low = eave_plane(plan[first], plan[first + 1], height, slope)
    high = eave_plane(plan[first + 2], plan[(first + 3) % 4], height, other)
    kind = "gable" if other == slope else "uneven gable"
    return house(kind, plan, Roof((plane_hood([low, high]),)), overhang, chance)


def draw_hip(chance: Chance) -> Drawing:
    """Four slopes of one pitch over a rectangle, or over a square, where they meet in a tip.

    The ridge is none at all, or as long as the narrowest face of a roof may be wide.
    """
    plan = draw_rectangle(chance)
    if chance.random() < 0.3:
        plan = plan / plan.max(axis=0) * float(min(plan.max(axis=0)))
    sides = np.ptp(plan, axis=0)
    if 0.0 < abs(sides[0] - sides[1]) < NARROWEST:
        plan[:, 0] *= sides[1] / sides[0]
    height, slope, overhang = draw_height(chance), draw_pitch(chance), _overhang(chance)
    square = bool(abs(np.ptp(plan[:, 0]) - np.ptp(plan[:, 1])) < 1.0)
    roof = Roof((plane_hood(_eaves(plan, height, slope)),))
    return house("pyramid" if square else "hip", plan, roof, overhang, chance)


def draw_lean_to(chance: Chance) -> Drawing:
    """One slope over a rectangle, as a lean-to has it (8 to 35 degrees), or a flat lid."""
    plan = draw_rectangle(chance)
    height, overhang = draw_height(chance), _overhang(chance)
    flat = bool(chance.random() < 0.4)
    slope = 0.0 if flat else draw_pitch(chance, 8.0, 35.0)
    side = int(chance.integers(4))
    plane = eave_plane(plan[side], plan[(side + 1) % 4], height, slope)
    return house("flat roof" if flat else "lean-to", plan, Roof((plane_hood([plane]),)), overhang, chance)


def draw_broken(chance: Chance) -> Drawing:
    """Half-hips, gambrels and mansards over a rectangle at least three squares wide."""
    plan = draw_rectangle(chance)
    plan = plan * max(1.0, 3.0 * SQUARE / float(min(plan.max(axis=0))))
    long = 0 if plan[2][0] >= plan[2][1] else 1
    width = float(min(plan.max(axis=0)))
    height, overhang = draw_height(chance), _overhang(chance)
    kind = ("half-hip", "gambrel", "mansard")[int(chance.integers(3))]
    if kind == "half-hip":
        slope = draw_pitch(chance, 30.0, 55.0)
        raised = height + slope * width / 2.0 * float(chance.uniform(0.35, 0.65))
        sides = [eave_plane(plan[k], plan[(k + 1) % 4], height, slope) for k in (long, long + 2)]
        ends = [eave_plane(plan[k], plan[(k + 1) % 4], raised, slope) for k in (1 - long, 3 - long)]
        return house(kind, plan, Roof((plane_hood([*sides, *ends]),)), overhang, chance)
    steep, flat = draw_pitch(chance, 50.0, 60.0), draw_pitch(chance, 20.0, 35.0)
    inset = width * float(chance.uniform(0.15, 0.25))
    knee = height + steep * inset
    chosen = (long, long + 2) if kind == "gambrel" else range(4)
    lower = [eave_plane(plan[k], plan[(k + 1) % 4], height, steep) for k in chosen]
    inner = np.array(orient(Polygon(plan).buffer(-inset, join_style="mitre")).exterior.coords)[:-1]
    inner = inner[[int(np.hypot(*(inner - corner).T).argmin()) for corner in plan]]
    upper = [eave_plane(inner[k], inner[(k + 1) % 4], knee, flat) for k in chosen]
    if kind == "mansard" and chance.random() < 0.5:
        upper = [np.array([0.0, 0.0, knee])]
        kind = "mansard with a flat top"
    return house(kind, plan, Roof((plane_hood([*lower, *upper]),)), overhang, chance)


# -- wings -----------------------------------------------------------------------------------------

#: Corners of plans with wings from the lengths of their bars: a bar along x and wings along y.
_WINGED = ("L", "T", "U", "Z")


def draw_winged_plan(kind: str, chance: Chance) -> tuple[np.ndarray, float, list[tuple[float, float]]]:
    """Draw a plan with wings; return it, how wide its bar is, and from and to of every wing along the bar, mm.

    A bar from the origin along x, wings of 40 mm width and length at least, and 40 mm of bar beside them.
    """
    whole = chance.random() < 0.5

    def size(low: float, high: float) -> float:
        drawn = float(chance.uniform(low, high))
        return SQUARE * (round(drawn) if whole else drawn)

    wide = size(2.0, 5.0)
    same = chance.random() < 0.5
    wings = [wide if same else max(SHORTEST, min(wide, size(2.0, 5.0))) for _ in range(2 if kind in ("U", "Z") else 1)]
    reach = size(2.0, 5.0)
    gaps = [size(2.0, 4.0), size(2.0, 4.0)]
    first = wings[0]
    if kind == "L":
        long = first + gaps[0]
        ring = [(0, 0), (long, 0), (long, wide), (first, wide), (first, wide + reach), (0, wide + reach)]
        return np.array(ring, dtype=float), wide, [(0.0, first)]
    if kind == "T":
        start, long = gaps[0], gaps[0] + first + gaps[1]
        ring = [(0, 0), (long, 0), (long, wide), (start + first, wide), (start + first, wide + reach)]
        ring += [(start, wide + reach), (start, wide), (0, wide)]
        return np.array(ring, dtype=float), wide, [(start, start + first)]
    second = wings[1]
    if kind == "U":
        long, start = first + gaps[0] + second, first + gaps[0]
        ring = [(0, 0), (long, 0), (long, wide + reach), (start, wide + reach), (start, wide), (first, wide)]
        ring += [(first, wide + reach), (0, wide + reach)]
        return np.array(ring, dtype=float), wide, [(0.0, first), (start, long)]
    long, start = first + gaps[0] + second, first + gaps[0]
    ring = [(0, 0), (start, 0), (start, -reach), (long, -reach), (long, wide), (first, wide), (first, wide + reach)]
    ring += [(0, wide + reach)]
    return np.array(ring, dtype=float), wide, [(0.0, first), (start, long)]


def draw_wings(chance: Chance) -> Drawing:
    """Hips of one pitch over an L, T, U or Z: eaves level all round, valleys where wings meet the bar.

    Bars and wings are of one width in half of the houses; faces narrower than the least are none.
    """
    kind = _WINGED[int(chance.integers(4))]
    while True:
        plan, _, _ = draw_winged_plan(kind, chance)
        if chance.random() < 0.5:
            plan = np.array(orient(scale(Polygon(plan), xfact=-1.0, origin=(0, 0))).exterior.coords)[:-1]
        height, slope, overhang = draw_height(chance), draw_pitch(chance), _overhang(chance)
        roof = Roof(hip_hoods(grown(plan, overhang), height - slope * overhang, slope))
        if _wide_enough(roof.faces(Polygon(plan))):
            return house(f"{kind} with hips", plan, roof, overhang, chance)


def draw_crossing(chance: Chance) -> Drawing:
    """Gables of one pitch and level eaves over an L, T or U: every wing runs into the slope of the bar."""
    kind = _WINGED[int(chance.integers(3))]
    plan, wide, wings = draw_winged_plan(kind, chance)
    height, slope, overhang = draw_height(chance), draw_pitch(chance), _overhang(chance)
    x1, y1 = plan.max(axis=0).tolist()
    bar = _reaching(gable_hood((0.0, 0.0), (x1, wide), height, slope, upright=False), overhang, wide / 2.0, all_of=True)
    hoods = [bar]
    for start, end in wings:
        wing = gable_hood((start, wide / 2.0), (end, y1), height, slope, upright=True)
        hoods.append(_reaching(wing, overhang, wide / 2.0, all_of=False))
    roof = Roof(tuple(hoods))
    if chance.random() < 0.5:
        plan, roof = _mirrored(plan, roof)
    return house(f"{kind} with gables", plan, roof, overhang, chance)


def _reaching(hood: Hood, overhang: float, middle: float, *, all_of: bool) -> Hood:
    """Return a hood whose domain reaches ``overhang`` farther, a wing's not beyond the middle of the bar."""
    (x0, y0), (x1, y1) = hood.domain.min(axis=0), hood.domain.max(axis=0)
    low = y0 - overhang if all_of else middle
    corners = [
        (x0 - overhang, low),
        (x1 + overhang, low),
        (x1 + overhang, y1 + overhang),
        (x0 - overhang, y1 + overhang),
    ]
    return Hood(np.array(corners), hood.planes)


def _mirrored(plan: np.ndarray, roof: Roof) -> tuple[np.ndarray, Roof]:
    """Return a plan and its roof with x the other way."""
    turn = np.array([-1.0, 1.0])
    hoods = tuple(Hood((hood.domain * turn)[::-1], hood.planes * [-1.0, 1.0, 1.0]) for hood in roof.hoods)
    return (plan * turn)[::-1], Roof(hoods)


def _wide_enough(faces: Sequence[Sequence[tuple[float, float, float]]]) -> bool:
    """Whether every face seen from above holds a circle of the least width."""
    return all(not Polygon([point[:2] for point in face]).buffer(-NARROWEST / 2.0).is_empty for face in faces)
