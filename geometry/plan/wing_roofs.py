"""Roofs over wings: slopes rise from their free walls and end, upright, at the wall of the house.

The roof reaches over the three free walls of the wing; at the wall of the house it ends in the wall's plane, where
its boards are cut to the outer face of the wall.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from types import MappingProxyType

from ..errors import BadSettingError
from .outline import Corner, grow, sides_of
from .roof import Roof, RoofKind, check_roof
from .roof_surface import Patch, RoofSurface, join
from .skeleton import Stage, straight_skeleton

__all__ = ["WING_ROOFS", "roof_over_wing"]

Ring = tuple[Corner, ...]

#: Sides of a wing: its free end, and the one in the wall of the house.
_END, _AGAINST = 1, 3


def roof_over_wing(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    """Return the underside of a roof over a wing of four corners, mm, whose last side lies in the house's wall.

    height: of the eaves, mm. Raises BadSettingError, in one sentence, for what makes no roof.
    """
    check_roof(roof, inset=straight_skeleton(ring).top, height=height, of="wing")
    return WING_ROOFS[roof.kind](ring, roof, height)


def _gable(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    return _slopes(ring, roof, height, upright=(_END, _AGAINST))


def _hip(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    return _slopes(ring, roof, height, upright=(_AGAINST,))


def _slopes(ring: Ring, roof: Roof, height: float, *, upright: tuple[int, ...]) -> RoofSurface:
    flat = 1.0 / math.tan(roof.pitch)
    speeds = tuple(0.0 if k in upright else flat for k in range(4))
    skeleton = straight_skeleton(_over(ring, roof), [Stage(height - roof.drop, speeds)])
    points = [(float(x), float(y)) for x, y in skeleton.points[:, :2]]
    return join([Patch(tuple(points[k] for k in face.ring), face.plane) for face in skeleton.faces])


def _lean_to(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    """One slope that rises from the free end to the wall of the house."""
    (ax, ay), (bx, by) = sides_of(ring)[_END]
    length, rise = math.hypot(bx - ax, by - ay), math.tan(roof.pitch)
    a, b = rise * (ay - by) / length, rise * (bx - ax) / length
    return join([Patch(_over(ring, roof), (a, b, height - a * ax - b * ay))])


def _flat(ring: Ring, roof: Roof, height: float) -> RoofSurface:
    return join([Patch(_over(ring, roof), (0.0, 0.0, height))])


def _over(ring: Ring, roof: Roof) -> Ring:
    if len(ring) != 4:
        raise BadSettingError(f"A wing has four corners, and this one has {len(ring)}; remove the others")
    return grow(ring, [roof.overhang] * 3 + [0.0])


#: The kinds of roof that a wing may have, beside none.
WING_ROOFS: MappingProxyType[RoofKind, Callable[[Ring, Roof, float], RoofSurface]] = MappingProxyType(
    {RoofKind.GABLE: _gable, RoofKind.HIP: _hip, RoofKind.LEAN_TO: _lean_to, RoofKind.FLAT: _flat}
)
