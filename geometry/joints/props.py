"""Props: a leaf on a lattice springs shut; a small bar holds it open at its angle.

A prop lies level across the opening. A notch at one end goes over the free edge of the open leaf, a notch at the other
over the wall's edge beside the opening, and the leaf's own spring presses it between both. It is loose, goes on below
the lintel where nobody stands, and lies in the box with the other parts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.polygon import orient

from ..board.stock import Stock
from ..fold.fold import bend_pose, fold
from ..part import FaceUp, Part, PartKind, PlacedLattice
from ..pose import Pose
from ..settings import BuildSettings
from ..unfold.leaves import GAP

__all__ = ["Prop", "make_props", "notch_width"]

#: How deep notches take leaf and wall, half the width of the bar, what stays beside a notch and behind it, mm: as small
#: as fingers can set and as strong as the board (common practice, no source).
_DEEP, _HALF, _JAW, _BEHIND = 5.0, 4.0, 4.0, 5.0

#: A notch ends so far before the edge that it takes, mm, so that the bar is not too long for its leaf.
_END = 0.3

#: A prop keeps so far from the wall beside the hinge, mm.
_CLEAR = 2.0

#: Below the lintel the bar hangs by so much, mm.
_BELOW = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Prop:
    """A prop, the wall section whose leaf it holds, at which angle, radians, and where it is then in the model.

    leaf: which of the section's lattices the leaf hangs on.
    """

    part: Part
    wall: str
    leaf: int
    angle: float
    held: Pose


def make_props(parts: Sequence[Part], settings: BuildSettings) -> tuple[Prop, ...]:
    """Return a prop for every leaf that swings far enough for one; none where they are not wanted."""
    if not settings.props:
        return ()
    hung = [(part, placed) for part in parts for placed in part.lattices if placed.swing]
    made = (_prop(f"PR{number}", part, placed, settings) for number, (part, placed) in enumerate(hung, 1))
    return tuple(prop for prop in made if prop is not None)


def notch_width(settings: BuildSettings) -> float:
    """Return the width of a notch, mm: a painted wall goes in as a tab goes into its slot."""
    return settings.walls.thickness + settings.slot_play(settings.walls) + 2.0 * settings.joiner.paint


def _prop(name: str, part: Part, placed: PlacedLattice, settings: BuildSettings) -> Prop | None:
    """Return the prop of one leaf, None where it would meet the wall or fall apart."""
    middle = part.board_side * part.thickness / 2.0
    leaf = part.panels[placed.child].ring - placed.origin
    free = float((leaf @ placed.across).max())
    wall = fold(part)[placed.parent]
    pose = wall @ bend_pose(replace(placed, angle=placed.swing), part.board_side, 1.0)

    def in_model(where: Pose, across: float) -> np.ndarray:
        flat = placed.origin + across * placed.across
        return np.asarray(where.apply(np.array([flat]), middle))[0]

    ex, out = wall.turn @ np.append(placed.across, 0.0), wall.turn @ np.array([0.0, 0.0, 1.0])
    jamb, edge = in_model(wall, free + GAP), in_model(pose, free)
    out = out if float(out @ (edge - jamb)) > 0.0 else -out
    along = pose.turn @ np.append(placed.across, 0.0)
    tip, way = (np.array([vector @ ex, vector @ out]) for vector in (edge - jamb, along))
    hinge = free + GAP - placed.lattice.flat_width / 2.0
    shape = _shape(tip, way, hinge, notch_width(settings), part.thickness)
    if shape is None:
        return None
    # the bar lies along x on its sheet, so that the grain of a wooden one runs with it
    turn = math.atan2(tip[1], tip[0])
    c, s = math.cos(turn), math.sin(turn)
    shape = shapely.transform(shape, lambda points: points @ np.array([[c, -s], [s, c]]))
    up = wall.turn @ np.append(placed.along, 0.0)
    top = placed.lattice.axis_length - _BELOW
    x, y = c * ex + s * out, -s * ex + c * out
    z = np.cross(x, y)
    origin = jamb + up * (top if float(z @ up) < 0.0 else top - settings.walls.thickness)
    leaf, held = part.lattices.index(placed), Pose.of(x, y, z, origin)
    return Prop(_bar(name, shape, settings.walls), part.id, leaf, abs(placed.swing), held)


def _shape(tip: np.ndarray, way: np.ndarray, hinge: float, notch: float, thickness: float) -> Polygon | None:
    """Return a prop seen from above, None where there is no room for it.

    The wall's edge beside the opening lies at (0, 0) and the wall goes on along +x; the free edge of the open leaf lies
    at ``tip``, (2,) mm, its board runs back from there against ``way``, (2,). hinge: how far away the leaf hangs, mm.
    """
    far = 2.0 * hinge
    ends = ((np.zeros(2), np.array([-1.0, 0.0])), (tip, way))
    jaws = [_along(at, away, -_DEEP, _BEHIND, notch / 2.0 + _JAW) for at, away in ends]
    notches = [_along(at, away, -far, _END, notch / 2.0) for at, away in ends]
    bar = LineString([*(at + away * _END for at, away in ends)]).buffer(_HALF)
    shape = shapely.difference(shapely.union_all([bar, *jaws]), shapely.union_all(notches))
    beside = box(-far, -thickness / 2.0, -hinge + _CLEAR, thickness / 2.0)
    if shape.geom_type != "Polygon" or shape.interiors or shape.distance(beside) < _CLEAR:
        return None
    return orient(shape.simplify(0.01))


def _along(at: np.ndarray, away: np.ndarray, start: float, end: float, half: float) -> Polygon:
    """Return the rectangle along a board from ``start`` to ``end`` beyond its edge, mm, ``half`` to each side."""
    side = half * np.array([-away[1], away[0]])
    return Polygon([at + start * away - side, at + end * away - side, at + end * away + side, at + start * away + side])


def _bar(name: str, shape: Polygon, stock: Stock) -> Part:
    return Part(
        id=name,
        label="Prop",
        kind=PartKind.PROP,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.OUTSIDE,
        board_side=1,
        outline=shape,
        panels=(),
        grain=0.0,
    )
