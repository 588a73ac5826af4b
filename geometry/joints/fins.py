"""Fins: upright plates under an eave whose outer edge faces the wall, so that a roof cannot climb out over it.

A strip that lies flat under a slope reaches below the wall's top by t cos p - (t + c) tan p alone, which is nothing
from about 35 degrees on, and its face is a ramp on which a roof slides up. A fin reaches below the top as far as
is wanted at any pitch, and its edge is upright. Two stand at the ends of a strip, glued to it and to the roof.
"""

from __future__ import annotations

import numpy as np
from shapely.geometry import Polygon

from ..part import Part, PartKind
from ..pose import Pose
from ..settings import BuildSettings
from ..solid.facets import Facet
from .carriers import upright_board

__all__ = ["ENGAGED", "fin"]

#: How far a fin reaches below the wall's top as drawn, mm: a board thicker or thinner than drawn takes half its
#: difference times the slope of that, so that 2.5 is left at 16 in 12 in every packaged board.
ENGAGED = 3.0

#: Foot of a fin, level into the room, mm; a shorter one breaks off along the grain (common practice, no source).
_FOOT = 5.0

#: What a fin reaches below its slope at its inner end at least, mm.
_LEAST_DEPTH = 1.0


def fin(
    settings: BuildSettings,
    slope: Facet,
    start: np.ndarray,
    into: np.ndarray,
    along: np.ndarray,
    *,
    leg: float,
    top: float,
    name: str,
    note: str,
) -> Part | None:
    """Return a fin whose outer edge hangs from ``start`` on the underside of a slope; None where it has no depth.

    start: (3,) mm, where its outer edge begins; it fills the board's thickness from there on in the direction ``along``
    the wall. into: (3,) level and square to that. leg: of its glued edge, level, mm; top: height of the wall's top, mm.
    """
    stock = settings.roof
    rise = -float(slope.frame.n @ into) / float(slope.frame.n[2])
    depth = float(start[2]) - (top - ENGAGED)
    if rise < 0.0:
        leg = min(leg, (depth - _LEAST_DEPTH) / -rise)
    foot = min(_FOOT, leg)
    if depth < _LEAST_DEPTH or leg < _FOOT:
        return None
    outline = Polygon([(0.0, 0.0), (0.0, -depth), (foot, -depth), (leg, rise * leg)])
    up = np.array([0.0, 0.0, 1.0])
    across = np.cross(into, up)
    origin = start if float(across @ along) > 0.0 else start + along * stock.thickness
    stands = Pose.of(into, up, across, origin)
    number = name.partition("-")[0][1:].rstrip("ab")
    return upright_board(name, f"Roof stop {number} fin", PartKind.STOP, stock, outline, stands, note)
