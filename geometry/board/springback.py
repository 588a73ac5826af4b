"""Spring-back: how far a bent corner opens again, what a joiner must hold, and how easily the lattice stretches.

A lattice keeps the moment that bent it. Nothing but the wall's far end, held in a joiner, works against
it, so the wall bows a little and the corner stands a little open. ``spring_back`` says by how much.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import BadSettingError
from .lattice import Lattice
from .stock import Stock

__all__ = ["SpringBack", "extension_stiffness", "spring_back"]


@dataclass(frozen=True, slots=True)
class SpringBack:
    """What the moment of one corner does to one wall beside it.

    moment: of the whole corner, N mm. grip: force with which the joiner must hold the wall's end, N; it
    acts square to the wall, so that the joiner's cheeks take it and no friction is needed.
    bow: greatest deflection of the wall, mm. opening: of the corner by the wall's bending, radians.
    slack: of the corner by the play of the wall in its joiner, radians. lean: both together.
    out: how far the far end of a straight wall would stand out of its place by the lean, mm.
    """

    moment: float
    grip: float
    bow: float
    opening: float
    slack: float
    reach: float

    @property
    def lean(self) -> float:
        """How far the wall stands out of its direction at the bend, radians."""
        return self.opening + self.slack

    @property
    def out(self) -> float:
        """How far the wall's far end would stand out if nothing held it there, mm."""
        return self.reach * math.tan(self.lean)


def spring_back(
    made: Lattice, stock: Stock, *, reach: float, play: float = 0.0, elastic: float | None = None
) -> SpringBack:
    """Return what a corner's moment does to a wall held by a joiner ``reach`` mm from the bend.

    play: what the channel is wider than the wall, mm. elastic: modulus of the wall along its run, MPa; the
    stock's own without it, which is that along the links and too high across the grain of solid wood.

    Assumed: the wall is an even beam as tall as the bend axis, without openings, on two supports, the bend
    (which stays where the wall beside it holds it) and the joiner; the moment acts at the bend and keeps the
    value of the full angle; tabs in the floor help and are left out. Beam with a moment at one end: grip M / d,
    slope M d / (3 E I) at that end, deflection M d^2 / (9 sqrt(3) E I) (S. Timoshenko, *Strength of Materials*,
    and every handbook since; from memory).
    Raises BadSettingError for a reach that is not larger than 0 or a play below 0.
    """
    if not (math.isfinite(reach) and reach > 0.0):
        raise BadSettingError(f"The joiner is {reach:g} mm from the bend; it must be farther than 0.")
    if not (math.isfinite(play) and play >= 0.0):
        raise BadSettingError(f"The play in the joiner is {play:g} mm; it must be at least 0.")
    bending = (stock.elastic_modulus if elastic is None else elastic) * made.axis_length * made.thickness**3 / 12.0
    return SpringBack(
        moment=made.held_moment,
        grip=made.held_moment / reach,
        bow=made.held_moment * reach**2 / (9.0 * math.sqrt(3.0) * bending),
        opening=made.held_moment * reach / (3.0 * bending),
        slack=math.atan2(play, reach),
        reach=reach,
    )


def extension_stiffness(made: Lattice, stock: Stock) -> float:
    """Return the force that lengthens the flat lattice across its rows by 1 mm, N/mm; 0 where nothing is free.

    Links bend in the plane of the board as beams held against turning at both ends, 12 E I / L^3 each:
    2 n of them side by side, the links in series. Bridges and the links' shear are taken as stiff.
    """
    free = (made.slit - made.bridge) / 2.0
    if free <= 0.0:
        return 0.0
    one = stock.elastic_modulus * made.thickness * made.link_width**3 / free**3
    return 2.0 * made.slits * one / made.links
