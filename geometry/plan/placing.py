"""Placing openings: which wall a pointing ray meets, and where on the squares an opening comes to stand."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..solid.facets import Facet, Facets

__all__ = ["WallSpot", "hit_wall", "nearest_wall", "snap_spot"]


@dataclass(frozen=True, slots=True, eq=False)
class WallSpot:
    """A spot at the foot of a wall: foot (3,) mm; along (3,) unit, level, to the right of one who looks at its front.

    reach: (from, to) of the wall along ``along``, measured from the foot, mm.
    """

    foot: np.ndarray
    along: np.ndarray
    reach: tuple[float, float]


def hit_wall(facets: Facets, origin: np.ndarray, direction: np.ndarray) -> WallSpot | None:
    """Return the spot under where a ray, in mm, first meets a wall, openings being wall; None where it misses."""
    best: tuple[float, WallSpot] | None = None
    direction = np.asarray(direction, dtype=float) / np.linalg.norm(direction)
    for facet in _walls(facets):
        slope = float(direction @ facet.frame.n)
        if abs(slope) < 1e-6:
            continue
        away = float((facet.frame.origin - origin) @ facet.frame.n) / slope
        if away <= 0.0 or (best is not None and away >= best[0]):
            continue
        flat = facet.frame.flatten((np.asarray(origin) + away * direction)[None])[0]
        if shapely.contains_xy(Polygon(facets.ring(facet)), *flat):
            best = (away, _spot(facets, facet, float(flat[0])))
    return None if best is None else best[1]


def nearest_wall(facets: Facets, point: np.ndarray, *, along: np.ndarray | None = None) -> WallSpot | None:
    """Return the foot of the wall spot nearest to a point, (3,) mm; with ``along`` only of walls that run that way."""
    best: tuple[float, int, WallSpot] | None = None
    for facet in _walls(facets):
        if along is not None and abs(float(facet.frame.u @ along)) < np.cos(0.5) * np.linalg.norm(along):
            continue
        ring = facets.ring(facet)
        flat = facet.frame.flatten(np.asarray(point, dtype=float)[None])[0]
        held = np.clip(flat, ring.min(axis=0), ring.max(axis=0))
        away = float(np.linalg.norm(facet.frame.raise_(held[None])[0] - point))
        if best is None or (away, facet.id) < best[:2]:
            best = (away, facet.id, _spot(facets, facet, float(held[0])))
    return None if best is None else best[2]


def snap_spot(spot: WallSpot, *, step: float, width: float, ends: float = 0.0) -> WallSpot:
    """Return the spot moved along its wall to the nearest multiple of ``step`` from the wall's left end, mm.

    An opening of ``width`` stays on its wall where the wall is long enough. ends: what it leaves free at both ends
    of the wall where there is room, mm.
    """
    low, high = spot.reach
    at = round(-low / step) * step + low if step > 0.0 else 0.0
    if high - low > width:
        beside = min(ends, (high - low - width) / 2.0)
        first, last = low + width / 2.0 + beside, high - width / 2.0 - beside
        if ends > 0.0 and step > 0.0 and not first <= at <= last:
            # the last multiple before the end rather than a place off the squares
            at = low + step * (math.ceil((first - low) / step) if at < first else math.floor((last - low) / step))
        at = min(max(at, first), last)
    return WallSpot(spot.foot + at * spot.along, spot.along, (low - at, high - at))


def _walls(facets: Facets) -> list[Facet]:
    return [facet for facet in facets.facets if facets.is_wall(facet)]


def _spot(facets: Facets, facet: Facet, u: float) -> WallSpot:
    ring = facets.ring(facet)
    floor = float(ring[:, 1].min())
    foot = facet.frame.raise_(np.array([[u, floor]]))[0]
    return WallSpot(foot, facet.frame.u, (float(ring[:, 0].min()) - u, float(ring[:, 0].max()) - u))
