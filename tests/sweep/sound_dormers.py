"""Houses whose gable or hip roof carries a chimney or a dormer: as a shell of its own on the slope, or joined with it.

Sound: the house is a sound one of 5 by 4 squares at least, with a pitch of 30 to 50 degrees. A chimney is 14 to 30 mm
wide and deep; a dormer 30 to 55 mm wide and its front 14 mm high at least at its eaves. Either keeps 20 mm from the
ridge, the hips, the eaves and the verges. The foot lies on the underside of the roof, or the walls of a chimney of its
own shell pass through the roof by up to 15 mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from drawn_meshes import Drawing
from hooded_roofs import Roof, eave_plane, grown, plane_hood
from house_walls import floor_face, wall_faces
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient
from sound_houses import SQUARE, draw_height, draw_pitch

__all__ = ["draw_dormer"]

Chance = np.random.Generator
Face = tuple[tuple[float, float, float], ...]

#: What stays of the slope on every side, mm; sizes of chimneys and dormers, mm.
_BESIDE, _CHIMNEY, _DORMER, _FRONT = 20.0, (14.0, 30.0), (30.0, 55.0), (14.0, 25.0)

#: How high chimneys stand over the ridge, and how far they pass through the roof, mm.
_OVER, _THROUGH = (5.0, 25.0), (3.0, 15.0)

#: Plans of these sides, squares.
_LONG, _WIDE = (5.0, 10.0), (4.0, 7.0)


@dataclass(frozen=True)
class OnSlope:
    """What stands on the front slope. foot: where it cuts the slope, in plan; faces: its own faces."""

    kind: str
    foot: tuple[tuple[float, float], ...]
    faces: tuple[Face, ...]


def draw_dormer(chance: Chance) -> Drawing:
    """Draw a house along x with a chimney or a dormer on its front slope."""
    hip = bool(chance.random() < 0.35)
    how = ("own shell", "joined", "through")[int(chance.choice(3, p=[0.4, 0.4, 0.2]))]
    make = _dormer if how != "through" and chance.random() < 0.6 else _chimney
    while True:
        long, wide = float(chance.uniform(*_LONG)) * SQUARE, float(chance.uniform(*_WIDE)) * SQUARE
        height, slope, overhang = draw_height(chance), draw_pitch(chance, 30.0, 50.0), float(chance.uniform(2.0, 12.0))
        top = height + slope * wide / 2.0
        middle = long * float(chance.uniform(0.35, 0.65))
        made = make(middle, wide, height, slope, top, chance, through=how == "through")
        front = np.array([(0.0, 0.0), (long, 0.0), (long, wide / 2.0), (0.0, wide / 2.0)])
        if hip:
            front[2:, 0] = [long - wide / 2.0, wide / 2.0]
        if long > wide + 1.0 and Polygon(front).buffer(-_BESIDE).covers(Polygon(made.foot)):
            break
    plan = np.array([(0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)])
    sides = range(4) if hip else (0, 2)
    roof = Roof((plane_hood([eave_plane(plan[k], plan[(k + 1) % 4], height, slope) for k in sides]),))
    own = how != "joined" or bool(chance.random() < 0.5)
    cover = roof.faces(grown(plan, overhang if own else 0.0))
    walls = wall_faces(roof.tops(plan), {})
    if chance.random() < 0.2:
        walls.append(floor_face(plan, {}))
    name = f"{made.kind} on a {'hip' if hip else 'gable'}, {how}{'' if own else ', one surface'}"
    if how != "joined":
        return Drawing(name, [list(walls), list(cover), list(made.faces)])
    cut = _cut_out(cover, made, height, slope)
    if own:
        return Drawing(name, [list(walls), [*cut, *made.faces]])
    return Drawing(name, [[*walls, *cut, *made.faces]])


def _chimney(
    middle: float, wide: float, height: float, slope: float, top: float, chance: Chance, *, through: bool
) -> OnSlope:
    """Four walls on the front slope, with a lid or open above."""
    across, deep = chance.uniform(*_CHIMNEY, 2).tolist()
    low = float(chance.uniform(0.15, 0.4)) * wide / 2.0 + deep
    corners = [(middle, low), (middle + across, low), (middle + across, low + deep), (middle, low + deep)]
    sunk = float(chance.uniform(*_THROUGH)) if through else 0.0
    feet = [(x, y, height + slope * y - sunk) for x, y in corners]
    peak = top + float(chance.uniform(*_OVER))
    heads = [(x, y, peak) for x, y in corners]
    walls = [(feet[k - 1], feet[k], heads[k], heads[k - 1]) for k in range(4)]
    lid = [tuple(heads)] if chance.random() < 0.4 else []
    return OnSlope("chimney", tuple(corners), (*walls, *lid))


def _dormer(
    middle: float, wide: float, height: float, slope: float, top: float, chance: Chance, *, through: bool
) -> OnSlope:
    """A front, two cheeks and a roof of two slopes or one, all flush, down to the front slope of the house."""
    across, front = float(chance.uniform(*_DORMER)), float(chance.uniform(*_FRONT))
    start = float(chance.uniform(0.2, 0.4)) * wide / 2.0
    x0, x1, xm = middle - across / 2.0, middle + across / 2.0, middle
    foot = height + slope * start
    eave = foot + front
    back = start + front / slope
    a, b, c, d = (x0, start, foot), (x1, start, foot), (x1, start, eave), (x0, start, eave)
    e, f = (x1, back, eave), (x0, back, eave)
    if chance.random() < 0.4:
        lean = slope * float(chance.uniform(0.3, 0.5))
        back = start + front / (slope - lean)
        e, f = ((x, back, height + slope * back) for x in (x1, x0))
        faces: tuple[Face, ...] = ((a, b, c, d), (b, e, c), (a, d, f), (d, c, e, f))
        return OnSlope("shed dormer", ((x0, start), (x1, start), (x1, back), (x0, back)), faces)
    ridge = eave + across / 2.0 * slope
    g, h = (xm, start, ridge), (xm, (ridge - height) / slope, ridge)
    faces = ((a, b, c, g, d), (b, e, c), (a, d, f), (d, g, h, f), (c, e, h, g))
    return OnSlope("gable dormer", ((x0, start), (x1, start), (x1, back), (h[0], h[1]), (x0, back)), faces)


def _cut_out(cover: list[Face], made: OnSlope, height: float, slope: float) -> list[Face]:
    """Return the roof with the foot cut from its front slope, which falls into a left and a right face."""
    foot = Polygon(made.foot)
    cut: list[Face] = []
    for face in cover:
        flat = orient(Polygon([point[:2] for point in face]))
        if flat.intersection(foot).area < foot.area / 2.0:
            cut.append(face)
            continue
        x0, y0, x1, y1 = flat.bounds
        middle = max(made.foot, key=lambda point: point[1])[0] if len(made.foot) == 5 else foot.centroid.x
        for half in (box(x0 - 1.0, y0 - 1.0, middle, y1 + 1.0), box(middle, y0 - 1.0, x1 + 1.0, y1 + 1.0)):
            piece = orient(flat.intersection(half).difference(foot))
            cut.append(tuple((x, y, height + slope * y) for x, y in list(piece.exterior.coords)[:-1]))
    return cut
