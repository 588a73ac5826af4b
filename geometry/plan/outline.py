"""Outlines: the plan of a building as a ring of corners, from sizes in squares or given corner by corner."""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from ..errors import BadSettingError
from ..tolerance import ANGLE, SNAP

__all__ = [
    "ROUND_SIDES",
    "Corner",
    "PlanKind",
    "check_outline",
    "grow",
    "is_convex",
    "is_right_angled",
    "outline_of",
    "sides_of",
    "turns_of",
]

Corner = tuple[float, float]

#: Sides that a round plan may have: with more, every wall would be a narrow strip between two bends.
ROUND_SIDES = (3, 24)


class PlanKind(StrEnum):
    """The shapes of plan that have sizes instead of corners."""

    RECTANGLE = "rectangle"
    L = "l"
    T = "t"
    U = "u"
    Z = "z"
    PLUS = "plus"
    ROUND = "round"


#: Plans of a bar with wings, and how many wings lie side by side along the bar.
_WINGS = {PlanKind.L: 1, PlanKind.T: 1, PlanKind.U: 2, PlanKind.Z: 1, PlanKind.PLUS: 1}


def outline_of(
    kind: PlanKind,
    *,
    length: float,
    width: float,
    bar: float = 0.0,
    wing: float = 0.0,
    sides: int = 8,
    square: float,
) -> tuple[Corner, ...]:
    """Return the corners, in mm, counter-clockwise from the front left, of a plan that is sized in squares.

    length, width: the whole plan along x and y. The bar of an L, T or U lies along the front over the
    whole length and is ``bar`` deep; its wings are ``wing`` wide and reach the full width: one at the
    left of an L, one in the middle of a T, one at each end of a U. A plus has its bar across the middle. A Z is
    two bars, the one in front at the left, which lie beside one another over ``wing``. A round plan is regular:
    ``sides`` equal walls, ``length`` from the front to the opposite one, twice as far as from its middle to a wall.
    Raises BadSettingError where a size leaves nothing of the shape.

    >>> outline_of(PlanKind.RECTANGLE, length=3, width=2, square=25.0)
    ((0.0, 0.0), (75.0, 0.0), (75.0, 50.0), (0.0, 50.0))
    """
    measured = [("length", length), ("square", square)]
    for name, value in measured if kind is PlanKind.ROUND else [*measured, ("width", width)]:
        if not (math.isfinite(value) and value > 0.0):
            raise BadSettingError(f"The {name} of the plan is {value:g}; it must be more than 0")
    if kind is PlanKind.ROUND:
        return _regular(sides, length * square)
    if kind in _WINGS:
        _check_bar(kind, length, width, bar, wing)
    far = length - wing
    left, right = (length - wing) / 2.0, (length + wing) / 2.0
    front, back = (width - bar) / 2.0, (width + bar) / 2.0
    corners: dict[PlanKind, list[Corner]] = {
        PlanKind.RECTANGLE: [(0, 0), (length, 0), (length, width), (0, width)],
        PlanKind.L: [(0, 0), (length, 0), (length, bar), (wing, bar), (wing, width), (0, width)],
        PlanKind.T: [
            *((0, 0), (length, 0), (length, bar), (right, bar)),
            *((right, width), (left, width), (left, bar), (0, bar)),
        ],
        PlanKind.U: [
            *((0, 0), (length, 0), (length, width), (far, width)),
            *((far, bar), (wing, bar), (wing, width), (0, width)),
        ],
        PlanKind.Z: [
            *((0, 0), (right, 0), (right, bar), (length, bar)),
            *((length, width), (left, width), (left, bar), (0, bar)),
        ],
        PlanKind.PLUS: [
            *((left, 0), (right, 0), (right, front), (length, front), (length, back), (right, back)),
            *((right, width), (left, width), (left, back), (0, back), (0, front), (left, front)),
        ],
    }
    return tuple((x * square, y * square) for x, y in corners[kind])


def _check_bar(kind: PlanKind, length: float, width: float, bar: float, wing: float) -> None:
    if not 0.0 < bar < width:
        raise BadSettingError(f"The bar is {bar:g} squares deep; choose between 0 and the plan's width of {width:g}")
    wings = _WINGS[kind]
    if not 0.0 < wing * wings < length:
        name = "plus" if kind is PlanKind.PLUS else kind.value.upper()
        raise BadSettingError(
            f"A wing {wing:g} squares wide leaves no {name}; "
            f"choose less than {length / wings:g} for a length of {length:g}"
        )


def _regular(sides: int, across: float) -> tuple[Corner, ...]:
    """Return a regular outline whose first side lies along the front."""
    least, most = ROUND_SIDES
    if not least <= sides <= most:
        raise BadSettingError(f"A round plan has {sides} sides; choose from {least} to {most}")
    middle = across / 2.0
    radius = middle / math.cos(math.pi / sides)
    turns = [math.tau * (k - 0.5) / sides - math.pi / 2.0 for k in range(sides)]
    return tuple((middle + radius * math.cos(turn), middle + radius * math.sin(turn)) for turn in turns)


def sides_of(ring: Sequence[Corner]) -> list[tuple[Corner, Corner]]:
    """Return the sides of a ring, each from its corner to the next one."""
    return list(zip(ring, [*ring[1:], ring[0]], strict=True))


