"""What a maker may fix about a hinge: its inside radius, its room, sizes of its cells, the way slits are cut."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum

import numpy as np

from ..errors import BadSettingError
from ..tolerance import LENGTH
from .stock import Stock

__all__ = ["SPOKEN", "Cut", "HingeWishes", "check_wishes", "is_cut"]


class Cut(StrEnum):
    """How slits are cut."""

    ANY = "any"
    LINE = "line"  # one pass of the laser, as wide as its kerf
    SLOT = "slot"  # closed outlines, wider than the kerf


@dataclass(frozen=True, slots=True)
class HingeWishes:
    """What the maker has fixed, mm; None leaves it to the solver.

    inside_radius, zone_width: at most this; the zone is what the slits take up across the axis.
    slit: length aimed at, since slits fill the axis exactly. bridge, pitch, link_width, opening: exactly this.
    """

    inside_radius: float | None = None
    zone_width: float | None = None
    slit: float | None = None
    bridge: float | None = None
    pitch: float | None = None
    link_width: float | None = None
    opening: float | None = None
    cut: Cut = Cut.ANY


def check_wishes(stock: Stock, fixed: HingeWishes) -> None:
    """Raise BadSettingError for wishes that no lattice can have."""
    sizes: Mapping[str, float | None] = {
        field.name: getattr(fixed, field.name) for field in fields(fixed) if field.name != "cut"
    }
    for name, size in sizes.items():
        if size is not None and not (math.isfinite(size) and size > 0.0):
            raise BadSettingError(f"The {name.replace('_', ' ')} is {size:g} mm; it must be larger than 0.")
    pitch, width, opening = fixed.pitch, fixed.link_width, fixed.opening
    if pitch is not None and width is not None and opening is not None and abs(width + opening - pitch) > LENGTH:
        raise BadSettingError(
            f"Links of {width:g} mm and openings of {opening:g} mm make rows {width + opening:g} mm apart, "
            f"not {pitch:g} mm; leave one of the three open."
        )
    for name, size in (("link width", width), ("opening", opening)):
        if pitch is not None and size is not None and size >= pitch:
            raise BadSettingError(f"The {name} of {size:g} mm leaves nothing of a pitch of {pitch:g} mm.")
    if opening is not None and not is_cut(np.asarray(opening), stock, fixed.cut):
        kind = "one pass of the laser" if fixed.cut is Cut.LINE else "slots"
        raise BadSettingError(
            f"An opening of {opening:g} mm cannot be cut as {kind} with a kerf of {stock.kerf:g} mm; "
            "leave one of the two open."
        )


def is_cut(opening: np.ndarray, stock: Stock, cut: Cut) -> np.ndarray:
    """Return whether openings are cut this way."""
    line = np.abs(opening - stock.kerf) <= LENGTH
    return {Cut.ANY: np.ones_like(line), Cut.LINE: line, Cut.SLOT: opening > stock.kerf + LENGTH}[cut]


#: How each wish is spoken of, in the order in which they are given up.
SPOKEN = {
    "inside_radius": "an inside radius of at most {:.1f} mm",
    "zone_width": "a zone of at most {:.1f} mm",
    "slit": "slits of about {:.1f} mm",
    "bridge": "bridges of {:.2f} mm",
    "pitch": "rows {:.2f} mm apart",
    "link_width": "links of {:.2f} mm",
    "opening": "openings of {:.2f} mm",
}
