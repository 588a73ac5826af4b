"""Limits: each thing that can stop a hinge, beside its value and with what it rests on.

``hinge_limits`` lists them for one lattice in a fixed order, so that they can be shown as bars.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..tolerance import LENGTH
from .cells import LEAST_PITCH, LEAST_RADIUS, LONGEST_SLIT
from .lattice import Lattice
from .spread import reserved_twists
from .stock import Stock
from .wishes import HingeWishes

__all__ = ["Limit", "hinge_limits", "zone_width"]

_PRACTICE = "common practice, no source"
_REAL_BOARDS = "the stock's range of thickness, and the kerf of another day: " + _PRACTICE


@dataclass(frozen=True, slots=True)
class Limit:
    """One value beside its limit, both in ``unit``, and what the limit rests on.

    at_least: the value may not be less, otherwise not more. margin: share of the limit that is kept back.
    """

    name: str
    value: float
    limit: float
    unit: str
    source: str
    at_least: bool = False
    margin: float = 0.0

    @property
    def used(self) -> float:
        """The share of the limit that is taken, 1 where nothing is left of it; infinite where nothing can be."""
        above, below = (self.limit, self.value) if self.at_least else (self.value, self.limit)
        return above / below if below > 0.0 else math.inf

    @property
    def holds(self) -> bool:
        """Whether the value keeps the limit and its margin."""
        return self.used <= 1.0 - self.margin + LENGTH


def zone_width(made: Lattice) -> float:
    """Return what the slits of a lattice take up across the axis, mm."""
    return made.flat_width + made.opening


def hinge_limits(
    made: Lattice, stock: Stock, fixed: HingeWishes | None = None, *, margin: float = 0.0
) -> tuple[Limit, ...]:
    """Return each limit of a lattice beside its value, strengths first, then sizes, then the wishes.

    Slit contact is left out where slits never close, slit length where the maker has fixed it. With a margin the bend
    is also held against the worst kerf and thickness that real boards may have.
    """
    fixed = HingeWishes() if fixed is None else fixed

    def basis(field: str) -> str:
        return stock.sources.get(field, "stock")

    limits = [
        Limit("link torsion", made.held_shear, made.shear_limit, "MPa", basis("shear_limit"), margin=margin),
        Limit(
            "bridge bending", made.held_bridge_stress, made.bridge_limit, "MPa", basis("cross_tension"), margin=margin
        ),
    ]
    if made.contact_twist is not None:
        twist, closing = math.degrees(made.twist), math.degrees(made.contact_twist)
        limits.append(Limit("slit contact", twist, closing, "degrees", "geometry: strips touch", margin=margin))
    if margin > 0.0:
        what, worst = _worst_twist(made, stock)
        twist = math.degrees(made.twist)
        limits.append(Limit(f"{what} in real boards", twist, math.degrees(worst), "degrees", _REAL_BOARDS))
    limits += [
        Limit("link width", made.link_width, stock.link_width, "mm", basis("link_width"), at_least=True),
        Limit("bridge length", made.bridge, stock.bridge, "mm", basis("bridge"), at_least=True),
        Limit("opening", made.opening, stock.kerf, "mm", basis("kerf"), at_least=True),
        Limit("row pitch", made.pitch, LEAST_PITCH, "mm", _PRACTICE + ": heat", at_least=True),
        Limit("least inside radius", made.inside_radius, LEAST_RADIUS, "mm", _PRACTICE, at_least=True),
    ]
    if fixed.slit is None:
        limits.append(Limit("slit length", made.slit, LONGEST_SLIT, "mm", _PRACTICE + ": limp in the hand"))
    if fixed.inside_radius is not None:
        limits.append(Limit("inside radius", made.inside_radius, fixed.inside_radius, "mm", "as wished"))
    if fixed.zone_width is not None:
        limits.append(Limit("zone width", zone_width(made), fixed.zone_width, "mm", "as wished"))
    return tuple(limits)


def _worst_twist(made: Lattice, stock: Stock) -> tuple[str, float]:
    """Return what is at its limit first at the worst kerf and thickness, and how far links may twist then, radians."""
    free = (made.slit - made.bridge) / 2.0
    if free <= 0.0:
        return "link torsion", 0.0
    sizes = {"link_width": made.link_width, "opening": made.opening, "bridge": made.bridge, "free": free}
    found = reserved_twists(stock, **{name: np.array([size]) for name, size in sizes.items()})
    twists = zip(("link torsion", "bridge bending", "slit contact"), found, strict=True)
    return min(((what, float(twist[0])) for what, twist in twists), key=lambda limit: limit[1])