def check_outline(plan: Sequence[Corner]) -> tuple[Corner, ...]:
    """Return the corners counter-clockwise without those within straight walls.

    plan: corners in mm, either way round, without the first repeated. Raises BadSettingError, in one sentence, for
    what is no room: too few corners, walls without length, walls that cross, touch or run back on themselves.
    """
    ring = [(float(x), float(y)) for x, y in plan]
    if not all(math.isfinite(value) for corner in ring for value in corner):
        raise BadSettingError("A corner of the plan is no number; give every corner as two numbers")
    if len(ring) < 3:
        raise BadSettingError(f"The plan has {len(ring)} corners; a room needs at least 3")
    for k, (a, b) in enumerate(sides_of(ring)):
        if math.dist(a, b) < SNAP:
            raise BadSettingError(f"Wall {k + 1} of the plan has no length; remove one of its two corners")
    count = len(ring)
    ring = [c for k, c in enumerate(ring) if not _straight(ring[k - 1], c, ring[(k + 1) % count])]
    sides = sides_of(ring)
    for k, one in enumerate(sides):
        for other in range(k + 2, len(sides)):
            if (other + 1) % len(sides) != k and _meet(one, sides[other]):
                raise BadSettingError(
                    f"Walls {k + 1} and {other + 1} of the plan cross or touch; move their corners apart"
                )
    area = sum(a[0] * b[1] - a[1] * b[0] for a, b in sides)
    return tuple(ring if area > 0.0 else ring[::-1])


def _straight(before: Corner, here: Corner, after: Corner) -> bool:
    """Return whether the wall runs straight on at ``here``."""
    one, two = _step(before, here), _step(here, after)
    if abs(_cross(one, two)) > SNAP * max(math.hypot(*one), math.hypot(*two)):
        return False
    if one[0] * two[0] + one[1] * two[1] < 0.0:
        raise BadSettingError(f"The plan runs back on itself at ({here[0]:g}, {here[1]:g}) mm; remove that corner")
    return True


def _meet(one: tuple[Corner, Corner], other: tuple[Corner, Corner]) -> bool:
    """Return whether two sides come nearer than SNAP: they cross, or an end of one lies on the other."""
    (a, b), (c, d) = one, other
    along, apart = _step(a, b), _step(c, d)
    if _cross(along, _step(a, c)) * _cross(along, _step(a, d)) < 0.0 and (
        _cross(apart, _step(c, a)) * _cross(apart, _step(c, b)) < 0.0
    ):
        return True
    return min(_away(a, c, d), _away(b, c, d), _away(c, a, b), _away(d, a, b)) < SNAP


def _away(point: Corner, start: Corner, end: Corner) -> float:
    """Return how far a point lies from a side, mm."""
    along, out = _step(start, end), _step(start, point)
    share = (along[0] * out[0] + along[1] * out[1]) / (along[0] ** 2 + along[1] ** 2)
    share = min(max(share, 0.0), 1.0)
    return math.hypot(out[0] - share * along[0], out[1] - share * along[1])


def _step(a: Corner, b: Corner) -> Corner:
    return b[0] - a[0], b[1] - a[1]


def _cross(a: Corner, b: Corner) -> float:
    return a[0] * b[1] - a[1] * b[0]


def turns_of(ring: Sequence[Corner]) -> list[float]:
    """Return by what angle the outline turns left at every corner, radians; negative at an inner corner."""
    turns = []
    for k in range(len(ring)):
        one, two = _step(ring[k - 1], ring[k]), _step(ring[k], ring[(k + 1) % len(ring)])
        turns.append(math.atan2(_cross(one, two), one[0] * two[0] + one[1] * two[1]))
    return turns


def is_convex(ring: Sequence[Corner]) -> bool:
    """Return whether an outline has no inner corner."""
    return min(turns_of(ring)) > 0.0


def is_right_angled(ring: Sequence[Corner]) -> bool:
    """Return whether all corners of an outline are square, within SNAP over their sides."""
    lengths = [math.dist(*side) for side in sides_of(ring)]
    return all(
        abs(abs(turn) - math.pi / 2.0) * max(lengths[k - 1], lengths[k]) < SNAP for k, turn in enumerate(turns_of(ring))
    )


def grow(ring: Sequence[Corner], by: Sequence[float]) -> tuple[Corner, ...]:
    """Return an outline whose sides lie farther out, side k by ``by[k]``, mm, with their corners where they meet.

    Raises BadSettingError where a side vanishes or the outline meets itself.
    """
    sides = sides_of(ring)
    lines = []
    for (a, b), out in zip(sides, by, strict=True):
        length = math.dist(a, b)
        n = ((b[1] - a[1]) / length, (a[0] - b[0]) / length)
        lines.append((n, n[0] * a[0] + n[1] * a[1] + out))
    grown = []
    for k, (m, q) in enumerate(lines):
        n, p = lines[k - 1]
        cross = _cross(n, m)
        if abs(cross) < ANGLE:
            raise BadSettingError("Two walls of the plan lie in one line; remove the corner between them")
        grown.append(((p * m[1] - q * n[1]) / cross, (n[0] * q - m[0] * p) / cross))
    for k, ((a, b), (c, d)) in enumerate(zip(sides, sides_of(grown), strict=True)):
        along, after = _step(a, b), _step(c, d)
        if along[0] * after[0] + along[1] * after[1] < SNAP * math.hypot(*along):
            raise BadSettingError(
                f"An overhang of {max(by):g} mm closes the court at wall {k + 1} of the plan; choose less"
            )
    grown_sides = sides_of(grown)
    for k, one in enumerate(grown_sides):
        for other in range(k + 2, len(grown_sides)):
            if (other + 1) % len(grown_sides) != k and _meet(one, grown_sides[other]):
                raise BadSettingError(
                    f"An overhang of {max(by):g} mm closes the court between walls {k + 1} and {other + 1} "
                    "of the plan; choose less"
                )
    return tuple(grown)
