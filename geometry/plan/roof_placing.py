"""Placing dormers and chimneys: which slope lies there, and where on it they come to stand."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.ops import nearest_points

from ..errors import BadSettingError
from ..solid.facets import Facet, Facets
from ..tolerance import SNAP, UPRIGHT
from .upstand import LEAST_FRONT, UpstandKind, UpstandSize, depth_of, peak_of

__all__ = ["RoofSpot", "check_on_slope", "hit_slope", "lowered", "nearest_slope"]

#: Roof that stays round what stands on it, mm: a slot and the board beside it, clear of the eaves.
_BESIDE = 8.0


@dataclass(frozen=True, slots=True, eq=False)
class RoofSpot:
    """A spot on a slope: middle (3,) mm; along (3,) unit, level, to the right of one who looks up the slope.

    rise: of the slope, tangent of its pitch; top, eaves: heights of its highest and lowest points, mm.
    """

    middle: np.ndarray
    along: np.ndarray
    rise: float
    top: float
    eaves: float

    def foot(self, depth: float) -> np.ndarray:
        """Return where the front stands, (3,) mm, of what reaches ``depth`` up the slope on the plan."""
        up = np.array([-self.along[1], self.along[0], self.rise])
        foot: np.ndarray = self.middle - depth / 2.0 * up
        return foot


def hit_slope(facets: Facets, origin: np.ndarray, direction: np.ndarray) -> RoofSpot | None:
    """Return the spot where a ray, in mm, first meets a slope from above; None where it misses."""
    best: tuple[float, RoofSpot] | None = None
    direction = np.asarray(direction, dtype=float) / np.linalg.norm(direction)
    for facet in _slopes(facets):
        toward = float(direction @ facet.frame.n)
        if toward > -UPRIGHT:
            continue
        away = float((facet.frame.origin - origin) @ facet.frame.n) / toward
        if away <= 0.0 or (best is not None and away >= best[0]):
            continue
        point = np.asarray(origin) + away * direction
        if shapely.contains_xy(_plan(facets, facet), *point[:2]):
            best = (away, _spot(facets, facet, point))
    return None if best is None else best[1]


def nearest_slope(facets: Facets, point: np.ndarray, *, width: float, depth: float) -> RoofSpot | None:
    """Return the spot of a slope nearest to a point, (3,) mm, seen from above, with roof all round what stands there.

    width, depth: what it takes of the plan along and across the eaves, mm; on a slope too small for it, it stands in
    the middle.
    """
    best: tuple[float, int, RoofSpot] | None = None
    reach = float(np.hypot(width, depth)) / 2.0 + _BESIDE
    here = Point(*np.asarray(point, dtype=float)[:2])
    for facet in _slopes(facets):
        plan = _plan(facets, facet)
        away = plan.distance(here)
        if best is not None and (away, facet.id) >= best[:2]:
            continue
        room = plan.buffer(-reach)
        spot = plan.centroid if room.is_empty else nearest_points(room, here)[0]
        best = (away, facet.id, _spot(facets, facet, np.array([spot.x, spot.y, 0.0])))
    return None if best is None else best[2]


def check_on_slope(kind: UpstandKind, size: UpstandSize, spot: RoofSpot) -> None:
    """Raise BadSettingError for what would reach beyond its slope: over the eaves, or a dormer over the top."""
    foot = float(spot.foot(depth_of(kind, size, spot.rise))[2])
    if spot.rise > 0.0 and foot < spot.eaves - SNAP:
        raise BadSettingError(
            f"The {kind.value}'s front would stand {(spot.eaves - foot) / spot.rise:.1f} mm beyond the eaves; "
            f"place it farther up, or make it {'lower' if kind is UpstandKind.DORMER else 'less deep'}"
        )
    if kind is not UpstandKind.DORMER:
        return
    over = foot + peak_of(size) - spot.top
    if over > SNAP:
        raise BadSettingError(
            f"The dormer's roof would end {over:.1f} mm above the top of its slope; make it lower or narrower, "
            "or place it farther down"
        )


def lowered(size: UpstandSize, spot: RoofSpot) -> UpstandSize:
    """Return the size of a dormer, as much lower and flatter as it must be to stand on its slope.

    It ends at the top of the slope at most, and its front stays clear of the eaves. Where no front would be left
    of it, it stays as it is.
    """
    middle = float(spot.middle[2])
    room = 2.0 * min(spot.top - middle, middle - spot.eaves - _BESIDE * spot.rise)
    share = min(max(room, 0.0) / peak_of(size), 1.0)
    low = replace(size, height=share * size.height, pitch=math.atan(share * math.tan(size.pitch)))
    return low if low.height >= LEAST_FRONT else size


def _slopes(facets: Facets) -> Iterator[Facet]:
    """Yield what something can stand on: faces of roofs and other bodies that look up, no floor."""
    for facet in facets.facets:
        shell = facets.shell_of(facet)
        low = float(facets.corners(facet)[:, 2].min())
        if float(facet.frame.n[2]) > UPRIGHT and not shell.stands_on and low > _ground(facets) + UPRIGHT:
            yield facet


def _ground(facets: Facets) -> float:
    return float(facets.points[:, 2].min())


def _plan(facets: Facets, facet: Facet) -> Polygon:
    return Polygon(facets.corners(facet)[:, :2]).buffer(0)


def _spot(facets: Facets, facet: Facet, point: np.ndarray) -> RoofSpot:
    """Return the spot over or under a point, (3,) mm, in the plane of a slope."""
    n, origin = facet.frame.n, facet.frame.origin
    height = float(origin[2] - (point[:2] - origin[:2]) @ n[:2] / n[2])
    level = float(np.hypot(*n[:2]))
    along = np.array([-n[1], n[0], 0.0]) / level if level > UPRIGHT else np.array([1.0, 0.0, 0.0])
    heights = facets.corners(facet)[:, 2]
    ends = float(heights.max()), float(heights.min())
    return RoofSpot(np.array([*point[:2], height]), along, level / float(n[2]), *ends)
